"""The box, the two halves, and the ways in and out of the cavity."""

import numpy as np
import shapely

from castplan.air.records import Air
from castplan.geometry.block import cup_mm3
from castplan.geometry.channels import length_of
from castplan.job import Job
from castplan.mould.bedding import choose_bedding
from castplan.mould.records import MouldResult, Port
from castplan.part.study import Seen
from castplan.record import Frame
from castplan.split.records import PartingSurface, Split


def build_mould(split: Split, air: Air, seen: Seen, job: Job) -> MouldResult:
    """Silicone of each half in its box, and the ports.

    Parameters
    ----------
    split : Split
        Voids that no silicone reaches are sealed: the copy is solid there.
    air : Air
    seen : Seen
    job : Job

    Returns
    -------
    MouldResult
    """
    box, line, drawn = split.box, split.line, seen.pockets.field
    low, high = drawn.low_mm, drawn.high_mm
    outline = shapely.Polygon(box.outline_mm)
    floor_mm2 = outline.area
    box_mm3 = floor_mm2 * (box.high_mm[2] - box.low_mm[2])
    solid_mm3 = seen.part_mm3 + split.undercuts.sealed_mm3
    if split.is_open:
        solid_mm3 += 1000 * split.back.hollow_ml
    # The sampled shares of the part, brought to its exact volume.
    sampled = line.part_below_mm3 + line.part_above_mm3
    below_mm3 = solid_mm3 * line.part_below_mm3 / sampled
    moved_mm3 = line.filled_above_mm3 - line.filled_below_mm3
    parting_mm = mean_height_mm(line.surface, outline)
    # In an open mould the part lies on the board and nothing is under it.
    lower_mm3 = 0.0
    if not split.is_open:
        lower_mm3 = floor_mm2 * (parting_mm - box.low_mm[2]) - below_mm3 - moved_mm3
    upper_mm3 = box_mm3 - solid_mm3 - lower_mm3
    if split.loose is not None:
        upper_mm3 -= 1000 * split.loose.upper_ml
        lower_mm3 -= 1000 * split.loose.lower_ml
    frame = Frame(rotation=drawn.rotation)
    view = _box_in_view(frame, air.openings.frame, box)
    datum = view.min(axis=0)
    ports = () if split.is_open else _ports(seen.rested, frame, air, box, job)
    ports_mm3 = sum(np.pi / 4 * p.diameter_mm**2 * p.length_mm + cup_mm3(p) for p in ports)
    return MouldResult(
        is_open=split.is_open,
        low_mm=box.low_mm,
        high_mm=box.high_mm,
        wall_mm=box.wall_mm,
        over_mm=job.over_mm,
        under_mm=job.floor_mm,
        box_ml=box_mm3 / 1000,
        part_ml=solid_mm3 / 1000,
        lower_ml=lower_mm3 / 1000,
        upper_ml=upper_mm3 / 1000,
        bedding=choose_bedding(
            line,
            job,
            ends_mm=(box.low_mm[2], box.high_mm[2]),
            upper_ml=upper_mm3 / 1000,
        ),
        bounding_box_ml=(box_mm3 - float(np.prod(high - low))) / 1000,
        sampling_fraction=abs(sampled - solid_mm3) / solid_mm3,
        ports=ports,
        datum_mm=(float(datum[0]), float(datum[1])),
        box_view_mm=view,
        ports_ml=float(ports_mm3) / 1000,
        piece_labels=tuple(piece.label for piece in split.pieces),
        loose_ml=0.0 if split.loose is None else split.loose.poured_ml,
    )


def mean_height_mm(surface: PartingSurface, outline) -> float:
    """Mean height of a parting surface inside an outline (polygon), mm."""
    h = surface.heights_mm
    n_y, n_x = h.shape
    x = surface.x0_mm + surface.step_x_mm * (np.arange(n_x - 1) + 0.5)
    y = surface.y0_mm + surface.step_y_mm * (np.arange(n_y - 1) + 0.5)
    middle = 0.25 * (h[:-1, :-1] + h[1:, :-1] + h[:-1, 1:] + h[1:, 1:])
    gx, gy = np.meshgrid(x, y)
    is_inside = shapely.contains_xy(outline, gx, gy)
    return float(middle[is_inside].mean())


def _box_in_view(frame, pour, box):
    """Outline of the box seen along the pour, counter-clockwise, (k, 2)."""
    rings = [np.column_stack([box.outline_mm, np.full(len(box.outline_mm), z)]) for z in _ends(box)]
    points = pour.to_frame(frame.to_part(np.concatenate(rings)))
    hull = shapely.MultiPoint(np.round(points[:, :2], 6)).convex_hull
    return shapely.get_coordinates(shapely.orient_polygons(hull))[:-1]


def _ends(box):
    return box.low_mm[2], box.high_mm[2]


def _ports(field, frame, room, box, job):
    air, gate = room.openings, room.feed.chosen
    up = frame.rotation @ air.frame.up
    ways = [("G", "gate", gate.place_mm, gate.path_mm, gate.bore_mm, gate.cup_mm)]
    for n, more in enumerate(gate.further, start=2):
        ways.append((f"G{n}", "gate", more.place_mm, more.path_mm, more.bore_mm, more.cup_mm))
    vents = [(air.peaks[k].place_mm, air.peaks[k].bore_mm) for k in air.vents]
    vents += [(place, job.vent_mm) for place in air.extra_vents_mm]
    for n, (place, bore_mm) in enumerate(vents, start=1):
        start = frame.to_frame(air.frame.to_part(np.asarray(place)))
        path = np.stack([start, start + _way_out(start, up, box) * up])
        ways.append((str(n), "vent", place, path, bore_mm, 0.0))
    return tuple(_port(*way, field, gate) for way in ways)


def _port(label, kind, place, path, bore_mm, cup_mm, field, gate):
    x, y, z = (float(v) for v in place)
    column = field.column_at(x_mm=x, y_mm=y)
    a, b = field.first[column], field.first[column + 1]
    is_riser = label == "G" and gate.feed == "riser"
    return Port(
        label=label,
        kind=kind,
        place_mm=(x, y, z),
        path_mm=path,
        height_mm=z - float(field.low_mm[2]),
        length_mm=length_of(path),
        diameter_mm=bore_mm,
        cup_mm=cup_mm,
        is_riser=is_riser,
        is_blocked=not is_riser and bool((field.bottom_mm[a:b] > z).any()),
    )


def _way_out(start, up, box):
    """Straight up from a place in the cavity to the outside of the box, draw frame, mm."""
    low, high = _ends(box)
    way = np.inf
    if abs(up[2]) > 1e-9:
        way = ((high if up[2] > 0 else low) - start[2]) / up[2]
    across = float(np.hypot(*up[:2]))
    if across > 1e-9:
        far = 2 * float(np.ptp(box.outline_mm, axis=0).sum())
        ray = shapely.LineString([start[:2], start[:2] + up[:2] / across * far])
        wall = shapely.intersection(shapely.LinearRing(box.outline_mm), ray)
        way = min(way, shapely.distance(shapely.Point(start[:2]), wall) / across)
    return float(way)
