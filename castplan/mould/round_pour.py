"""Air that silicone leaves under a part round which it is poured in one, upside down."""

from dataclasses import replace

import numpy as np

from castplan.air.records import Air
from castplan.columns.voids import void_above
from castplan.geometry import directions
from castplan.job import Job
from castplan.memory import remembered
from castplan.mould.pours import ACROSS, Poured, best_tilt, find_caught, find_pockets, sample_level
from castplan.mould.records import PoursResult, SiliconePour
from castplan.mould.stood import TURNED, stood_box, stood_frame
from castplan.part.records import Part
from castplan.record import Frame
from castplan.split.records import BoxResult, Split


def pour_round(part: Part, split: Split, air: Air, job: Job) -> PoursResult:
    """Pour the silicone of a block that is cut open, standing as `stood_frame` has it.

    Air is caught as it is over a bed: under what hangs over. The sticks are left out;
    air runs past them.

    Parameters
    ----------
    part : Part
    split : Split
    air : Air
    job : Job

    Returns
    -------
    PoursResult
        One pour. Its rings lie in the frame of the box as it rests for the resin.
    """
    pour = _pour(part, split.draw.frame, air.attitude.rest, split.box, job)
    return PoursResult(pours=(pour,))


@remembered
def _pour(part: Part, draw: Frame, rest: Frame, box: BoxResult, job: Job) -> SiliconePour:
    stood = stood_frame(rest)
    inside = stood_box(box, draw, stood)
    floor, roof = inside.low_mm[2], inside.high_mm[2]
    field = sample_level(part, stood.rotation, directions.longest_mm(part) / ACROSS)
    n = field.n_x * field.n_y
    space, open_top = void_above(field, np.full(n, floor), np.full(n, roof))
    caught = find_caught(space, open_top)
    found, small = find_pockets(space, caught, TURNED, 1000 * job.vent_min_air_ml)
    # Told in the frame of the pour of resin; places along the draw as all others.
    found = tuple(replace(each, place_mm=_in_draw(each.place_mm, rest, draw)) for each in found)
    total_mm3 = float(caught[0].sum() * space.cell_mm2)
    tilt = (0.0, 0.0, total_mm3)
    if found:
        faces = np.concatenate([part.faces, part.cap_faces])
        ends = np.array([inside.low_mm, inside.high_mm]).T
        poured = Poured(part.vertices_mm @ stood.rotation.T, faces, ends)
        tilt = best_tilt(poured, longest_mm=directions.longest_mm(part), total_mm3=total_mm3)
    return SiliconePour(
        half="whole",
        up=tuple(float(v) for v in stood.up),
        caught=found,
        caught_mm3=total_mm3,
        n_small=small[0],
        small_mm3=small[1],
        tilt_deg=tilt[0],
        toward_deg=float(-tilt[1] % 360),
        tilted_mm3=tilt[2],
    )


def _in_draw(place_mm, rest, draw):
    return tuple(float(v) for v in draw.to_frame(rest.to_part(np.array(place_mm))))
