"""Vents to make in a mould that is there, and other ways to stand it, with their proof."""

from dataclasses import replace

import numpy as np

from castplan.after.cavity import Cavity, Pocket, cavity_of
from castplan.after.places import face_of
from castplan.after.records import Drilling, Tilt
from castplan.air.records import Peak, RockTilt, Route
from castplan.air.rocking import walk_out
from castplan.geometry import slide
from castplan.geometry.channels import Block
from castplan.geometry.stands import TILTS_DEG, Stand
from castplan.mould.records import Port
from castplan.mould.vents import route_vents
from castplan.plan_record import Plan
from castplan.record import record

N_AZIMUTHS = 12
# Columns along the longest side while tilts are compared.
ACROSS = 96
# Air under this, a bubble of 1.2 mm, is past what the columns tell.
NOTHING_MM3 = 1.0
# Resin does not run out of a mouth that lies no farther under than its skin stands (assumed).
SKIN_MM = 0.5


@record
class Wanted:
    """Air that a new vent is to let out."""

    pocket: Pocket  # of `Cavity.planned`
    peak: Peak | None  # the high point that it belongs to
    label: str  # of the new port


def new_vent(plan: Plan, cavity: Cavity, wanted: Wanted):
    """A vent for the air of one pocket: its port, its way out, and how to drill it.

    Parameters
    ----------
    plan : Plan
    cavity : Cavity
        With the openings as they are.
    wanted : Wanted

    Returns
    -------
    port : Port
    route : Route
        Its `route` is "none" where nothing leads straight out.
    drilling : Drilling or None
        None where nothing does.
    """
    pocket, peak, rest = wanted.pocket, wanted.peak, plan.air.openings.frame
    place = rest.to_frame(np.array(pocket.top_mm))
    bore_mm = peak.bore_mm if peak else plan.job.vent_mm
    port = Port(
        label=wanted.label,
        kind="vent",
        place_mm=tuple(float(v) for v in place),
        path_mm=np.zeros((0, 3)),
        height_mm=float(place[2] - (plan.part.vertices_mm @ rest.up).min()),
        length_mm=0.0,
        diameter_mm=bore_mm,
        cup_mm=0.0,
        is_riser=False,
        is_blocked=False,
        cavity=peak.cavity if peak else _nearest(plan.mould.block.ports, place).cavity,
    )
    block = Block(
        cavity.field if np.array_equal(cavity.frame.rotation, rest.rotation) else _rest_field(plan),
        rest,
        plan.split.draw.frame,
        plan.air.openings.up,
        plan.split.line.surface,
        plan.split.box.low_mm,
        plan.split.box.high_mm,
        [*plan.mould.keys.balls_mm, *slide.balls_of(plan.split.pieces, plan.split.draw.frame)],
        is_parted=not plan.split.is_cut,
    )
    # With the gates, so that it keeps off the cups that stand on them.
    gates = (each for each in plan.mould.block.ports if each.kind == "gate")
    mould, gate = replace(plan.mould.block, ports=(*gates, port)), plan.mould.gate
    *_, route = route_vents(block, mould, cup_high_mm=gate.cup_high_mm, cup_mm=gate.cup_mm).routes
    port = replace(
        port,
        path_mm=route.path_mm,
        length_mm=route.length_mm,
        is_blocked=route.route == "none",
    )
    if route.route == "none":
        return port, route, None
    after_mm3 = sum(
        other.volume_mm3
        for other in cavity.pockets(
            np.append(cavity.openings[cavity.lets_air], cavity.under([pocket.top_mm]))
        )
        if other.away_mm(np.array(pocket.top_mm)) <= cavity.field.pitch_mm
    )
    return port, route, _drilling(plan, port, route, peak, pocket, after_mm3)


def _nearest(ports, place_mm):
    """The opening nearest to a place of the rest frame."""
    return min(
        ports, key=lambda port: round(float(np.linalg.norm(place_mm - np.array(port.place_mm))), 6)
    )


def _rest_field(plan):
    return cavity_of(plan, frame=plan.air.openings.frame).field


def _drilling(plan, port, route: Route, peak, pocket, after_mm3):
    face = face_of(plan, route.exit_face)
    rest = plan.air.openings.frame
    start = rest.to_frame(plan.split.draw.frame.to_part(np.array(route.exit_mm)))
    way = np.array(port.place_mm) - start
    way /= np.linalg.norm(way)
    inward = max(float(way @ face.inward), 1e-9)
    across, up = (
        float(np.degrees(np.arctan2(way @ axis, inward))) for axis in (face.across, face.up)
    )
    return Drilling(
        label=port.label,
        peak=peak.number if peak else None,
        place_mm=pocket.top_mm,
        face=route.exit_face,
        from_corner_mm=route.exit_from_corner_mm,
        across_deg=across,
        up_deg=up,
        length_mm=route.length_mm,
        bore_mm=port.diameter_mm,
        half=route.half,
        caught_before_ml=pocket.volume_mm3 / 1000,
        caught_after_ml=after_mm3 / 1000,
    )


def best_tilt(plan: Plan) -> Tilt | None:
    """The tilt of the same mould that leaves the least air; None where none does better.

    Parameters
    ----------
    plan : Plan
    """
    best = None
    for tilt_deg in TILTS_DEG:
        for k in range(N_AZIMUTHS):
            stand = Stand("", plan.air.openings.frame, tilt_deg, k * 360 / N_AZIMUTHS)
            left = _left(cavity_of(plan, frame=stand.frame, across=ACROSS))
            if best is None or left < 0.95 * best[0] - NOTHING_MM3:
                best = (left, stand)
    stand = best[1]
    before, left = _left(cavity_of(plan)), _left(cavity_of(plan, frame=stand.frame))
    if left >= 0.5 * before or before <= NOTHING_MM3:
        return None
    return Tilt(
        tilt_deg=stand.tilt_deg,
        toward_deg=stand.toward_deg,
        caught_before_ml=before / 1000,
        caught_after_ml=left / 1000,
        straw_mm=_straw_mm(plan, stand.frame),
    )


def _left(cavity):
    return cavity.caught_mm3(cavity.openings[cavity.lets_air])


def _straw_mm(plan, frame):
    """How far the lowest mouth lies under the highest point of the cavity."""
    exits = np.array([route.exit_mm for route in plan.mould.vents.routes])
    mouths = frame.to_frame(plan.split.draw.frame.to_part(exits))[:, 2]
    top = float((plan.part.vertices_mm @ frame.up).max())
    under_mm = top - float(mouths.min())
    return under_mm if under_mm > SKIN_MM else 0.0


def rock(plan: Plan) -> tuple[tuple[RockTilt, ...], float | None]:
    """Tilts that walk the air that stays to the openings that are there, and what is left [ml]."""
    places = plan.air.openings.frame.to_part(
        np.array([port.place_mm for port in plan.mould.block.ports])
    )
    found = walk_out(
        plan.part,
        plan.air.attitude,
        places,
        limit_mm3=max(1000 * plan.job.air_left_ml, NOTHING_MM3),
    )
    return ((), None) if found is None else (found[0], found[1] / 1000)
