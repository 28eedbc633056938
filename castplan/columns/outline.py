"""The outline of a part seen along the draw, column by column: quick enough for a search.

`rim` walks along the outline and is what the parting line is built on; here
only sums over it are wanted, and on coarse fields.
"""

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from castplan.columns.field import ColumnField, to_xy
from castplan.columns.levels import reach_outside
from castplan.columns.raster import compiled

# A rounding of this radius or less hides a parting line as an edge does (assumed).
EDGE_RADIUS_MM = 3.0
# On coarse columns a larger rounding cannot be told from an edge; a square one can.
MOST_TURN_DEG = 75.0
TOWARDS_COS, ASIDE_COS = 0.7, 0.5
INWARD = 2  # columns from the outline to where its surfaces are read


@dataclass(frozen=True, kw_only=True, eq=False)
class Outline:
    """What of the part stands along its outline, inner outlines left out."""

    length_mm: float
    seen_fraction: float  # of the length, where the part is more than one column wide
    climb_mm: float  # from the highest floor of a free line to its lowest roof
    face_mm: float  # length where the line crosses a face or a flat, with no edge to run along
    outward: np.ndarray  # (k, 2) unit, frame
    lengths_mm: np.ndarray  # (k,)

    def length_towards_mm(self, way) -> float:
        """Length of outline whose side looks a way (2,) of the frame.

        All of it within 45 degrees of that way, none from 60 degrees on: the back
        edges of an angle look half aside, and a degree of draw must not turn minutes.
        """
        along = self.outward @ np.asarray(way)
        looks = np.clip((along - ASIDE_COS) / (TOWARDS_COS - ASIDE_COS), 0, 1)
        return float(self.lengths_mm @ looks)


@compiled
def _walk(first, bottom, top, is_outside, n_x, n_y, inward, n_deep):
    """Outward ways, lengths in columns, and lowest and highest solid at and inside each column."""
    n = n_x * n_y
    out = np.empty((n, 10))
    m = 0
    for c in range(n):
        a, b = first[c], first[c + 1]
        if a == b:
            continue
        # The margin of empty columns keeps every neighbour on the grid.
        left, right = is_outside[c - 1], is_outside[c + 1]
        front, back = is_outside[c - n_x], is_outside[c + n_x]
        if not (left or right or front or back):
            continue
        i, row = c % n_x, c // n_x
        x = y = 0.0
        for dy in range(-2, 3):
            for dx in range(-2, 3):
                p, q = i + dx, row + dy
                # Beyond the grid lies nothing of the part.
                if p < 0 or p >= n_x or q < 0 or q >= n_y or is_outside[q * n_x + p]:
                    x += dx
                    y += dy
        size = np.sqrt(x * x + y * y)
        if size == 0:
            continue
        x, y = x / size, y / size
        # A straight wall has |x| and |y| of its length in sides of columns.
        length = max(right * x, 0.0) + max(-left * x, 0.0)
        length += max(back * y, 0.0) + max(-front * y, 0.0)
        out[m, 0], out[m, 1], out[m, 2] = x, y, length
        out[m, 3], out[m, 4] = bottom[a], top[b - 1]
        out[m, 5] = 0.0
        # One by one: to copy a slice takes a second and a half to compile.
        out[m, 6], out[m, 7] = bottom[a], top[b - 1]
        out[m, 8], out[m, 9] = bottom[a], top[b - 1]
        for step in range(1, inward + 1):
            p, q = int(np.rint(i - step * x)), int(np.rint(row - step * y))
            if p < 0 or p >= n_x or q < 0 or q >= n_y:
                break
            d = q * n_x + p
            if d == c or first[d] == first[d + 1]:
                break
            out[m, 5] = np.sqrt((p - i) ** 2 + (q - row) ** 2)
            out[m, 6], out[m, 7] = bottom[first[d]], top[first[d + 1] - 1]
            if step <= n_deep:
                out[m, 8], out[m, 9] = out[m, 6], out[m, 7]
        m += 1
    return out[:m].copy()


def read_outline(field: ColumnField, *, depth_mm: float) -> Outline:
    """Sum up the outer outline of a field sampled along the draw.

    Parameters
    ----------
    field : ColumnField
    depth_mm : float
        How far inside the outline the range of a free line is read, to the
        nearest column: at the very edge a rough wall would ask for the top of
        every bump. The same on coarse and on fine columns, or a smooth part
        would seem to climb less on coarse ones.

    Returns
    -------
    Outline
        Lengths are right for straight walls and within a few per cent for
        round ones some columns across.
    """
    is_outside = reach_outside(np.diff(field.first) > 0, field.n_x, field.n_y)
    ends = field.first, field.bottom_mm, field.top_mm
    n_deep = max(round(depth_mm / field.pitch_mm - 0.5), 0)
    walk = _walk(*ends, is_outside, field.n_x, field.n_y, INWARD, n_deep)
    x, y, length, low, high, away, low_in, high_in, floor, roof = walk.T
    length = length * field.pitch_mm
    is_read = away > 0  # one column of wire or fin tells nothing of its surfaces
    away = np.where(is_read, away, 1.0) * field.pitch_mm
    # The angle by which the surface turns where the line can run: at the lower
    # end of the wall, or at its upper end.
    turn = np.maximum(_turn(low, low_in, high_in, away), _turn(high, low_in, high_in, away))
    # A rounding seen to this depth inside the outline turns by so much.
    least = np.pi - 2 * np.arctan(np.sqrt(2 * EDGE_RADIUS_MM / away))
    is_face = is_read & (turn < np.minimum(least, np.radians(MOST_TURN_DEG)))
    climb_mm = float(floor.max() - roof.min()) if len(walk) else 0.0
    return Outline(
        length_mm=float(length.sum()),
        seen_fraction=float(length[is_read].sum() / max(length.sum(), 1e-12)),
        climb_mm=max(climb_mm, 0.0),
        face_mm=float(length[is_face].sum()),
        outward=to_xy(np.stack([x, y], axis=1)),
        lengths_mm=length,
    )


def _turn(at, low_in, high_in, away):
    return np.pi - np.arctan((at - low_in) / away) - np.arctan((high_in - at) / away)


def whole_fraction(field: ColumnField, *, n_bodies: int) -> float:
    """Share of the shadow in as many pieces of it as there are bodies, the largest.

    Much less than 1 says that columns miss what joins them: no shadow has more
    pieces than bodies cast it.
    """
    shadow = (np.diff(field.first) > 0).reshape(field.n_y, field.n_x)
    piece, _ = ndimage.label(shadow, structure=np.ones((3, 3)))
    sizes = np.sort(np.bincount(piece.ravel())[1:])
    return float(sizes[-n_bodies:].sum() / max(sizes.sum(), 1))
