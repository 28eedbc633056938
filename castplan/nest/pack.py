"""Outlines side by side in the least rectangle, a wall of silicone between any two.

Bottom-left filling of strips of several heights, each outline turned in steps, where it
may stand read off a grid by convolution; then every outline is slid together with exact
distances. The best strip is kept.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy import fft
from shapely import affinity

# Turns that are tried, from the outline's least rectangle: a right angle is easiest to
# lay by hand, finer steps only where they save this share of the box (assumed).
RIGHT_DEG = (0.0, 90.0, 180.0, 270.0)
STEP_DEG = 15.0
WORTH_FRACTION = 0.03
N_FINER = 3  # strips that are tried with finer turns
N_SLID = 4  # fillings that are slid together; the others stay behind them
CELLS = 72  # of the grid along the side of a square as large as all outlines
N_STRIPS = 12
SLIDES = 2
SLIDE_PARTS = 4  # steps that a slide takes to a cell


@dataclass(frozen=True, eq=False)
class Packing:
    """Where outlines lie: the turn of each about its origin, then its shift."""

    turns_deg: tuple[float, ...]
    shifts_mm: np.ndarray  # (n, 2)
    outlines: tuple[shapely.Polygon, ...]  # as they lie

    @property
    def size_mm(self) -> np.ndarray:
        """Sides of the rectangle that holds them, (2,)."""
        bounds = shapely.total_bounds(list(self.outlines))
        return bounds[2:] - bounds[:2]

    @property
    def filled_fraction(self) -> float:
        """Share of that rectangle that they cover."""
        return float(sum(shape.area for shape in self.outlines) / np.prod(self.size_mm))

    @property
    def gap_mm(self) -> float:
        """Least distance between two of them; inf for one."""
        shapes = self.outlines
        pairs = [
            shapely.distance(shapes[j], shapes[k]) for k in range(len(shapes)) for j in range(k)
        ]
        return float(min(pairs, default=np.inf))


def pack_outlines(outlines, *, wall_mm: float, border_of) -> Packing:
    """Lay outlines side by side so that the box round them is small.

    Parameters
    ----------
    outlines : sequence of shapely.Polygon
        Without holes.
    wall_mm : float
        Between any two, at least.
    border_of : callable
        ``border_of(size_mm)`` gives the silicone round a rectangle (2,) that holds them
        all: the box is so much larger on every side.

    Returns
    -------
    Packing
        The same outlines give the same packing; its low corner is at 0, 0.
    """
    shapes = list(outlines)
    area_mm2 = sum(shape.buffer(0.5 * wall_mm).area for shape in shapes)
    cell_mm = float(np.sqrt(area_mm2)) / CELLS
    kinds = {}
    for shape in shapes:
        kinds.setdefault(shape.wkb, _Shape(shape, wall_mm=wall_mm, cell_mm=cell_mm))
    pieces = [kinds[shape.wkb] for shape in shapes]

    def cost(packing):
        size_mm = packing.size_mm
        return float(np.prod(size_mm + 2 * border_of(size_mm)))

    def tried(strips, turns_deg):
        filled = []
        for height_mm in strips:
            for order in _orders(pieces):
                laid = _fill(pieces, order, turns_deg, round(height_mm / cell_mm))
                if laid is not None:
                    rough = _packing(pieces, _shapes(pieces, laid), laid)
                    filled.append((round(cost(rough), 3), len(filled), height_mm, order, laid))
        found = []
        for _, n, height_mm, order, laid in sorted(filled, key=lambda entry: entry[:2])[:N_SLID]:
            packing = _slid(pieces, order, laid, wall_mm=wall_mm, cell_mm=cell_mm)
            found.append((round(cost(packing), 3), n, height_mm, packing))
        return sorted(found, key=lambda entry: entry[:2])

    plain = tried(_strips(pieces, area_mm2, wall_mm), RIGHT_DEG)
    heights = list(dict.fromkeys(height for _, _, height, _ in plain))[:N_FINER]
    finer = tried(heights, tuple(np.arange(0.0, 360.0, STEP_DEG)))
    best = plain[0]
    if finer and finer[0][0] < (1 - WORTH_FRACTION) * best[0]:
        best = finer[0]
    return best[3]


class _Shape:
    """One outline with what of the grid it covers, grown by half the wall, at every turn."""

    def __init__(self, outline, *, wall_mm, cell_mm):
        self.outline, self.wall_mm, self.cell_mm = outline, wall_mm, cell_mm
        self._masks, self._spectra = {}, {}

    @cached_property
    def lying_deg(self) -> float:
        """Turn that lays its least rectangle square to the axes, its long side along x."""
        rectangle = shapely.minimum_rotated_rectangle(self.outline)
        corners = shapely.get_coordinates(rectangle)
        sides = np.diff(corners[:3], axis=0)
        long = sides[int(np.argmax(np.round(np.linalg.norm(sides, axis=1), 6)))]
        angle = float(np.degrees(np.arctan2(long[1], long[0]))) % 180.0
        least = np.prod(np.ptp(corners @ _turn(-angle).T, axis=0))
        bounds = self.outline.bounds
        # As it lies already, unless the turn is worth its trouble.
        if (bounds[2] - bounds[0]) * (bounds[3] - bounds[1]) < 1.02 * least:
            return 0.0
        return -angle

    def turned(self, turn_deg):
        """The outline turned about its origin from how it lies in its least rectangle."""
        return affinity.rotate(self.outline, self.lying_deg + turn_deg, origin=(0.0, 0.0))

    def mask(self, turn_deg):
        """Cells that the grown outline touches (rows, columns), and its low corner in mm."""
        if turn_deg not in self._masks:
            half = 0.5 * self.wall_mm
            # Half a cell's diagonal more: no cell that is touched is missed.
            wide = self.turned(turn_deg).buffer(half + 0.71 * self.cell_mm)
            x0, y0, x1, y1 = wide.bounds
            n_x = max(int(np.ceil((x1 - x0) / self.cell_mm)), 1)
            n_y = max(int(np.ceil((y1 - y0) / self.cell_mm)), 1)
            x = x0 + (np.arange(n_x) + 0.5) * self.cell_mm
            y = y0 + (np.arange(n_y) + 0.5) * self.cell_mm
            gx, gy = np.meshgrid(x, y)
            self._masks[turn_deg] = shapely.contains_xy(wide, gx, gy), (x0, y0)
        return self._masks[turn_deg]

    def spectrum(self, turn_deg, size):
        """Of the mask turned end for end: a product with it counts what is covered twice."""
        if (turn_deg, size) not in self._spectra:
            mask, _ = self.mask(turn_deg)
            self._spectra[turn_deg, size] = fft.rfft2(mask[::-1, ::-1].astype(float), size)
        return self._spectra[turn_deg, size]


def _turn(angle_deg):
    cos, sin = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([[cos, -sin], [sin, cos]])


def _orders(pieces):
    """Largest first, by area and by length; copies stay together."""
    by_area = sorted(range(len(pieces)), key=lambda k: (-round(pieces[k].outline.area, 3), k))
    length = [
        float(np.hypot(*np.subtract(p.outline.bounds[2:], p.outline.bounds[:2]))) for p in pieces
    ]
    by_length = sorted(range(len(pieces)), key=lambda k: (-round(length[k], 3), k))
    return [by_area] if by_area == by_length else [by_area, by_length]


def _strips(pieces, area_mm2, wall_mm):
    """Heights of strips to fill: stacks of the parts' own widths, up to about a square."""
    sides = []
    for piece in pieces:
        x0, y0, x1, y1 = piece.turned(0.0).bounds
        sides.append((min(x1 - x0, y1 - y0) + wall_mm, max(x1 - x0, y1 - y0) + wall_mm))
    least = max(side for side, _ in sides)
    most = max(1.35 * float(np.sqrt(area_mm2)), least)
    heights = {round(n * side, 2) for pair in sides for side in pair for n in range(1, 7)}
    heights |= {round(float(h), 2) for h in np.linspace(least, most, 5)}
    fits = sorted(h for h in heights if least - 1e-6 <= h <= most + 1e-6)
    if len(fits) > N_STRIPS:
        fits = [fits[k] for k in np.unique(np.linspace(0, len(fits) - 1, N_STRIPS).astype(int))]
    return fits


def _fill(pieces, order, turns_deg, n_rows):
    """Bottom-left filling of a strip: (turn, x, y) in mm by piece; None where one is too wide."""
    cell_mm = pieces[0].cell_mm
    n_rows += 2  # what the masks were grown by
    lengths = [max(piece.mask(turn)[0].shape) for piece in pieces for turn in turns_deg[:1]]
    n_columns = fft.next_fast_len(int(sum(lengths)) + max(lengths), real=True)
    taken = np.zeros((n_rows, n_columns))
    size = (fft.next_fast_len(n_rows + max(lengths), real=True), n_columns + 0)
    laid, right = {}, 0
    for k in order:
        piece, best = pieces[k], None
        spectrum = fft.rfft2(taken, size)
        for turn_deg in turns_deg:
            mask, _ = piece.mask(turn_deg)
            rows, columns = mask.shape
            if rows > n_rows:
                continue
            twice = fft.irfft2(spectrum * piece.spectrum(turn_deg, size), size)
            # Full overlap of mask and strip begins at the mask's own size.
            free = twice[rows - 1 : n_rows, columns - 1 : n_columns] < 0.5
            column = free.any(axis=0)
            if not column.any():
                continue
            x = int(np.argmax(column))
            y = int(np.argmax(free[:, x]))
            key = (max(right, x + columns), x + columns, y)
            if best is None or key < best[0]:
                best = key, turn_deg, x, y, mask
        if best is None:
            return None
        _, turn_deg, x, y, mask = best
        taken[y : y + mask.shape[0], x : x + mask.shape[1]] += mask
        right = best[0][0]
        x0, y0 = piece.mask(turn_deg)[1]
        laid[k] = turn_deg, x * cell_mm - x0, y * cell_mm - y0
    return laid


def _slid(pieces, order, laid, *, wall_mm, cell_mm):
    """The same, slid to the left and down as far as the walls allow."""
    shapes = _shapes(pieces, laid)
    low = shapely.total_bounds(list(shapes.values()))[:2]
    step_mm = cell_mm / SLIDE_PARTS
    for _ in range(SLIDES):
        for way in ((-1.0, 0.0), (0.0, -1.0)):
            axis = 0 if way[0] else 1
            for k in sorted(order, key=lambda k: (round(shapes[k].bounds[axis], 6), k)):
                others = [shapes[j] for j in order if j != k]
                shapes[k] = _slide(shapes[k], others, way, low, wall_mm, step_mm)
    return _packing(pieces, shapes, laid)


def _shapes(pieces, laid):
    """Outlines as they were laid, by piece."""
    return {k: affinity.translate(pieces[k].turned(turn), x, y) for k, (turn, x, y) in laid.items()}


def _packing(pieces, shapes, laid):
    """What was laid with its low corner at 0, 0, and its long side along x."""
    turns_deg = {k: turn for k, (turn, _, _) in laid.items()}
    x0, y0, x1, y1 = shapely.total_bounds(list(shapes.values()))
    if y1 - y0 > x1 - x0:  # a box lies along x
        turns_deg = {k: turn + 90.0 for k, turn in turns_deg.items()}
        shapes = {k: affinity.rotate(shape, 90.0, origin=(0, 0)) for k, shape in shapes.items()}
    low = shapely.total_bounds(list(shapes.values()))[:2]
    shapes = {k: affinity.translate(shape, *-low) for k, shape in shapes.items()}
    shifts = [
        np.subtract(shapes[k].bounds[:2], piece.turned(turns_deg[k]).bounds[:2])
        for k, piece in enumerate(pieces)
    ]
    return Packing(
        turns_deg=tuple(piece.lying_deg + turns_deg[k] for k, piece in enumerate(pieces)),
        shifts_mm=np.array(shifts),
        outlines=tuple(shapes[k] for k in range(len(pieces))),
    )


def _slide(shape, others, way, low, wall_mm, step_mm):
    """One outline moved on until the next step would come too near another or leave the strip."""
    union = shapely.union_all(others) if others else None
    shapely.prepare(union)

    def is_free(moved_mm):
        moved = affinity.translate(shape, moved_mm * way[0], moved_mm * way[1])
        inside = moved.bounds[0] >= low[0] - 1e-9 and moved.bounds[1] >= low[1] - 1e-9
        return inside and (union is None or shapely.distance(moved, union) >= wall_mm)

    far = 0.0
    while far < 1000 * step_mm and is_free(far + step_mm):
        far += step_mm
    free, stuck = far, far + step_mm
    for _ in range(12):  # to a thousandth of a step
        middle = 0.5 * (free + stuck)
        free, stuck = (middle, stuck) if is_free(middle) else (free, middle)
    return affinity.translate(shape, free * way[0], free * way[1])
