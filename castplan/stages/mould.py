"""The box, the two halves, and the ways in and out of the cavity."""

import numpy as np
import shapely

from castplan.columns.field import ColumnField
from castplan.mesh import frames
from castplan.model import AirResult, Frame, Job, MouldResult, PartingResult, Port

# Inside measures of the box go up to whole millimetres: boards are cut so.
BOX_STEP_MM = 1.0


def build_mould(
    draw_field: ColumnField,
    pour_field: ColumnField,
    parting: PartingResult,
    air: AirResult,
    job: Job,
    *,
    part_mm3: float,
    sealed_mm3: float,
) -> MouldResult:
    """Box round the part in the draw frame, silicone of each half, ports.

    Parameters
    ----------
    draw_field, pour_field : ColumnField
        The part along the draw and along up at the pour.
    parting : PartingResult
    air : AirResult
    job : Job
    part_mm3 : float
        Exact volume of the part.
    sealed_mm3 : float
        Voids inside it that no silicone reaches: the copy is solid there.

    Returns
    -------
    MouldResult
    """
    low, high = draw_field.low_mm, draw_field.high_mm
    wall_mm = frames.wall_for(job, longest_mm=float((high - low).max()))
    box_low, box_high = _box(low, high, wall_mm, job)
    size = box_high - box_low
    box_mm3 = float(np.prod(size))
    floor_mm2 = float(size[0] * size[1])
    solid_mm3 = part_mm3 + sealed_mm3
    # The sampled shares of the part, brought to its exact volume.
    sampled = parting.part_below_mm3 + parting.part_above_mm3
    below_mm3 = solid_mm3 * parting.part_below_mm3 / sampled
    moved_mm3 = parting.filled_above_mm3 - parting.filled_below_mm3
    lower_mm3 = floor_mm2 * (parting.height_mm - box_low[2]) - below_mm3 - moved_mm3
    upper_mm3 = box_mm3 - solid_mm3 - lower_mm3
    frame = Frame(rotation=draw_field.rotation)
    view = _box_in_view(frame, air.frame, box_low, box_high)
    datum = view.min(axis=0)
    ports = _ports(pour_field, frame, air, (box_low, box_high), datum, job)
    ports_mm3 = sum(np.pi / 4 * p.diameter_mm**2 * p.length_mm for p in ports)
    return MouldResult(
        low_mm=tuple(float(v) for v in box_low),
        high_mm=tuple(float(v) for v in box_high),
        wall_mm=wall_mm,
        over_mm=job.over_mm,
        under_mm=job.under_mm,
        box_ml=box_mm3 / 1000,
        part_ml=solid_mm3 / 1000,
        lower_ml=lower_mm3 / 1000,
        upper_ml=upper_mm3 / 1000,
        bounding_box_ml=(box_mm3 - float(np.prod(high - low))) / 1000,
        sampling_fraction=abs(sampled - solid_mm3) / solid_mm3,
        ports=ports,
        datum_mm=(float(datum[0]), float(datum[1])),
        box_view_mm=view,
        ports_ml=float(ports_mm3) / 1000,
    )


def _box(low, high, wall_mm, job):
    """Inside of the box: allowances round the part, sides up to the step."""
    sides = np.array([wall_mm, wall_mm])
    box_low = low - np.append(sides, job.under_mm)
    box_high = high + np.append(sides, job.over_mm)
    size = box_high - box_low
    # 1e-6 keeps rounding of a whole millimetre from adding another one.
    grow = np.ceil(size / BOX_STEP_MM - 1e-6) * BOX_STEP_MM - size
    box_low[:2] -= 0.5 * grow[:2]
    box_high[:2] += 0.5 * grow[:2]
    box_high[2] += grow[2]
    return box_low, box_high


def _box_in_view(frame, pour, box_low, box_high):
    """Outline of the box seen along the pour, counter-clockwise, (k, 2)."""
    corner = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
    points = pour.to_frame(frame.to_part(box_low + corner * (box_high - box_low)))
    hull = shapely.MultiPoint(np.round(points[:, :2], 6)).convex_hull
    return shapely.get_coordinates(shapely.orient_polygons(hull))[:-1]


def _ports(field, frame, air, box, datum, job):
    places = [(air.peaks[air.gate], "G", "gate")]
    places += [(air.peaks[k], str(n), "vent") for n, k in enumerate(air.vents, start=1)]
    wanted = [(peak.place_mm, label, kind, peak.air_mm3) for peak, label, kind in places]
    n = len(wanted)
    wanted += [(place, str(k), "vent", 0.0) for k, place in enumerate(air.extra_vents_mm, start=n)]
    ports = []
    for (x, y, z), label, kind, air_mm3 in wanted:
        column = field.column_at(x_mm=x, y_mm=y)
        a, b = field.first[column], field.first[column + 1]
        ports.append(
            Port(
                label=label,
                kind=kind,
                place_mm=(x, y, z),
                from_corner_mm=(x - float(datum[0]), y - float(datum[1])),
                height_mm=z - float(field.low_mm[2]),
                length_mm=_way_out(frame, air.frame, box, (x, y, z)),
                diameter_mm=job.gate_mm if kind == "gate" else job.vent_mm,
                air_ml=air_mm3 / 1000,
                is_blocked=bool((field.bottom_mm[a:b] > z).any()),
            )
        )
    return tuple(ports)


def _way_out(frame, pour, box, place_mm):
    """Straight up from a place in the cavity to the outside of the box, mm."""
    start = frame.to_frame(pour.to_part(np.asarray(place_mm)))
    up = frame.rotation @ pour.up
    box_low, box_high = box
    ways = [
        ((box_high[k] if up[k] > 0 else box_low[k]) - start[k]) / up[k]
        for k in range(3)
        if abs(up[k]) > 1e-9
    ]
    return float(min(ways))
