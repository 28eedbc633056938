"""Several parts in one box: each along its own draw, their partings level, side by side."""

from collections import Counter
from dataclasses import replace

import numpy as np
import shapely

from castplan.errors import InputError, Option
from castplan.geometry import directions, frames
from castplan.job import Gauge, Job
from castplan.materials.fillers import resin_of
from castplan.memory import at_hand
from castplan.nest.compose import compose
from castplan.nest.lay import lay, turn_about
from castplan.nest.pack import pack_outlines
from castplan.nest.records import Nest, Placed
from castplan.part.records import Part
from castplan.record import record

# More than these nobody keeps apart at the bench, nor pours within a pot life (assumed).
MOST_PARTS = 12
# A block of silicone longer than this is hardly lifted, turned and opened by one (assumed).
MOST_MM = 600.0
KINDS = ("auto", "two-part", "open")
# Show faces that look the same way within this are one.
SAME_SHOW_COS = np.cos(np.radians(30.0))


@record
class Boxful:
    """Several parts as one, with how they lie and the job of the box."""

    part: Part
    nest: Nest
    job: Job


def lay_parts(parts, job: Job, *, progress=None) -> Boxful:
    """Lay parts side by side in one box.

    Each is turned so that its own draw is up and moved so that the best partings of all
    are level; their outlines, with the wall of silicone between them, are laid in the
    least rectangle by turning them about the draw.

    Parameters
    ----------
    parts : sequence of Part
        Two to twelve; a copy is the same part again.
    job : Job
        Its draw and its show face are in each part's own axes, its way up in the box's.
    progress : callable, optional
        Called as ``progress(stage, fraction)``.

    Returns
    -------
    Boxful

    Raises
    ------
    InputError
        Too many parts, one that cannot lie with the others, a box too large, or a
        choice that names places of one part.
    """
    report = progress or (lambda stage, fraction: None)
    _refuse(parts, job)
    kinds = {id(part): part for part in parts}
    # What is asked of a part for one kind holds for the other.
    with at_hand(len(kinds)):
        laid = _lay_each(kinds, job, report)
    each = [laid[id(part)] for part in parts]
    wall_mm = max(frames.wall_for(job, longest_mm=directions.longest_mm(part)) for part in parts)
    report("nest", 0.0)
    height_mm = max(entry.top_mm for entry in each) - min(entry.low_mm for entry in each)

    def border_of(size_mm):
        return frames.wall_for(job, longest_mm=max(float(size_mm.max()), height_mm))

    packing = pack_outlines([entry.outline for entry in each], wall_mm=wall_mm, border_of=border_of)
    _refuse_size(packing.size_mm + 2 * border_of(packing.size_mm))
    turns = [
        turn_about(angle) @ entry.frame.rotation
        for angle, entry in zip(packing.turns_deg, each, strict=True)
    ]
    shifts = [
        np.array([x, y, -entry.parting_mm])
        for (x, y), entry in zip(packing.shifts_mm, each, strict=True)
    ]
    names = Counter(part.name for part in parts)
    box_part = compose(parts, turns, shifts, name=" + ".join(_counted(names)))
    density = resin_of(job).density_g_ml.value
    seen, placed = Counter(), []
    for n, entry in enumerate(each):
        part = entry.part
        seen[part.name] += 1
        spot = shapely.get_coordinates(shapely.point_on_surface(packing.outlines[n]))[0]
        placed.append(
            Placed(
                number=n + 1,
                name=part.name,
                copy=seen[part.name],
                draw=tuple(float(v) for v in entry.frame.up),
                turn_deg=float(packing.turns_deg[n] % 360.0),
                rotation=turns[n],
                offset_mm=tuple(float(v) for v in shifts[n]),
                label_mm=(float(spot[0]), float(spot[1]), entry.top_mm),
                outline_mm=shapely.get_coordinates(packing.outlines[n])[:-1],
                volume_ml=part.check.volume_mm3 / 1000,
                casting_g=part.check.volume_mm3 / 1000 * density,
                alone_ml=float(entry.alone_ml),
            )
        )
    show, differs = _show_of_all(each, packing.turns_deg)
    is_open = each[0].is_open
    nest = Nest(
        parts=tuple(placed),
        wall_mm=wall_mm,
        gap_mm=packing.gap_mm,
        filled_fraction=packing.filled_fraction,
        differs=("show",) * differs,
        could_be_open=tuple(
            n for n, entry in enumerate(each, start=1) if entry.is_back_free and not is_open
        ),
    )
    box_job = replace(
        job, mould="open" if is_open else "two-part", draw=(0.0, 0.0, 1.0), show_face=show
    )
    sides = tuple(
        Gauge(name=f"{part.name} {axis}", length_mm=float(side))
        for part in kinds.values()
        for axis, side in zip("xyz", part.check.extent_mm, strict=True)
    )
    box_job = replace(box_job, gauges=(*sides, *job.gauges))
    report("nest", 1.0)
    return Boxful(part=box_part, nest=nest, job=box_job)


def _lay_each(kinds, job, report):
    """Every part by itself, all of them for one kind of mould."""
    laid = {}
    for n, (key, part) in enumerate(kinds.items()):
        report("parts", n / len(kinds))
        laid[key] = _lay_one(part, job, kind=job.mould)
    if not all(each.is_open for each in laid.values()):
        for key, each in laid.items():
            if each.is_open:  # beside others it is parted in two
                two = _lay_one(each.part, job, kind="two-part")
                laid[key] = replace(two, is_back_free=each.is_back_free)
    return laid


def _lay_one(part, job, *, kind):
    try:
        return lay(part, job, kind=kind)
    except InputError as error:  # of which part, where several are laid
        raise InputError(
            part.name, found=error.found, need=error.need, do=error.do, asks=error.asks
        ) from error


def _counted(names):
    """``3 x catch`` for each name, in the order they were given."""
    return [name if n == 1 else f"{n} x {name}" for name, n in names.items()]


def _show_of_all(each, turns_deg):
    """The way the named side looks in the box, and whether it is not one for all."""
    if any(entry.show is None for entry in each):
        return None, False
    ways = np.array(
        [turn_about(angle) @ entry.show for angle, entry in zip(turns_deg, each, strict=True)]
    )
    middle = ways.sum(axis=0)
    if np.linalg.norm(middle) < 1e-6 or (ways @ frames.unit(middle) < SAME_SHOW_COS).any():
        return None, True
    return tuple(float(v) for v in frames.unit(middle)), False


def _refuse(parts, job):
    if not 2 <= len(parts) <= MOST_PARTS:
        raise InputError(
            Option("--with"),
            found=f"{len(parts)} parts for one box",
            need=f"2 to {MOST_PARTS}",
            do="Plan the others in a box of their own.",
        )
    if job.mould not in KINDS:
        raise InputError(
            Option("--mould"),
            found=f"a {job.mould} mould for {len(parts)} parts in one box",
            need="one in two halves, or an open one",
            do="Plan each part by itself.",
        )
    for name in ("vents_at", "keep_off", "parting_height_mm"):
        if getattr(job, name) is not None:
            raise InputError(
                Option(f"--{name.removesuffix('_mm').replace('_', '-')}"),
                found=f"places of one part, and {len(parts)} parts in one box",
                need="one of the two",
                do="Leave it out, or plan each part by itself.",
            )


def _refuse_size(size_mm):
    if size_mm.max() > MOST_MM:
        long, short = sorted((float(side) for side in size_mm), reverse=True)
        raise InputError(
            Option("--with"),
            found=f"parts that take a box of {long:.0f} x {short:.0f} mm inside",
            need=f"at most {MOST_MM:.0f} mm",
            do="Plan them in two boxes.",
        )
