"""What the halves still hold once the loose pieces are out."""

from dataclasses import replace

import numpy as np
from scipy import ndimage

from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps, find_gaps
from castplan.columns.held import Held
from castplan.geometry import slide
from castplan.part.records import Part
from castplan.part.study import sample_part
from castplan.record import Frame, record
from castplan.split.records.loose import LoosePiece
from castplan.split.undercuts import pull_halves

TOUCH_MM = 1e-9
# What is left of a column's rubber is told this finely, all of it in so many steps at most.
STEPS_A_PITCH, MOST_STEPS = 2, 1_500_000


@record
class Parted:
    """A part as it is parted, column by column along the draw."""

    field: ColumnField
    gaps: Gaps  # of the part alone
    built_mm: np.ndarray  # (n,) height of the parting as built
    held: Held  # with all silicone in its half


def pull_after(part: Part, draw: Frame, parted: Parted, pieces: tuple[LoosePiece, ...]) -> Held:
    """What part keeps from leaving of either half when the pieces have been pulled.

    Parameters
    ----------
    part : Part
    draw : Frame
    parted : Parted
    pieces : tuple of LoosePiece

    Returns
    -------
    Held
    """
    field, gaps, held = parted.field, parted.gaps, parted.held
    if not pieces or not held.gaps.column.size:
        return held
    column, bottom, top = _taken(part, draw, held, field, pieces)
    filled = _with(field, column, bottom, top)
    rest = find_gaps(filled)
    rest = _still_open(rest, Held(gaps=gaps, half=np.zeros(gaps.column.size, np.int8)))
    return pull_halves(filled, rest, parted.built_mm)


def freed_mm3(parted: Parted, held: Held) -> float:
    """What the halves hold less than with all silicone in them."""

    def total(gaps):
        is_rubber = (gaps.n_mouths > 0)[gaps.pocket]
        return float((gaps.top_mm - gaps.bottom_mm)[is_rubber].sum() * parted.field.cell_mm2)

    return 0.0 if held is parted.held else total(parted.held.gaps) - total(held.gaps)


def _taken(part, draw, held, field, pieces):
    """Stretches of the held rubber that go out with a piece: column, bottom and top of each."""
    gaps = held.gaps
    open_ones = np.flatnonzero((gaps.n_mouths > 0)[gaps.pocket])
    length = (gaps.top_mm - gaps.bottom_mm)[open_ones]
    step_mm = max(field.pitch_mm / STEPS_A_PITCH, float(length.sum()) / MOST_STEPS)
    n = np.maximum(np.ceil(length / step_mm).astype(np.int64), 1)
    which = np.repeat(np.arange(open_ones.size), n)
    step = (length / n)[which]
    rank = np.arange(which.size) - np.repeat(np.cumsum(n) - n, n)
    bottom = gaps.bottom_mm[open_ones][which] + rank * step
    column = gaps.column[open_ones][which]
    points = np.column_stack([field.centre_mm(column), bottom + 0.5 * step])
    is_out = np.zeros(which.size, dtype=bool)
    in_part = draw.to_part(points)
    for piece in pieces:
        is_out |= takes(part, piece, in_part)
    return column[is_out], bottom[is_out], (bottom + step)[is_out]


def takes(part: Part, piece: LoosePiece, points_mm) -> np.ndarray:
    """Which points (k, 3) of the part frame a piece takes along, (k,).

    Its skin is seen no finer than the columns: what lies within one of them beside it
    goes with it.
    """
    along = sample_part(part, piece.frame, pitch_mm=piece.pitch_mm)
    begin = slide.begins_mm(piece, along, along.centre_mm(np.arange(along.n_x * along.n_y)))
    begin = ndimage.minimum_filter(begin.reshape(along.n_y, along.n_x), size=3).ravel()
    points = piece.frame.to_frame(np.asarray(points_mm))
    return points[:, 2] >= begin[along.columns_at(points[:, :2])] - piece.pitch_mm


def _with(field, column, bottom, top) -> ColumnField:
    """The field with further solid between its intervals."""
    column = np.concatenate([field.column_of, column])
    bottom = np.concatenate([field.bottom_mm, bottom])
    top = np.concatenate([field.top_mm, top])
    order = np.lexsort((bottom, column))
    column, bottom, top = column[order], bottom[order], top[order]
    is_new = np.ones(column.size, dtype=bool)
    is_new[1:] = (column[1:] != column[:-1]) | (bottom[1:] > top[:-1] + TOUCH_MM)
    starts = np.flatnonzero(is_new)
    ends = np.append(starts[1:], column.size) - 1
    counts = np.bincount(column[starts], minlength=field.n_x * field.n_y)
    first = np.concatenate([[0], np.cumsum(counts)]).astype(field.first.dtype)
    return replace(field, first=first, bottom_mm=bottom[starts], top_mm=top[ends])


def _still_open(rest: Gaps, whole: Held) -> Gaps:
    """Rubber that the pieces shut off is rubber all the same, and no sealed void."""
    shut = np.flatnonzero((rest.n_mouths == 0)[rest.pocket])
    if not shut.size:
        return rest
    middle = 0.5 * (rest.bottom_mm + rest.top_mm)[shut]
    at = whole.piece_at(rest.column[shut], middle, within_mm=0.0)
    if not whole.gaps.column.size:
        return rest
    mouths = np.where(at >= 0, whole.gaps.n_mouths[whole.gaps.pocket[at]], 0)
    was_open = mouths > 0
    n_mouths, depth = rest.n_mouths.copy(), rest.depth_mm.copy()
    # With the mouths and the way out that it had before.
    np.maximum.at(n_mouths, rest.pocket[shut[was_open]], mouths[was_open])
    depth[shut[was_open]] = whole.gaps.depth_mm[at[was_open]]
    return replace(rest, n_mouths=n_mouths, depth_mm=depth)
