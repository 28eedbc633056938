"""The room that a loose piece takes: where it begins over each point of its section.

Everything is in the piece's own frame, whose +z is the way it is pulled, unless
said otherwise. A piece is what lies over its section with nothing of the part
beyond it, so that it leaves by its making.
"""

import numpy as np
import shapely

from castplan.columns.field import ColumnField
from castplan.record import Frame
from castplan.split.records import BoxResult
from castplan.split.records.loose import LoosePiece

FLAT_SIN = 1e-6  # a way this square to a wall's normal never meets it
HALF_SPACES_MM = 1e-9


def highest_at(field: ColumnField, points_mm) -> np.ndarray:
    """Highest solid over points (k, 2) of the field's frame, -inf where there is none, (k,)."""
    return field.highest_mm[field.columns_at(np.asarray(points_mm))]


def section_of(piece: LoosePiece) -> shapely.Geometry:
    """The section as a shape, its fingers together."""
    return shapely.union_all([shapely.Polygon(ring) for ring in piece.section_mm])


def widened_at(piece: LoosePiece, points_mm) -> np.ndarray:
    """Height at which the widening end takes in points (k, 2), inf beside it, (k,).

    Between two convex sections each is (1 - t) of the first and t of the second
    added point by point, so its edges are those of both and their distances run evenly.
    """
    points = np.asarray(points_mm, dtype=float)
    t = np.zeros(len(points))
    normals = np.concatenate([_normals(piece.base_mm), _normals(piece.mouth_mm)])
    for normal in normals:
        near, far = ((ring @ normal).max() for ring in (piece.base_mm, piece.mouth_mm))
        out = points @ normal - near
        with np.errstate(divide="ignore", invalid="ignore"):
            asked = np.where(out > HALF_SPACES_MM, out / (far - near), 0.0)
        asked[(out > HALF_SPACES_MM) & (far - near <= HALF_SPACES_MM)] = np.inf
        t = np.maximum(t, asked)
    height = piece.face_mm + t * (piece.end_mm - piece.face_mm)
    return np.where(t <= 1.0, height, np.inf)


def _normals(ring):
    edges = np.roll(ring, -1, axis=0) - ring
    edges = edges[np.linalg.norm(edges, axis=1) > HALF_SPACES_MM]
    normals = np.column_stack([edges[:, 1], -edges[:, 0]])
    return normals / np.linalg.norm(normals, axis=1)[:, None]


def begins_mm(piece: LoosePiece, field: ColumnField, points_mm) -> np.ndarray:
    """Where the piece begins over points (k, 2), inf beside it, (k,).

    Parameters
    ----------
    piece : LoosePiece
    field : ColumnField
        The part along the piece's frame.
    points_mm : (k, 2) array_like
    """
    every = np.asarray(points_mm, dtype=float)
    found = np.full(len(every), np.inf)
    # Most points lie beside it.
    rings = np.concatenate([piece.base_mm, piece.mouth_mm, *piece.section_mm])
    is_near = ((every >= rings.min(axis=0)) & (every <= rings.max(axis=0))).all(axis=1)
    points = every[is_near]
    begin = widened_at(piece, points)
    inside = shapely.contains_xy(section_of(piece), points)
    begin[inside] = np.minimum(begin[inside], piece.low_mm)
    highest = highest_at(field, points)
    if piece.kind == "rod":
        # Plain as it is bought: where the hole is chamfered it does not widen.
        shut = inside & np.isfinite(highest)
        begin[shut] = np.maximum(begin[shut], piece.face_mm)
    found[is_near] = np.maximum(begin, highest)
    return found


def holds(piece: LoosePiece, field: ColumnField, points_mm, *, skin_mm: float) -> np.ndarray:
    """Which points (k, 3) lie in the piece, those under its skin by less than `skin_mm` too, (k,).

    The box is left out of it: it is asked of points inside.
    """
    points = np.asarray(points_mm, dtype=float)
    return points[:, 2] >= begins_mm(piece, field, points[:, :2]) - skin_mm


def leaves_at(frame: Frame, draw: Frame, box: BoxResult, points_mm, *, sense=1.0) -> np.ndarray:
    """Heights at which ways along +z leave the box, from points (k, 3) inside it, (k,).

    With `sense` -1 they go the other way.
    """
    turn = draw.rotation @ frame.rotation.T
    start = np.asarray(points_mm, dtype=float) @ turn.T
    way = sense * turn[:, 2]
    away = np.full(len(start), np.inf)
    if abs(way[2]) > FLAT_SIN:
        wall = box.high_mm[2] if way[2] > 0 else box.low_mm[2]
        away = (wall - start[:, 2]) / way[2]
    for a, b in zip(box.outline_mm, np.roll(box.outline_mm, -1, axis=0), strict=True):
        edge = b - a
        cross = way[0] * edge[1] - way[1] * edge[0]  # of a wall of a ring that turns left
        if cross <= FLAT_SIN * np.linalg.norm(edge):
            continue
        off = a - start[:, :2]
        t = (off[:, 0] * edge[1] - off[:, 1] * edge[0]) / cross
        s = (off[:, 0] * way[1] - off[:, 1] * way[0]) / cross
        meets = (t > 0) & (s >= -1e-9) & (s <= 1 + 1e-9)
        away[meets] = np.minimum(away[meets], t[meets])
    return np.asarray(points_mm, dtype=float)[:, 2] + sense * away


def grid_over(ring_mm, *, pitch_mm: float) -> tuple[np.ndarray, float]:
    """Middles of small squares over a ring's bounds (k, 2), and the area of one [mm2]."""
    low, high = np.min(ring_mm, axis=0), np.max(ring_mm, axis=0)
    n = np.maximum(np.ceil((high - low) / pitch_mm).astype(int), 1)
    step = (high - low) / n
    x, y = (low[k] + step[k] * (np.arange(n[k]) + 0.5) for k in (0, 1))
    return np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2), float(step[0] * step[1])


def balls_of(
    pieces: tuple[LoosePiece, ...], draw: Frame
) -> list[tuple[float, float, float, float]]:
    """Balls that fill the pieces for what has to keep off them: x, y, z and radius, draw frame."""
    balls = []
    for piece in pieces:
        for low, high, z0, z1 in _blocks(piece):
            size = np.maximum(high - low, 1e-3)
            radius = 0.5 * float(size.min())
            steps = [
                np.linspace(a + radius, b - radius, 1 + int(np.ceil((b - a - 2 * radius) / radius)))
                for a, b in (*zip(low, high, strict=True), (z0, max(z1, z0 + 2 * radius)))
            ]
            grid = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, 3)
            balls += [(*at, 1.2 * radius) for at in draw.to_frame(piece.frame.to_part(grid))]
    return [tuple(float(v) for v in ball) for ball in balls]


def _blocks(piece):
    """A piece as blocks of its own frame: each finger, and the end that widens."""
    for ring in piece.section_mm:
        yield ring.min(axis=0), ring.max(axis=0), piece.low_mm, piece.face_mm
    yield piece.mouth_mm.min(axis=0), piece.mouth_mm.max(axis=0), piece.face_mm, piece.end_mm
