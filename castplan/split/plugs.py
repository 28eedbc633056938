"""Plugs of clay in the holes through a part."""

import numpy as np

from castplan.columns import levels, lines
from castplan.columns.field import ColumnField
from castplan.columns.rim import Rim
from castplan.split.records import HolePlug, RimLoop
from castplan.split.wish import LineWish

# A rim that stays within this is flat enough to press against a board.
FLUSH_MM = 0.2
# A plug keeps off the edge of the face it must not mark.
PLUG_MARGIN_MM = 0.5
SHOW_COS = 0.3  # a face that shows less along the draw than this has no say


def loop_of(ring: Rim, line) -> RimLoop:
    """A rim and the line (k,) [mm] laid along it, as a record."""
    return RimLoop(
        points_mm=ring.points_mm,
        low_mm=ring.low_mm,
        high_mm=ring.high_mm,
        line_mm=line,
        length_mm=ring.length_mm,
    )


def plug_hole(field: ColumnField, ring: Rim, wish: LineWish, *, number: int) -> HolePlug:
    """Where to stop the clay in a hole: the level that traps least over its rim.

    Parameters
    ----------
    field : ColumnField
        Along the draw.
    ring : Rim
        Of the hole.
    wish : LineWish
        What counts as nothing, and which face shows.
    number : int
    """
    low, high = float(ring.low_mm.max()), float(ring.high_mm.min())
    tries = np.linspace(min(low, high), max(low, high), 17)
    trapped = np.array(
        [sum(levels.trapped_beside_mm3(field, ring.inside, float(z))) for z in tries]
    )
    good = np.flatnonzero(trapped <= trapped.min() + wish.tie_mm3)
    level_mm, k = _plug_level(tries, good, low <= high and np.ptp(ring.low_mm), wish.show_slope)
    if wish.is_on_board:
        level_mm = float(field.low_mm[2])
    follows = bool(trapped[k] > wish.tie_mm3) and not wish.is_on_board
    line = (
        lines.smoothest_line(ring, level_mm=level_mm)
        if follows
        else np.full(len(ring.low_mm), level_mm)
    )
    centre = ring.points_mm.mean(axis=0)
    return HolePlug(
        number=number,
        centre_mm=(float(centre[0]), float(centre[1])),
        area_mm2=ring.area_mm2,
        width_mm=ring.width_mm,
        free_low_mm=low,
        free_high_mm=high,
        height_mm=float(line.mean()),
        trapped_mm3=float(trapped[k]),
        is_following=follows,
        rim=loop_of(ring, line),
    )


def _plug_level(tries, good, uneven_mm, show_slope):
    """Height of a level plug, and the try it is nearest to.

    At the hidden end of the hole where one face shows. Else flush with an even
    under side, against which the board shuts it; else midway, which leaves
    most margin.
    """
    margin_mm = min(PLUG_MARGIN_MM, 0.25 * float(tries[good[-1]] - tries[good[0]]))
    is_flush = good[0] == 0 and uneven_mm is not False and uneven_mm < FLUSH_MM
    if show_slope < -SHOW_COS:
        return float(tries[good[-1]]) - margin_mm, good[-1]
    if is_flush:
        return float(tries[good[0]]), good[0]
    if show_slope > SHOW_COS:
        return float(tries[good[0]]) + margin_mm, good[0]
    middle = good[len(good) // 2]
    return float(tries[middle]), middle
