"""The box, the two halves, and the ways in and out of the cavity."""

import numpy as np
import shapely

from castplan.air.records import Air
from castplan.geometry.block import cup_mm3
from castplan.geometry.channels import length_of
from castplan.job import Job
from castplan.mould.bedding import choose_bedding, on_sticks
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
    if not split.is_one_pour:
        lower_mm3 = floor_mm2 * (parting_mm - box.low_mm[2]) - below_mm3 - moved_mm3
    frame = Frame(rotation=drawn.rotation)
    view = _box_in_view(frame, air.openings.frame, box)
    datum = view.min(axis=0)
    ports = () if split.is_open else _ports(seen.rested, frame, air, box, job)
    of_port_mm3 = [np.pi / 4 * p.diameter_mm**2 * p.length_mm + cup_mm3(p) for p in ports]
    ports_mm3 = sum(of_port_mm3)
    # Where sticks stand while it is poured there is no silicone to be weighed.
    standing = [mm3 for p, mm3 in zip(ports, of_port_mm3, strict=True) if not p.is_blocked]
    sticks_mm3 = sum(standing) if split.is_cut else 0.0
    upper_mm3 = box_mm3 - solid_mm3 - sticks_mm3 - lower_mm3
    if split.loose is not None:
        upper_mm3 -= 1000 * split.loose.upper_ml
        lower_mm3 -= 1000 * split.loose.lower_ml
    bedding = choose_bedding(
        line, job, ends_mm=(box.low_mm[2], box.high_mm[2]), upper_ml=upper_mm3 / 1000
    )
    if split.is_cut:
        bedding = on_sticks(air, split)
    return MouldResult(
        is_open=split.is_open,
        is_cut=split.is_cut,
        low_mm=box.low_mm,
        high_mm=box.high_mm,
        wall_mm=box.wall_mm,
        over_mm=job.over_mm,
        under_mm=job.floor_mm,
        box_ml=box_mm3 / 1000,
        part_ml=solid_mm3 / 1000,
        lower_ml=lower_mm3 / 1000,
        upper_ml=upper_mm3 / 1000,
        bedding=bedding,
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
    ports = [
        _port(
            field,
            each.place_mm,
            label="G" if n == 1 else f"G{n}",
            kind="gate",
            path_mm=each.path_mm,
            diameter_mm=each.bore_mm,
            cup_mm=each.cup_mm,
            is_riser=each.feed == "riser",
            cavity=1 if n == 1 else each.cavity,
        )
        for n, each in enumerate((gate, *gate.further), start=1)
    ]
    vents = [(air.peaks[k].place_mm, air.peaks[k].bore_mm, air.peaks[k].cavity) for k in air.vents]
    of_extra = air.extra_cavities or (1,) * len(air.extra_vents_mm)
    vents += [
        (place, job.vent_mm, cavity)
        for place, cavity in zip(air.extra_vents_mm, of_extra, strict=True)
    ]
    for n, (place, bore_mm, cavity) in enumerate(vents, start=1):
        start = frame.to_frame(air.frame.to_part(np.asarray(place)))
        vent = {"label": str(n), "kind": "vent", "diameter_mm": bore_mm, "cavity": cavity}
        path = np.stack([start, start + _way_out(start, up, box) * up])
        ports.append(_port(field, place, path_mm=path, cup_mm=0.0, is_riser=False, **vent))
    return tuple(ports)


def _port(field, place, *, path_mm, is_riser, **told):
    x, y, z = (float(v) for v in place)
    column = field.column_at(x_mm=x, y_mm=y)
    a, b = field.first[column], field.first[column + 1]
    return Port(
        place_mm=(x, y, z),
        path_mm=path_mm,
        height_mm=z - float(field.low_mm[2]),
        length_mm=length_of(path_mm),
        is_riser=is_riser,
        is_blocked=not is_riser and bool((field.bottom_mm[a:b] > z).any()),
        **told,
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
