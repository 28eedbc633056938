"""Loose pieces settled: which there are, what they take, and that they leave."""

from dataclasses import replace

import numpy as np

from castplan.columns.field import ColumnField, sample
from castplan.geometry import slide
from castplan.geometry.channels import parting_mm
from castplan.part.study import HeldPockets, Study, sample_part
from castplan.record import record
from castplan.split.freed import Parted, takes
from castplan.split.records import BoxResult, DrawResult, FlexResult, PartingSurface
from castplan.split.records.loose import LoosePiece, LooseResult
from castplan.split.slides import Sought, find_pieces, held_numbers

# A second look takes another pitch, so that no column stands where one stood before.
SECOND_PITCH = 0.73
# Of what a piece frees, so much may have part beyond it by that look: the sampling.
BLOCKED_SHARE = 0.03
ACROSS_PIECE = 60  # columns across a piece, where its volume is taken
STEP_MM = 1.0  # along it, where the halves share it
# A long narrow piece asks for gigabytes at these; with so many its volume is sure to 0.1 %.
MOST_COLUMNS = 200_000
MOST_POINTS = 2_000_000


@record
class Placed:
    """Where pieces are looked for: the draw, its box, its parting and what that holds."""

    draw: DrawResult
    box: BoxResult
    surface: PartingSurface
    parted: Parted


@record
class Judged:
    """The pockets that a parting holds, and whether its rubber leaves them."""

    pockets: HeldPockets
    flex: FlexResult


def find_loose(study: Study, placed: Placed, judged: Judged) -> LooseResult:
    """Loose pieces for the pockets that no parting releases and no stretch frees.

    Parameters
    ----------
    study : Study
    placed : Placed
    judged : Judged
        With all silicone in its half; the verdicts say which pockets ask for a piece.

    Returns
    -------
    LooseResult
        `left_mm3` is not known yet; it stands at what is held.
    """
    numbers, held_mm3 = _held(judged)
    pieces, thin = (), ()
    if numbers:
        site = Sought(study=study, draw=placed.draw, box=placed.box)
        found = find_pieces(site, judged.pockets, numbers)
        thin = found.thin
        for piece in found.pieces:
            weighed = _weighed(study, placed, piece, pieces)
            # One that would not come out is no piece: its pockets stay as they are.
            if weighed.blocked_mm3 <= max(study.tie_mm3, BLOCKED_SHARE * piece.freed_mm3):
                pieces = (*pieces, replace(weighed, label=f"L{len(pieces) + 1}"))
    return LooseResult(
        made=study.job.slides,
        pieces=pieces,
        thin=thin,
        n_held=len(numbers),
        held_mm3=held_mm3,
        left_mm3=held_mm3,
    )


def after_pieces(loose: LooseResult, judged: Judged) -> LooseResult:
    """The same with what is left once the pieces are out.

    Parameters
    ----------
    loose : LooseResult
    judged : Judged
        Of the halves without the pieces.
    """
    return replace(loose, left_mm3=_held(judged)[1])


def _held(judged):
    """Numbers of the pockets that ask for a piece, and their volume [mm3]."""
    numbers = held_numbers(judged.pockets, judged.flex)
    pockets = judged.pockets.undercuts.pockets
    return numbers, sum(pocket.volume_mm3 for pocket in pockets if pocket.number in numbers)


def _weighed(study, placed, piece, before):
    """The piece with its volume, each half's share of it, and the second look.

    What pieces pulled before it take is theirs.
    """
    part, draw = study.part, placed.draw.frame
    along = sample_part(part, piece.frame, pitch_mm=piece.pitch_mm)
    xy, cell_mm2, begin, end = _columns(piece, along, placed, piece.pitch_mm)
    long = np.maximum(end - begin, 0.0)
    step_mm = max(STEP_MM, float(long.sum()) / MOST_POINTS)
    n = np.maximum(np.ceil(long / step_mm).astype(np.int64), 1)
    which = np.repeat(np.arange(len(xy)), n)
    rank = np.arange(which.size) - np.repeat(np.cumsum(n) - n, n)
    step = (long / n)[which]
    points = np.column_stack([xy[which], begin[which] + (rank + 0.5) * step])
    in_part = piece.frame.to_part(points)
    drawn = draw.to_frame(in_part)
    split_mm = parting_mm(placed.surface, drawn)
    field = placed.parted.field
    column = field.columns_at(drawn[:, :2])
    # Over the part the surface as built, in its margin and beyond the clay's.
    is_over = np.isfinite(field.highest_mm[column])
    split_mm[is_over] = placed.parted.built_mm[column[is_over]]
    for other in before:
        step = np.where(takes(part, other, in_part), 0.0, step)
    volume_mm3 = float(step.sum() * cell_mm2)
    upper_mm3 = float(step[drawn[:, 2] > split_mm].sum() * cell_mm2)
    if piece.diameter_mm is not None:
        exact_mm3 = np.pi / 4 * piece.diameter_mm**2 * float(end.mean() - piece.low_mm)
        upper_mm3 *= exact_mm3 / volume_mm3
        volume_mm3 = exact_mm3
    other = sample(
        part.vertices_mm,
        part.faces,
        part.cap_faces,
        piece.frame.rotation,
        pitch_mm=SECOND_PITCH * piece.pitch_mm,
    )
    blocked_mm3 = blocked(piece, along, other, placed)
    return replace(
        piece,
        volume_ml=volume_mm3 / 1000,
        upper_ml=upper_mm3 / 1000,
        blocked_mm3=blocked_mm3,
    )


def _columns(piece, along, placed, pitch_mm):
    """Columns over a piece: where they stand, the area of one, where the piece begins and ends."""
    ring = np.concatenate([piece.mouth_mm, *piece.section_mm])
    sides = np.ptp(ring, axis=0)
    pitch_mm = min(pitch_mm, sides.min() / ACROSS_PIECE)
    pitch_mm = max(pitch_mm, float(np.sqrt(sides.prod() / MOST_COLUMNS)))
    xy, cell_mm2 = slide.grid_over(ring, pitch_mm=pitch_mm)
    begin = slide.begins_mm(piece, along, xy)
    xy, begin = xy[np.isfinite(begin)], begin[np.isfinite(begin)]
    start = np.column_stack([xy, begin])
    end = slide.leaves_at(piece.frame, placed.draw.frame, placed.box, start)
    end[~np.isfinite(end)] = begin[~np.isfinite(end)]
    return xy, cell_mm2, begin, end


def blocked(piece: LoosePiece, along: ColumnField, other: ColumnField, placed: Placed) -> float:
    """Volume of a piece that has part beyond it on its way out, by other columns than its own.

    Parameters
    ----------
    piece : LoosePiece
    along : ColumnField
        That tells where the piece begins.
    other : ColumnField
        Along the same frame, that is asked.
    placed : Placed

    Returns
    -------
    float
        [mm3]
    """
    xy, cell_mm2, begin, _ = _columns(piece, along, placed, other.pitch_mm)
    column = other.columns_at(xy)
    beyond = np.maximum(other.highest_mm[column] - begin, 0.0)
    beyond[~np.isfinite(beyond)] = 0.0
    count = np.diff(other.first)[column]
    for k in range(int(count.max(initial=0))):
        has = np.flatnonzero(count > k)
        interval = other.first[column[has]] + k
        top, bottom = other.top_mm[interval], other.bottom_mm[interval]
        beyond[has] -= np.maximum(top - np.maximum(bottom, begin[has]), 0.0)
    return float(np.maximum(beyond, 0.0).sum() * cell_mm2)
