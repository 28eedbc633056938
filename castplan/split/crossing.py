"""Pieces whose ways cross: where an earlier one stands in the way, the later one ends before it."""

from dataclasses import replace

import numpy as np
from scipy import ndimage

from castplan.geometry import slide
from castplan.part.records import Part
from castplan.part.study import sample_part
from castplan.split.records.loose import LoosePiece

ACROSS, ALONG = 24, 160  # cells of a piece, to see what of it hangs together
SQUARE_PERCENT = 75  # of a rod's columns are free where it is cut off; at its rim the part begins


def ended_before(part: Part, piece: LoosePiece, earlier: list[LoosePiece]) -> LoosePiece | None:
    """The piece as far in as it goes in one body round those that are pulled before it.

    A pin that is thinner than the piece leaves a hole in it; one as thick cuts it in
    two, and what lies beyond is another's.

    Parameters
    ----------
    part : Part
    piece : LoosePiece
    earlier : list of LoosePiece

    Returns
    -------
    LoosePiece or None
        The same where its inner end stays; None where nothing of it is left.
    """
    if not earlier:
        return piece
    ring = np.concatenate(piece.section_mm)
    low, high = ring.min(axis=0), ring.max(axis=0)
    x, y = (np.linspace(low[k], high[k], ACROSS) for k in (0, 1))
    z = np.linspace(piece.low_mm, piece.end_mm, ALONG)
    points = np.stack(np.meshgrid(x, y, z, indexing="ij"), axis=-1)
    flat = points.reshape(-1, 3)
    is_own = _holds(part, piece, flat)
    in_part = piece.frame.to_part(flat)
    for other in earlier:
        is_own &= ~_holds(part, other, other.frame.to_frame(in_part))
    label, _ = ndimage.label(is_own.reshape(points.shape[:3]))
    outer = np.unique(label[..., -1])
    is_kept = np.isin(label, outer[outer > 0])
    columns = is_kept.any(axis=2)
    if not columns.any():
        return None
    begins = z[np.argmax(is_kept, axis=2)[columns]]
    if begins.min() <= piece.low_mm + 2 * (z[1] - z[0]):
        return piece
    # A rod is cut off square; a slide is shaped to what it meets.
    low_mm = float(np.percentile(begins, SQUARE_PERCENT) if piece.kind == "rod" else begins.min())
    return replace(
        piece, low_mm=low_mm, seat_mm=0.0, length_mm=piece.length_mm - (low_mm - piece.low_mm)
    )


def _holds(part, piece, points):
    field = sample_part(part, piece.frame, pitch_mm=piece.pitch_mm)
    return slide.holds(piece, field, points, skin_mm=0.0)
