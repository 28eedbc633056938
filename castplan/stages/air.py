"""Where air stays when the resin rises, and which high points get an opening."""

import numpy as np

from castplan.columns.field import ColumnField
from castplan.columns.peaks import find_peaks, spread_level
from castplan.model import AirResult, Frame, Job, Peak

# Silicone left standing between gate and nearest vent.
BETWEEN_PORTS_MM = 5.0
# Points of a roof within this of its highest count as level with it.
LEVEL_MM = 0.1


def find_air(field: ColumnField, job: Job) -> AirResult:
    """High points of the cavity at the pour, each with the air it would keep.

    A high point needs an opening when it rises more than
    `job.vent_min_height_mm` above its saddle and keeps more than
    `job.vent_min_air_ml` (every local maximum but the gate: Bose, van Kreveld
    and Toussaint, CAD 30(4) 1998, 245-254). The highest point takes the gate;
    as one opening cannot let resin in and air out, a gate that would stand
    alone gets one more vent beside it.

    Parameters
    ----------
    field : ColumnField
        Sampled along the upward direction of the pour.
    job : Job

    Returns
    -------
    AirResult
    """
    # A hundredth of a millimetre is rounding of the mesh, not a high point.
    tree = find_peaks(field, min_rise_mm=0.01)
    min_air_mm3 = 1000 * job.vent_min_air_ml
    is_kept = (tree.rise_mm >= job.vent_min_height_mm) & (tree.air_mm3 >= min_air_mm3)
    kept = np.flatnonzero(is_kept)
    if not kept.size:
        kept = np.array([int(np.argmax(tree.air_mm3))])
        is_kept = np.arange(tree.top_mm.size) == kept[0]
    # Air of a small point that a listed one does not already count.
    is_small = ~is_kept & ((tree.parent < 0) | is_kept[np.maximum(tree.parent, 0)])
    peaks = tuple(
        _describe(field, tree, int(row), number) for number, row in enumerate(kept, start=1)
    )
    gate = max(range(len(peaks)), key=lambda k: (peaks[k].is_highest, peaks[k].air_mm3, -k))
    vents = tuple(k for k in range(len(peaks)) if k != gate)
    extra = ()
    if not vents or _roof_length_mm(field, tree, int(kept[gate])) > 25.0:
        extra = _beside_gate(field, tree, int(kept[gate]), peaks[gate], job)
    return AirResult(
        frame=Frame(rotation=field.rotation),
        peaks=peaks,
        gate=gate,
        vents=vents,
        extra_vents_mm=extra,
        n_small=int((~is_kept).sum()),
        small_mm3=float(tree.air_mm3[is_small].sum()),
        min_height_mm=job.vent_min_height_mm,
        min_air_mm3=min_air_mm3,
    )


def _roof(field, tree, row):
    """Intervals level with a high point and joined to it."""
    return spread_level(
        field.first,
        field.bottom_mm,
        field.top_mm,
        field.column_of,
        field.n_x,
        int(tree.interval[row]),
        float(tree.top_mm[row]) - LEVEL_MM,
    )


def _roof_length_mm(field, tree, row):
    return float(np.ptp(field.centre_mm(field.column_of[_roof(field, tree, row)]), axis=0).max())


def _describe(field, tree, row, number):
    roof = _roof(field, tree, row)
    xy = field.centre_mm(field.column_of[roof])
    # The middle of a level roof; where that falls into a hole, the roof's
    # column nearest to it.
    away = np.linalg.norm(xy - xy.mean(axis=0), axis=1)
    k = int(np.argmin(np.round(away, 6)))
    return Peak(
        number=number,
        place_mm=(float(xy[k, 0]), float(xy[k, 1]), float(field.top_mm[roof[k]])),
        rise_mm=float(tree.rise_mm[row]),
        air_mm3=float(tree.air_mm3[row]),
        roof_mm2=float(roof.size * field.cell_mm2),
        is_highest=bool(tree.parent[row] < 0),
    )


def _beside_gate(field, tree, row, gate, job):
    """The highest place of the gate's body clear of the gate; farthest if level."""
    body = spread_level(
        field.first,
        field.bottom_mm,
        field.top_mm,
        field.column_of,
        field.n_x,
        int(tree.interval[row]),
        float(tree.saddle_mm[row]),
    )
    xy = field.centre_mm(field.column_of[body])
    away = np.linalg.norm(xy - np.asarray(gate.place_mm[:2]), axis=1)
    clear = away >= 0.5 * (job.gate_mm + job.vent_mm) + BETWEEN_PORTS_MM
    if not clear.any():
        return ()
    top = field.top_mm[body]
    level = clear & (top >= top[clear].max() - LEVEL_MM)
    k = int(np.argmax(np.where(level, np.round(away, 6), -1.0)))
    return ((float(xy[k, 0]), float(xy[k, 1]), float(top[k])),)
