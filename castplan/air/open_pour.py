"""Pouring into an open mould: the back is up, and all of it is the way in and out."""

from dataclasses import replace

import numpy as np

from castplan.air.each import Poured, fed, merged
from castplan.air.high_points import find_air
from castplan.air.records import AirResult, GateOption, GatePlan
from castplan.job import Job
from castplan.record import Frame
from castplan.texts.told import tell


def open_tops(poured: Poured, job: Job, draw_frame: Frame) -> tuple[AirResult, GatePlan]:
    """High points and feed of an open mould, each of its cavities filled through its own back.

    Parameters
    ----------
    poured : Poured
    job : Job
    draw_frame : Frame
    """
    view = replace(poured.view, guard=None)  # nothing is drilled that could do harm
    found = [open_top(find_air(field, job, view)) for field in poured.each()]
    feeds = [open_feed(openings, draw_frame) for openings in found]
    return (found[0], feeds[0]) if len(found) == 1 else (merged(found), fed(feeds))


def open_top(openings: AirResult) -> AirResult:
    """The high points of a cavity that is open at its top: no vent, and no gate but the top."""
    return replace(openings, vents=(), extra_vents_mm=(), harms=(), kept_off=())


def open_feed(openings: AirResult, draw_frame: Frame) -> GatePlan:
    """Resin poured in by hand through the open back.

    Parameters
    ----------
    openings : AirResult
        Of `open_top`; its gate is the point that the back is.
    draw_frame : Frame
    """
    back = openings.peaks[openings.gate]
    start = draw_frame.to_frame(openings.frame.to_part(np.array(back.place_mm)))
    option = GateOption(
        place_mm=back.place_mm,
        path_mm=np.stack([start, start]),
        feed="open",
        peak=openings.gate,
        bore_mm=0.0,
        least_bore_mm=0.0,
        cup_mm=0.0,
        drop_mm=back.height_mm,
        width_mm=back.width_mm,
        is_on_parting=False,
        show_up_fraction=0.0,
        is_on_tip=False,
        is_on_worked=False,
        is_marked=False,
        n_vents=0,
        cost_min=0.0,
        why=tell("gate_why.open"),
    )
    return GatePlan(options=(option,), is_asked_for=False, why=option.why)
