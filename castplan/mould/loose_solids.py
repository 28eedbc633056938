"""Loose pieces as solids: what each takes out of the block."""

import manifold3d
import numpy as np
import shapely
from manifold3d import Manifold
from scipy import ndimage

from castplan.columns.field import ColumnField
from castplan.geometry import slide, solid
from castplan.mould.cut import Cut
from castplan.part.records import Part
from castplan.part.study import sample_part
from castplan.split.records import LoosePiece

BEYOND_MM = 5.0  # tools reach so far past what they cut
# A section seen through a hole is cut so much wider first, and the part then taken off it.
GROWN_MM = 0.1
# A lid over what has part beyond it stays so far within the part, in columns: a film
# of silicone between the two would tear off.
SUNK_COLUMNS = 2
CRUMB_MM3 = 1.0
AT_WALL_MM = 1.0


def piece_solids(part: Part, cut: Cut, whole: Manifold, body: Manifold) -> list[Manifold]:
    """Each loose piece in the block, in the order in which they are pulled.

    Parameters
    ----------
    part : Part
    cut : Cut
    whole, body : Manifold
        The block and the part in it, draw frame.

    Returns
    -------
    list of Manifold
        Draw frame; none overlaps another.
    """
    made: list[Manifold] = []
    for piece in cut.pieces:
        turn = cut.frame.rotation @ piece.frame.rotation.T
        there = np.column_stack([turn, np.zeros(3)])
        back = np.column_stack([turn.T, np.zeros(3)])
        local = body.transform(back)
        along = sample_part(part, piece.frame, pitch_mm=piece.pitch_mm)
        tool = _stem(piece, local, along) + _head(piece)
        taken = ((tool - local).transform(there) ^ whole) - solid_sum(made)
        made.append(_reaching_out(taken, cut, piece))
    return made


def solid_sum(bodies: list[Manifold]) -> Manifold:
    """All bodies as one; an empty solid of none."""
    if not bodies:
        return Manifold()
    return Manifold.batch_boolean(bodies, manifold3d.OpType.Add)


def _stem(piece: LoosePiece, body: Manifold, along: ColumnField) -> Manifold:
    """From its inner end to the end that widens, under nothing of the part."""
    high_mm = piece.face_mm + 0.5 * (piece.end_mm - piece.face_mm)
    section = slide.section_of(piece)
    if piece.kind == "rod":
        high_mm = piece.end_mm + BEYOND_MM
        section = section.buffer(GROWN_MM)
    stem = Manifold()
    if piece.kind == "slide":
        # In its seat it is no wider than the hole that it has to come out through.
        low_mm = piece.low_mm + piece.seat_mm
        stem = solid.prism(section, low_mm=low_mm, high_mm=high_mm) - _lid(piece, along)
    if piece.is_through or piece.kind == "rod":
        column = solid.prism(section, low_mm=along.low_mm[2] - 1.0, high_mm=along.high_mm[2] + 1.0)
        free = section.difference(_shadow(body ^ column))
        free = shapely.union_all([f for f in shapely.get_parts(free) if f.geom_type == "Polygon"])
        if not free.is_empty:
            stem += solid.prism(free, low_mm=piece.low_mm, high_mm=high_mm)
    return stem


def _shadow(body):
    """What a body covers seen along z."""
    rings = [shapely.Polygon(ring) for ring in body.project().to_polygons() if len(ring) > 2]
    shade = shapely.Polygon()
    for ring in sorted(rings, key=lambda ring: -ring.area):
        shade = shade.symmetric_difference(ring.buffer(0))
    return shade


def _lid(piece, along):
    """Everything under the part's last surface over the section, well within the part."""
    section = slide.section_of(piece)
    low, high = (np.array(section.bounds[k : k + 2]) for k in (0, 2))
    pitch = piece.pitch_mm
    x, y = (np.arange(low[k] - 2 * pitch, high[k] + 3 * pitch, pitch) for k in (0, 1))
    grid = np.stack(np.meshgrid(x, y), axis=-1)
    height = slide.highest_at(along, grid.reshape(-1, 2)).reshape(grid.shape[:2])
    height = ndimage.minimum_filter(height, size=3) - SUNK_COLUMNS * pitch
    floor = piece.low_mm - 2 * BEYOND_MM
    return solid.height_block(x, y, np.maximum(height, floor + 1.0), bottom_mm=floor)


def _head(piece):
    """The end that widens, and on beyond the box."""
    if piece.kind == "rod":
        return Manifold()
    ends = [
        np.column_stack([ring, np.full(len(ring), z)])
        for ring, z in ((piece.base_mm, piece.face_mm), (piece.mouth_mm, piece.end_mm))
    ]
    head = Manifold.hull_points(np.concatenate(ends))
    middle = 0.5 * (piece.face_mm + piece.end_mm)
    base = solid.prism(piece.base_mm, low_mm=middle, high_mm=piece.end_mm)
    return (
        head
        + base
        + solid.prism(piece.mouth_mm, low_mm=piece.end_mm - 1e-3, high_mm=piece.end_mm + BEYOND_MM)
    )


def _reaching_out(taken, cut, piece):
    """Of the bodies those that come out at the wall: the others stay with the halves."""
    turn = piece.frame.rotation @ cut.frame.rotation.T
    out_mm = float((turn @ np.asarray(piece.out_mm))[2])
    kept = []
    for body in taken.decompose():
        points, _ = solid.arrays_of(body)
        if body.volume() > CRUMB_MM3 and (points @ turn.T)[:, 2].max() > out_mm - AT_WALL_MM:
            kept.append(body)
    return solid_sum(kept)
