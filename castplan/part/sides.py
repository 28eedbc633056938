"""What a person sees of a part from each of six sides: flats, what stands on them, openings."""

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from castplan.columns.views import sample_view
from castplan.part.records import Part
from castplan.record import Frame

_ACROSS = 220  # cells along the longest side
_LEAST_TOL_MM, _TOL_FRACTION = 0.15, 0.015  # of the depth: as good as level
_LEAST_PIECE = 0.003  # of the side's area: less stands out to nobody
_RAISED_TOLS = 3.0
_PLATEAU = 0.25  # of the side: what things stand on
_OVERHANG, _RIB_LONG, _POST_HIGH = 0.15, 3.0, 1.2
_STEP = 0.35  # of a piece's edge on the outline
_FEET, _MOST_FEET = (0.03, 0.5), 6
_RIM_HOLLOW, _RIM_DEEP = 0.4, 0.3  # of the mouth's area, of the depth
_SLOPES = (0.1, 6.0)  # of what looks rounded or slanted
_LEAST_TEETH, _EVEN, _LEVEL_LINE = 5, 0.35, 0.2
_TOOTH_MM, _TOOTH_FRACTION = 0.4, 0.3  # depth: at least, and at most of the part's
_ROUND = 0.03


@dataclass(frozen=True, eq=False)
class Piece:
    """Something that stands on a side, or an opening in it; places in the frame."""

    kind: str  # arm, rib, post, pad, foot; hole, slot
    middle_mm: np.ndarray  # (3,) nothing along the side's own axis
    high_mm: float
    area_mm2: float


@dataclass(frozen=True, eq=False)
class Side:
    """One side of a part as it is seen; shares are of its area."""

    axis: int
    sense: int
    flat: float  # in the outermost plane
    rounded: float
    pieces: tuple[Piece, ...]
    holes: tuple[Piece, ...]  # right through
    is_rim: bool
    n_hollows: int  # recesses in its outermost plane, shut all round
    n_teeth: int
    is_circle: bool
    middles_mm: dict  # of the part, by axis across this one
    ends: dict  # by axis across: shares of shadow and solid in the outer quarters, low and high

    def middle_of(self, axis: int) -> float:
        """Middle of the part along an axis of the frame across this side's [mm]."""
        return self.middles_mm[axis]

    def ends_of(self, axis: int) -> dict:
        """How much of the part is near its ends along an axis across this side's."""
        return self.ends[axis]


def see_sides(part: Part, frame: Frame) -> tuple[np.ndarray, dict]:
    """The part's extents along a frame, and its six sides.

    Parameters
    ----------
    part : Part
    frame : Frame

    Returns
    -------
    extent_mm : (3,) float64
    sides : dict
        `Side` by (axis, sense).
    """
    size, sides = np.zeros(3), {}
    longest_mm = float(np.ptp(frame.to_frame(part.vertices_mm[part.faces.ravel()]), axis=0).max())
    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        turn = frame.rotation[[u, v, axis]]
        pitch_mm = longest_mm / _ACROSS
        field = sample_view(part.vertices_mm, part.faces, part.cap_faces, turn, pitch_mm=pitch_mm)
        size[axis] = field.high_mm[2] - field.low_mm[2]
        look = _Look(field, pitch_mm, axis)
        for sense in (1, -1):
            sides[axis, sense] = look.side(sense)
    return size, sides


class _Look:
    """A part seen along an axis, on a straight lattice, from both of its ends."""

    def __init__(self, field, pitch_mm, axis):
        self.axis, self.pitch_mm = axis, pitch_mm
        low, high = field.low_mm, field.high_mm
        n = np.maximum(np.ceil((high - low)[:2] / pitch_mm).astype(int), 1)
        steps = [low[k] + (np.arange(n[k]) + 0.5) * (high[k] - low[k]) / n[k] for k in (0, 1)]
        grid = np.stack(np.meshgrid(*steps), axis=-1)
        at = field.columns_at(grid.reshape(-1, 2))
        self.shape = grid.shape[:2]
        self.u, self.v = steps
        self.n_solids = np.diff(field.first)[at].reshape(self.shape)
        length = np.zeros(len(field.first) - 1)
        np.add.at(length, field.column_of, field.top_mm - field.bottom_mm)
        self.solid_mm = length[at].reshape(self.shape)
        self.full = np.pad(self.n_solids > 0, 1)
        self.top = field.highest_mm[at].reshape(self.shape)
        self.bottom = field.lowest_mm[at].reshape(self.shape)
        self.ends = float(low[2]), float(high[2])
        self.depth_mm = self.ends[1] - self.ends[0]
        self.size_mm = (high - low)[:2]
        self.tol_mm = max(_LEAST_TOL_MM, _TOL_FRACTION * self.depth_mm)

    def side(self, sense) -> Side:
        """What is seen from one end."""
        full = self.full
        height = self.top - self.ends[1] if sense > 0 else self.ends[0] - self.bottom
        z = np.pad(np.where(full[1:-1, 1:-1], height, -self.depth_mm), 1, constant_values=-np.inf)
        z[~full] = -self.depth_mm
        n_full = max(int(full.sum()), 1)
        top = full & (z > -self.tol_mm)
        steep = np.hypot(*np.gradient(z, self.pitch_mm))
        inner = ndimage.binary_erosion(full)
        sloped = inner & (steep > _SLOPES[0]) & (steep < _SLOPES[1])
        holes = self._holes()
        pieces = self._pieces(z, full, inner & (steep < _SLOPES[0]), n_full)
        pieces = pieces or self._feet(top, n_full)
        is_rim, n_hollows = self._hollows(z, top, full)
        if top.sum() < _PLATEAU * n_full:
            n_hollows = 0
        teeth = self._as_teeth(pieces)
        if teeth:
            pieces = ()
        elif not (holes or pieces):
            teeth = self._teeth(z)
        shadow = int(ndimage.binary_fill_holes(full).sum())
        circle = np.pi / 4 * np.prod(self.size_mm) / self.pitch_mm**2
        is_even = abs(self.size_mm[0] - self.size_mm[1]) < _ROUND * self.size_mm.max()
        return Side(
            axis=self.axis,
            sense=sense,
            flat=float(top.sum()) / n_full,
            rounded=float(sloped.sum()) / max(int(inner.sum()), 1),
            pieces=pieces,
            holes=holes,
            is_rim=is_rim,
            n_hollows=n_hollows,
            n_teeth=teeth,
            is_circle=bool(is_even and abs(shadow / circle - 1) < 2 * _ROUND),
            middles_mm={
                (self.axis + 1) % 3: float(self.u.mean()),
                (self.axis + 2) % 3: float(self.v.mean()),
            },
            ends=self._ends(),
        )

    def _ends(self):
        """Shadow and solid in the outer quarters, by axis."""
        full = self.full[1:-1, 1:-1]
        out = {}
        for axis, along in (((self.axis + 1) % 3, 1), ((self.axis + 2) % 3, 0)):
            across = 1 - along
            shadow, solid = full.sum(axis=across), self.solid_mm.sum(axis=across)
            n = max(len(shadow) // 4, 1)
            out[axis] = {
                name: (float(one[:n].sum()), float(one[-n:].sum()))
                for name, one in (("shadow", shadow), ("solid", solid))
            }
        return out

    def _place(self, cells):
        """Middle of cells (k, 2) of the padded lattice in the frame, (3,)."""
        out = np.zeros(3)
        row, column = np.clip(cells.mean(axis=0) - 1, 0, np.array(self.shape) - 1)
        out[(self.axis + 1) % 3] = np.interp(column, np.arange(self.shape[1]), self.u)
        out[(self.axis + 2) % 3] = np.interp(row, np.arange(self.shape[0]), self.v)
        return out

    def _spread(self, cells):
        """Length and width of cells (k, 2) along their own axes [mm]."""
        away = (cells - cells.mean(axis=0)) * self.pitch_mm
        _, axes = np.linalg.eigh(away.T @ away)
        long_mm, wide_mm = (np.ptp(away @ axes[:, k]) + self.pitch_mm for k in (1, 0))
        return float(long_mm), float(wide_mm)

    def _labelled(self, mask, least):
        """Cells of each connected piece of a mask, (k, 2), that is no speck."""
        labels, n = ndimage.label(mask)
        found = []
        for k, where in enumerate(ndimage.find_objects(labels), start=1):
            cells = np.argwhere(labels[where] == k) + [one.start for one in where]
            if len(cells) >= least:
                found.append(cells)
        return found if n else []

    def _holes(self):
        through = ndimage.binary_fill_holes(self.full) & ~self.full
        made = []
        for cells in self._labelled(through, max(6, _LEAST_PIECE / 3 * self.full.sum())):
            long_mm, wide_mm = self._spread(cells)
            kind = "slot" if long_mm > 2.0 * wide_mm else "hole"
            area = len(cells) * self.pitch_mm**2
            made.append(Piece(kind, self._place(cells), self.depth_mm, area))
        return tuple(made)

    def _pieces(self, z, full, level, n_full):
        """What stands on the largest level of the side."""
        heights = np.sort(z[full & level])
        if not len(heights):
            return ()
        last = np.searchsorted(heights, heights + 2 * self.tol_mm)
        count = last - np.arange(len(heights))
        best = int(np.argmax(count))
        base = float(heights[best]) + self.tol_mm
        high_mm = _RAISED_TOLS * self.tol_mm
        if count[best] < _PLATEAU * n_full or base > -high_mm:
            return ()
        made = []
        solids = np.pad(self.n_solids, 1)
        for cells in self._labelled(full & (z > base + high_mm), max(6, _LEAST_PIECE * n_full)):
            at = cells[:, 0], cells[:, 1]
            if self._is_step(at):
                continue
            long_mm, wide_mm = self._spread(cells)
            tall_mm = float(z[at].max()) - base
            if np.mean(solids[at] > 1) > _OVERHANG:
                kind = "arm"
            elif long_mm > _RIB_LONG * wide_mm:
                kind = "rib"
            elif tall_mm > _POST_HIGH * wide_mm:
                kind = "post"
            else:
                kind = "pad"
            made.append(Piece(kind, self._place(cells), tall_mm, len(cells) * self.pitch_mm**2))
        return tuple(made)

    def _is_step(self, at):
        """Whether a piece lies along the outline: an edge of the part, nothing on the side."""
        piece = np.zeros(self.full.shape, dtype=bool)
        piece[at] = True
        edge = piece & ~ndimage.binary_erosion(piece)
        outline = self.full & ~ndimage.binary_erosion(self.full)
        return np.count_nonzero(edge & outline) > _STEP * np.count_nonzero(edge)

    def _as_teeth(self, pieces):
        """How many teeth pieces are: many, low, alike, and in one row; 0 if they are none."""
        if len(pieces) < _LEAST_TEETH or any(piece.kind == "rib" for piece in pieces):
            return 0
        high_mm = np.array([piece.high_mm for piece in pieces])
        middles = np.array([piece.middle_mm for piece in pieces])
        across = np.sort(np.ptp(middles, axis=0))
        is_row = across[1] < 0.1 * across[2]
        is_low = high_mm.max() < _TOOTH_FRACTION * self.depth_mm
        return len(pieces) * int(is_row and is_low and np.ptp(high_mm) < _EVEN * high_mm.max())

    def _feet(self, top, n_full):
        """Flats of the outermost plane that stand apart, where they are small."""
        feet = self._labelled(top, max(6, _LEAST_PIECE * n_full))
        share = sum(map(len, feet)) / n_full
        if not (2 <= len(feet) <= _MOST_FEET and _FEET[0] < share < _FEET[1]):
            return ()
        area = self.pitch_mm**2
        return tuple(
            Piece("foot", self._place(cells), self.depth_mm, len(cells) * area) for cells in feet
        )

    def _hollows(self, z, top, full):
        """Whether the outermost plane is the rim of a hollow, and how many it has."""
        mouth = ndimage.binary_fill_holes(top)
        if not mouth.any():
            return False, 0
        inside = mouth & ~top & full & (z < -_RAISED_TOLS * self.tol_mm)
        deep = inside & (z < -_RIM_DEEP * self.depth_mm)
        is_rim = deep.sum() > _RIM_HOLLOW * mouth.sum()
        return bool(is_rim), len(self._labelled(inside, max(6, _LEAST_PIECE * mouth.sum())))

    def _teeth(self, z):
        """The most even notches on one line along the side's length."""
        lines = z if z.shape[1] >= z.shape[0] else z.T
        # On a slope the lattice itself makes notches.
        slope = np.median(np.abs(np.gradient(lines, self.pitch_mm, axis=0)), axis=1)
        # A scan's noise is no tooth.
        least_mm = max(_TOOTH_MM, _RAISED_TOLS * self.tol_mm, 1.5 * self.pitch_mm)
        most_mm = _TOOTH_FRACTION * self.depth_mm
        best = 0
        for line in lines[1:-1][slope[1:-1] < _LEVEL_LINE]:
            at = _notches(line[1:-1], least_mm=least_mm, most_mm=most_mm)
            at = at[0][at[1] > -least_mm]
            gaps = np.diff(at)
            if len(at) >= _LEAST_TEETH and gaps.std() < _EVEN * gaps.mean():
                best = max(best, len(at))
        return best


def _notches(line, *, least_mm, most_mm):
    """Where a line dips and rises again by more than a depth: cells (k,), and from how high."""
    found, tops, high, low, where = [], [], line[0], line[0], 0
    for k, value in enumerate(line):
        if value < low:
            low, where = value, k
        if value - low > least_mm and high - low > least_mm:
            if high - low < most_mm:
                found.append(where)
                tops.append(high)
            high = low = value
        elif value > high:
            high = low = value
    return np.array(found), np.array(tops)
