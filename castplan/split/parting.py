"""Where to split: the level plane that traps least, all heights in one sweep."""

import numpy as np

from castplan.columns import levels
from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps
from castplan.memory import remembered
from castplan.split.records import PartingResult

# A base at least this large, as a share of the outline, is a flat to stand on.
FLAT_BASE_FRACTION = 0.3
N_CURVE = 161
# Ranges of heights that differ by less than this share of the part's height are as wide.
EVEN_FRACTION = 0.02
SHOW_COS = 0.3  # a show face less along the draw than this has no say


@remembered
def find_parting(
    field: ColumnField, gaps: Gaps, *, tie_mm3: float, show_slope: float = 0.0
) -> PartingResult:
    """Sweep every split height and choose the best.

    Among the heights that trap no more than the least (within `tie_mm3`):
    the part's flat base if it has one (it then lies on the board and needs no
    clay bed), else the end farthest from the show face if one is named, else
    the middle, which leaves both halves the most margin.

    Parameters
    ----------
    field : ColumnField
        Sampled along the draw.
    gaps : Gaps
        Of the same field; sealed ones hold no silicone and are left out.
    tie_mm3 : float
    show_slope : float
        Cosine between the draw and the way the show face looks.

    Returns
    -------
    PartingResult
    """
    sweep = levels.sweep_levels(field)
    low_mm, high_mm = float(field.low_mm[2]), float(field.high_mm[2])
    locked_mm3 = locked_volume_mm3(field, gaps)
    curve_mm = np.linspace(low_mm, high_mm, N_CURVE)
    bends_mm = sweep.breakpoints_mm()
    bends_mm = bends_mm[(bends_mm > low_mm) & (bends_mm < high_mm)]
    # Just below a bend counts too: there a bowl is about to overflow.
    heights_mm = np.unique(np.concatenate([curve_mm, bends_mm]))
    extra_mm3 = sweep.trapped_mm3(heights_mm)
    first, last = _widest_run(heights_mm, extra_mm3 <= extra_mm3.min() + tie_mm3)
    free_low_mm, free_high_mm = float(heights_mm[first]), float(heights_mm[last])
    lies_on_board = first == 0 and _stands_flat(field)
    if lies_on_board and show_slope > -SHOW_COS:
        height_mm = low_mm
    elif abs(show_slope) > SHOW_COS:
        height_mm = free_low_mm if show_slope > 0 else free_high_mm
    else:
        height_mm = 0.5 * (free_low_mm + free_high_mm)
    extra_at = float(sweep.trapped_mm3([height_mm])[0])
    return PartingResult(
        heights_mm=curve_mm,
        trapped_mm3=sweep.trapped_mm3(curve_mm) + locked_mm3,
        height_mm=height_mm,
        free_low_mm=free_low_mm,
        free_high_mm=free_high_mm,
        trapped_at_mm3=extra_at + locked_mm3,
        locked_mm3=locked_mm3,
        **_shares(field, sweep, height_mm),
    )


def _widest_run(heights_mm, is_good):
    """First and last row of the widest run of good heights; of about as wide ones the lowest.

    All of them trap as little; the widest leaves most margin, and noise does not
    choose between them.
    """
    ends = np.flatnonzero(np.diff(np.concatenate([[False], is_good, [False]]).astype(int)))
    starts, stops = ends[0::2], ends[1::2] - 1
    wide_mm = heights_mm[stops] - heights_mm[starts]
    near_mm = EVEN_FRACTION * float(heights_mm[-1] - heights_mm[0])
    k = int(np.flatnonzero(wide_mm >= wide_mm.max() - near_mm)[0])
    return int(starts[k]), int(stops[k])


def locked_volume_mm3(field: ColumnField, gaps: Gaps) -> float:
    """Volume between surfaces of the part that silicone reaches, mm3."""
    is_open = gaps.n_mouths[gaps.pocket] > 0
    length = (gaps.top_mm - gaps.bottom_mm)[is_open]
    return float(length.sum() * field.cell_mm2)


def _stands_flat(field):
    skin_mm = max(0.1, 0.002 * float(field.high_mm[2] - field.low_mm[2]))
    n_base = np.count_nonzero(field.lowest_mm <= field.low_mm[2] + skin_mm)
    return n_base >= FLAT_BASE_FRACTION * np.count_nonzero(np.isfinite(field.lowest_mm))


def _shares(field, sweep, height_mm):
    """Part on either side of the height, and bowls that cross it."""
    below = np.clip(height_mm - field.bottom_mm, 0, field.top_mm - field.bottom_mm).sum()
    above = np.clip(field.top_mm - height_mm, 0, field.top_mm - field.bottom_mm).sum()
    full = np.diff(field.first) > 0
    under_level = np.clip(height_mm - field.highest_mm[full], 0, None).sum() * field.cell_mm2
    over_level = np.clip(field.lowest_mm[full] - height_mm, 0, None).sum() * field.cell_mm2
    # Void over the part and under the level: what the sweep calls trapped is
    # really under clay, the rest are bowls that the upper half fills.
    clay_over, clay_under = sweep.split_mm3(height_mm=height_mm)
    return {
        "part_below_mm3": float(below * field.cell_mm2),
        "part_above_mm3": float(above * field.cell_mm2),
        "filled_above_mm3": float(max(under_level - clay_over, 0.0)),
        "filled_below_mm3": float(max(over_level - clay_under, 0.0)),
    }
