"""What the holes of a mesh leave open, number by number."""

import numpy as np

from castplan.air.records import AirResult
from castplan.bench.records import AmountsResult, DoubtResult
from castplan.columns.field import ColumnField
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.part.study import Seen

# Beyond this share of the volume either way no amount is worth printing. A cup
# with the usual waste of 12 % still reaches (common practice, no source).
TRUSTED_FRACTION = 0.10
# A pocket with more of its volume than this over holes or beside them may end
# elsewhere: the wall that is missing would be its wall.
POCKET_FRACTION = 0.005


def find_doubt(part: Part, seen: Seen, air: AirResult, amounts: AmountsResult) -> DoubtResult:
    """Carry the missing surface over the holes into the numbers of the plan.

    Parameters
    ----------
    part : Part
    seen : Seen
    air : AirResult
    amounts : AmountsResult

    Returns
    -------
    DoubtResult
    """
    held, part_mm3 = seen.pockets, seen.part_mm3
    return _find_doubt(
        part, held.field, held.gaps, held.of_gap, seen.rested, air, amounts, part_mm3=part_mm3
    )


@remembered
def _find_doubt(part, field, gaps, pocket_of_gap, pour_field, air, amounts, *, part_mm3):
    doubt_mm3 = part.check.doubt_mm3
    is_open = field.is_doubtful[gaps.column]
    weight_mm3 = (gaps.top_mm - gaps.bottom_mm) * field.cell_mm2
    n_listed = int(pocket_of_gap.max(initial=0)) + 1
    whole = np.bincount(pocket_of_gap, weights=weight_mm3, minlength=n_listed)
    near = np.bincount(
        pocket_of_gap, weights=weight_mm3 * find_near_holes(field)[gaps.column], minlength=n_listed
    )
    pockets = 1 + np.flatnonzero(near[1:] > POCKET_FRACTION * whole[1:])
    n_columns = int(np.count_nonzero(np.diff(field.first)))
    silicone_g = _per_ml([mix for mix in amounts.mixes if mix.half], amounts.silicone_g)
    resin_g = _per_ml([mix for mix in amounts.mixes if not mix.half], amounts.resin_g)
    off_ml = doubt_mm3 / 1000
    return DoubtResult(
        undecided_fraction=min(field.n_decided / max(n_columns, 1), 1.0),
        volume_low_mm3=max(part_mm3 - doubt_mm3, 0.0),
        volume_high_mm3=part_mm3 + doubt_mm3,
        silicone_low_g=max(amounts.silicone_g - silicone_g * off_ml, 0.0),
        silicone_high_g=amounts.silicone_g + silicone_g * off_ml,
        resin_low_g=max(amounts.resin_g - resin_g * off_ml, 0.0),
        resin_high_g=amounts.resin_g + resin_g * off_ml,
        trapped_mm3=float((weight_mm3 * is_open).sum()),
        pockets=tuple(int(number) for number in pockets),
        peaks=_open_peaks(pour_field, air),
        is_trusted=doubt_mm3 <= TRUSTED_FRACTION * part_mm3,
    )


def _per_ml(mixes, total_g):
    """Grams that one millilitre more of the part changes, waste and copies included."""
    net_ml = sum(mix.net_ml * mix.times for mix in mixes)
    return total_g / net_ml if net_ml > 0 else 0.0


def find_near_holes(field: ColumnField) -> np.ndarray:
    """Undecided columns and those beside them, (n_columns,) bool."""
    open_ones = field.is_doubtful.reshape(field.n_y, field.n_x)
    wide = open_ones.copy()
    for axis in (0, 1):
        for step in (-1, 1):
            wide |= np.roll(open_ones, step, axis=axis)
    return wide.ravel()


def _open_peaks(field, air):
    """Numbers of the high points in an undecided column or beside one."""
    if not field.is_doubtful.any():
        return ()
    places = np.array([peak.place_mm[:2] for peak in air.peaks])
    is_open = find_near_holes(field)[field.columns_at(places)]
    return tuple(peak.number for peak, flag in zip(air.peaks, is_open, strict=True) if flag)
