"""What the mould holds behind the part once it is parted as planned: pocket by pocket."""

import numpy as np

from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps, rows_by_number
from castplan.columns.held import LOWER, SEALED, UPPER, Held, held_by_surface
from castplan.memory import remembered
from castplan.split.records import PartingLine, Pocket, ProofResult, UndercutResult

# Below this share of the part, or this volume, a pocket is surface texture
# or scan noise; it is counted, not listed.
MIN_FRACTION = 1e-4
MIN_VOLUME_MM3 = 2.0
WEB_SHARE = 0.5  # of a bridge between two surfaces of the part; less is a web of the parting
HOLDERS = {UPPER: "upper", LOWER: "lower", SEALED: "both"}  # a sealed void is nobody's


@remembered
def pull_halves(field: ColumnField, gaps: Gaps, built_mm: np.ndarray) -> Held:
    """Ask every column of the mould as it will be which half its silicone is, and what holds it.

    Parameters
    ----------
    field, gaps : ColumnField, Gaps
        Along the draw.
    built_mm : (n,) float64
        Height of the parting as built in every column, plugs included.
    """
    return held_by_surface(field, gaps, built_mm)


def prove_split(field: ColumnField, held: Held, line: PartingLine) -> ProofResult:
    """Set what the finished halves hold against what the parting line promised.

    Parameters
    ----------
    field : ColumnField
    held : Held
        Of `pull_halves`.
    line : PartingLine
    """
    mm3 = (held.gaps.top_mm - held.gaps.bottom_mm) * field.cell_mm2
    upper, lower = (float(mm3[held.half == half].sum()) for half in (UPPER, LOWER))
    return ProofResult(
        upper_mm3=upper, lower_mm3=lower, promised_mm3=line.trapped_mm3, pitch_mm=field.pitch_mm
    )


@remembered
def list_pockets(field: ColumnField, held: Held, *, part_mm3: float) -> UndercutResult:
    """Measure every pocket and name its kind.

    Kind: no mouth is a sealed void, one mouth a pocket, two or more a bridge
    (the silicone in it is a pin of one half, held at both ends), or a web where
    most of it does not lie between two surfaces of the part: there the parting
    passes the part at a distance, and clay brought up to it leaves nothing held.

    Parameters
    ----------
    field : ColumnField
        Sampled along the draw.
    held : Held
        What the halves hold.
    part_mm3 : float

    Returns
    -------
    UndercutResult
        Largest pocket first; they are numbered from 1.
    """
    gaps = held.gaps
    length_mm = gaps.top_mm - gaps.bottom_mm
    weight_mm3 = length_mm * field.cell_mm2
    volume_mm3 = np.bincount(gaps.pocket, weights=weight_mm3, minlength=gaps.n_pockets)
    least_mm3 = max(MIN_VOLUME_MM3, MIN_FRACTION * part_mm3)
    is_sealed = gaps.n_mouths == 0
    listed = np.flatnonzero(volume_mm3 >= least_mm3)
    listed = listed[np.argsort(-volume_mm3[listed], kind="stable")]
    is_small = (volume_mm3 < least_mm3) & ~is_sealed
    rows = rows_by_number(gaps.pocket, n=gaps.n_pockets)
    pockets = []
    for number, p in enumerate(listed, start=1):
        pockets.append(_measure(field, held, rows[p], number, int(gaps.n_mouths[p])))
    return UndercutResult(
        pockets=tuple(pockets),
        min_volume_mm3=least_mm3,
        n_small=int(is_small.sum()),
        small_mm3=float(volume_mm3[is_small].sum()),
        sealed_mm3=float(volume_mm3[is_sealed].sum()),
    )


@remembered
def listed_pockets(field: ColumnField, gaps: Gaps, result: UndercutResult) -> np.ndarray:
    """Number of the listed pocket that each gap belongs to, 0 for none, (g,) int64."""
    weight = (gaps.top_mm - gaps.bottom_mm) * field.cell_mm2
    volume_mm3 = np.bincount(gaps.pocket, weights=weight, minlength=gaps.n_pockets)
    order = np.argsort(-volume_mm3, kind="stable")
    number = np.zeros(gaps.n_pockets, dtype=np.int64)
    number[order[: len(result.pockets)]] = np.arange(1, len(result.pockets) + 1)
    return number[gaps.pocket]


def _measure(field, held, members, number, n_mouths):
    gaps = held.gaps
    bottom, top = gaps.bottom_mm[members], gaps.top_mm[members]
    weight = (top - bottom) * field.cell_mm2
    xy = field.centre_mm(gaps.column[members])
    total = float(weight.sum())
    half = 0.5 * field.pitch_mm
    kind = ("sealed", "pocket")[n_mouths] if n_mouths < 2 else "bridge"
    if kind == "bridge":
        column = gaps.column[members]
        low_mm = np.maximum(bottom, field.lowest_mm[column])
        between_mm = np.clip(np.minimum(top, field.highest_mm[column]) - low_mm, 0, None)
        if between_mm.sum() < WEB_SHARE * (top - bottom).sum():
            kind = "web"
    centre = [float((xy[:, k] * weight).sum() / total) for k in range(2)]
    centre.append(float((0.5 * (top + bottom) * weight).sum() / total))
    if n_mouths:
        (depth_mm,) = weighted_percentiles(gaps.depth_mm[members], weight, (90,))
    else:
        depth_mm = 0.0
    return Pocket(
        number=number,
        kind=kind,
        n_mouths=n_mouths,
        volume_mm3=total,
        depth_mm=float(depth_mm),
        centre_mm=tuple(centre),
        low_mm=(*(float(v) for v in xy.min(axis=0) - half), float(bottom.min())),
        high_mm=(*(float(v) for v in xy.max(axis=0) + half), float(top.max())),
        held_by=HOLDERS[int(held.half[members[0]])],
    )


def weighted_percentiles(values, weights, percents) -> np.ndarray:
    """Percentiles of values (n,) by weight (n,): (k,) for k `percents` (0 to 100)."""
    order = np.argsort(values, kind="stable")
    share = np.cumsum(weights[order]) / np.sum(weights)
    at = np.searchsorted(share, np.asarray(percents) / 100.0)
    return np.asarray(values)[order][np.minimum(at, len(values) - 1)]
