"""What each half of a mould holds behind the part, read off the parting surface as built.

Everything under the surface counts as solid for the upper half, everything
over it for the lower one; what is then void with part beyond it cannot leave.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy import ndimage

from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps, find_gaps
from castplan.columns.raster import compiled

UPPER, LOWER, SEALED = 0, 1, -1
FAR_MM = 1e6
# Rubber this many columns from where the other half takes over is a web that
# joins no two tongues.
WEB = 3


@dataclass(frozen=True, kw_only=True, eq=False)
class Held:
    """Silicone that part keeps from leaving, piece by piece, and the half it belongs to.

    `gaps` lists voids closed all round too; their half is `SEALED`. Pieces
    ascend by column, then height.
    """

    gaps: Gaps
    half: np.ndarray  # (g,) int8

    def piece_at(self, column, z_mm, *, within_mm: float) -> np.ndarray:
        """The piece that holds a height of a column, or -1: (k,) int64."""
        column, z_mm = np.asarray(column), np.asarray(z_mm, dtype=float)
        gaps = self.gaps
        first, last = (np.searchsorted(gaps.column, column, side) for side in ("left", "right"))
        found = np.full(column.shape, -1)
        for k in range(int((last - first).max(initial=0))):
            at = np.minimum(first + k, gaps.column.size - 1)
            is_here = (first + k < last) & (gaps.bottom_mm[at] - within_mm <= z_mm)
            is_here &= z_mm <= gaps.top_mm[at] + within_mm
            found[is_here & (found < 0)] = at[is_here & (found < 0)]
        return found


def held_by_surface(field: ColumnField, gaps: Gaps, heights_mm) -> Held:
    """What each half holds behind the part with the surface as it is.

    Parameters
    ----------
    field, gaps : ColumnField, Gaps
        Along the draw.
    heights_mm : (n,) float64
        The parting surface in every column.

    Returns
    -------
    Held
    """
    is_sealed = (gaps.n_mouths == 0)[gaps.pocket] if gaps.column.size else np.zeros(0, bool)
    sealed = np.flatnonzero(is_sealed)
    first, bottom, top = _without(field.first, field.bottom_mm, field.top_mm, is_sealed)
    heights = np.ascontiguousarray(heights_mm, dtype=float)
    found, slabs = [gaps_of(gaps, sealed)], [None]
    halves = [np.full(sealed.size, SEALED, dtype=np.int8)]
    for half in (UPPER, LOWER):
        if not _holds(first, bottom, top, heights, half == UPPER):
            continue
        ends = _slabs(first, bottom, top, heights, half == UPPER, FAR_MM)
        slabs.append(replace(field, first=ends[0], bottom_mm=ends[1], top_mm=ends[2]))
        found.append(_reached(find_gaps(slabs[-1]), gaps, field.pitch_mm))
        halves.append(np.full(found[-1].column.size, half, dtype=np.int8))
    if len(found) == 3:
        one, other = found[1:]
        found[1:] = [_apart(slabs[1], one, other), _apart(slabs[2], other, one)]
    return _together(found, np.concatenate(halves))


def _apart(slab, pieces, others):
    """Pieces with the mouths counted that are left when webs beside the other half are cut."""
    if not (pieces.n_mouths > 1).any():
        return pieces
    near = np.zeros(slab.n_x * slab.n_y, dtype=bool)
    near[others.column] = True
    near = ndimage.maximum_filter(near.reshape(slab.n_y, slab.n_x), size=2 * WEB + 1).ravel()
    is_web = near[pieces.column]
    if not is_web.any() or is_web.all():
        return pieces
    first, bottom, top = _without(slab.first, slab.bottom_mm, slab.top_mm, is_web)
    cut = find_gaps(replace(slab, first=first, bottom_mm=bottom, top_mm=top))
    # Both list the gaps by column and height, one without the webs.
    mouths = np.ones(pieces.n_pockets, dtype=np.int64)
    np.maximum.at(mouths, pieces.pocket[~is_web], cut.n_mouths[cut.pocket])
    return replace(pieces, n_mouths=np.minimum(pieces.n_mouths, mouths))


@compiled
def _without(first, bottom, top, is_sealed):
    """Intervals with sealed voids filled."""
    out_first = np.zeros_like(first)
    out_bottom = np.empty_like(bottom)
    out_top = np.empty_like(top)
    n = g = 0
    for c in range(first.size - 1):
        for k in range(first[c], first[c + 1]):
            if k > first[c]:
                if is_sealed[g]:
                    out_top[n - 1] = top[k]
                    g += 1
                    continue
                g += 1
            out_bottom[n] = bottom[k]
            out_top[n] = top[k]
            n += 1
        out_first[c + 1] = n
    return out_first, out_bottom[:n].copy(), out_top[:n].copy()


@compiled
def _holds(first, bottom, top, heights, is_upper):
    for c in range(first.size - 1):
        a, b = first[c], first[c + 1]
        if b == a:
            continue
        if b - a > 1 or (heights[c] < bottom[a] if is_upper else heights[c] > top[b - 1]):
            return True
    return False


@compiled
def _slabs(first, bottom, top, heights, is_upper, far):
    """Intervals with everything under the surface solid, or everything over it."""
    n_columns = first.size - 1
    out_first = np.zeros_like(first)
    out_bottom = np.empty(bottom.size + n_columns)
    out_top = np.empty(bottom.size + n_columns)
    n = 0
    for c in range(n_columns):
        a, b = first[c], first[c + 1]
        z = heights[c]
        if is_upper:
            begun = n
            out_bottom[n], out_top[n] = -far, z
            n += 1
            for k in range(a, b):
                if bottom[k] <= out_top[begun]:
                    out_top[begun] = max(out_top[begun], top[k])
                else:
                    out_bottom[n], out_top[n] = bottom[k], top[k]
                    n += 1
        else:
            low = z
            last = b - 1
            while last >= a and top[last] >= low:
                low = min(low, bottom[last])
                last -= 1
            for k in range(a, last + 1):
                out_bottom[n], out_top[n] = bottom[k], top[k]
                n += 1
            out_bottom[n], out_top[n] = low, far
            n += 1
        out_first[c + 1] = n
    return out_first, out_bottom[:n].copy(), out_top[:n].copy()


def gaps_of(gaps: Gaps, index) -> Gaps:
    """Some of the gaps, their pockets numbered anew."""
    kept, pocket = np.unique(gaps.pocket[index], return_inverse=True)
    return Gaps(
        column=gaps.column[index],
        bottom_mm=gaps.bottom_mm[index],
        top_mm=gaps.top_mm[index],
        pocket=pocket.reshape(-1).astype(np.int64),
        depth_mm=gaps.depth_mm[index],
        n_mouths=gaps.n_mouths[kept],
    )


def _reached(pieces, gaps, pitch_mm):
    """Pieces that the surface cuts off from their half count as open all the same.

    Silicone gets there before the clay is taken out; the way to the open is
    that of the void without the surface.
    """
    lost = (pieces.n_mouths == 0)[pieces.pocket]
    if not lost.any():
        return pieces
    depth = pieces.depth_mm.copy()
    whole = Held(gaps=gaps, half=np.zeros(gaps.column.size, dtype=np.int8))
    middle = 0.5 * (pieces.bottom_mm + pieces.top_mm)[lost]
    at = whole.piece_at(pieces.column[lost], middle, within_mm=0.0)
    depth[lost] = np.where(at >= 0, gaps.depth_mm[at] if gaps.column.size else 0.0, pitch_mm)
    depth[~np.isfinite(depth)] = pitch_mm
    return replace(pieces, depth_mm=depth, n_mouths=np.maximum(pieces.n_mouths, 1))


def _together(found, half):
    start = np.cumsum([0] + [g.n_pockets for g in found[:-1]])
    pocket = np.concatenate([g.pocket + s for g, s in zip(found, start, strict=True)])
    column, bottom, top, depth = (
        np.concatenate([getattr(g, name) for g in found])
        for name in ("column", "bottom_mm", "top_mm", "depth_mm")
    )
    order = np.lexsort((bottom, column))
    gaps = Gaps(
        column=column[order],
        bottom_mm=bottom[order],
        top_mm=top[order],
        pocket=pocket[order].astype(np.int64),
        depth_mm=depth[order],
        n_mouths=np.concatenate([g.n_mouths for g in found]).astype(np.int64),
    )
    return Held(gaps=gaps, half=half[order])
