"""Loose pieces that free what no parting releases: which way each is pulled, and how few do.

A piece is pulled out through a side of the block before the halves are opened.
Of the ways tried the one is taken that frees most, then the shortest; several
pockets that lie near each other along it share one piece.
"""

import numpy as np
import shapely

from castplan.columns.field import sample
from castplan.columns.gaps import rows_by_number
from castplan.geometry import directions, frames, slide
from castplan.geometry.standin import thin_out
from castplan.part.study import HeldPockets, Study, sample_part
from castplan.record import Frame, record
from castplan.split.crossing import ended_before
from castplan.split.freed import takes
from castplan.split.piece import Freed, Site, join_masks, make_piece, mask_of, round_hole
from castplan.split.records import BoxResult, DrawResult, FlexResult
from castplan.split.records.loose import LoosePiece, ThinPiece

MOST_PIECES, MOST_TRIES = 3, 6
# A piece leaves through a side: its way is no steeper to the draw than this.
STEEPEST_SIN = 0.5
N_ROUND = 12  # further ways round the draw
# Columns along the longest side while ways are tried, and where a section is taken.
ACROSS, SECTION_ACROSS = 160, 300
# Points in the rubber while ways are tried, and where a section is taken.
N_TRIED, N_SECTION = 3000, 100_000
LEAST_COLUMNS = 30
# What frees less than this share of what is held is no help (assumed).
LEAST_GAIN = 0.1
# Less than this, a cube of 3.7 mm, and less than this share of all is no piece worth making.
WORTH_MM3, WORTH_SHARE = 50.0, 0.01
# Pockets nearer than this across the way share a piece (assumed).
SHARE_MM, SHARE_WIDE_MM = 15.0, 60.0
SAME_COS = np.cos(np.radians(3.0))
EVEN = 0.02  # shares that differ by less are the sampling
# A slide thinner than this tears or breaks, a rod of wire bends (assumed).
LEAST_SLIDE_MM, LEAST_ROD_MM = 3.0, 1.0


@record
class Found:
    """The pieces, and those that would have been too thin."""

    pieces: tuple[LoosePiece, ...]
    thin: tuple[ThinPiece, ...]


def held_numbers(pockets: HeldPockets, flex: FlexResult) -> list[int]:
    """Numbers of the pockets that ask for a piece: no parting frees them and no stretch does."""
    kinds = {pocket.number: pocket.kind for pocket in pockets.undercuts.pockets}
    return [
        judged.number
        for judged in flex.pockets
        if judged.verdict in ("may tear", "locked") and kinds[judged.number] in ("pocket", "bridge")
    ]


@record
class Sought:
    """Where pieces are looked for."""

    study: Study
    draw: DrawResult
    box: BoxResult


def find_pieces(sought: Sought, pockets: HeldPockets, numbers: list[int]) -> Found:
    """Pieces for some of the pockets, at most three.

    Parameters
    ----------
    sought : Sought
    pockets : HeldPockets
        With all silicone in its half.
    numbers : list of int
        Of the pockets.

    Returns
    -------
    Found
        In the order in which they are pulled.
    """
    study, draw, box = sought.study, sought.draw, sought.box
    least_mm = pockets.field.pitch_mm
    step_mm = _step_mm(pockets, numbers, n_points=N_TRIED, least_mm=least_mm)
    rubber = _points(pockets, numbers, step_mm=step_mm)
    ways = _ways(study.part, draw.frame, rubber)
    is_free = _free(study.part, draw.frame, ways, rubber)
    total = rubber.weight_mm3.sum()
    left = np.ones(rubber.weight_mm3.size, dtype=bool)
    is_barred = np.zeros(len(ways), dtype=bool)
    pieces, thin = [], {}
    while len(pieces) < MOST_PIECES and left.any() and is_barred.sum() < MOST_TRIES:
        gain = (is_free & left) @ rubber.weight_mm3 / total
        gain[is_barred] = -1.0
        gained = LEAST_GAIN * rubber.weight_mm3[left].sum() / total
        if gain.max() < max(WORTH_MM3 / total, WORTH_SHARE, gained):
            break
        best = _shortest(
            ways, np.flatnonzero(gain >= max(gain.max() - EVEN, 0.0)), (draw, box), rubber
        )
        is_barred[best] = True
        site = _site(study, draw, box, ways[best])
        of_way = np.unique(rubber.number[is_free[best] & left])
        made, slim = _pieces_along(site, pockets, of_way, pieces)
        if slim:
            thin.setdefault(tuple(int(n) for n in of_way), slim)
        for freed in made:
            piece = make_piece(site, freed, label=f"L{len(pieces) + 1}")
            if piece is not None:
                piece = ended_before(study.part, piece, pieces)
            if piece is None:
                continue
            pieces.append(piece)
            along = piece.frame.to_frame(draw.frame.to_part(rubber.points_mm))
            skin = max(site.field.pitch_mm, pockets.field.pitch_mm)
            left &= ~slide.holds(piece, site.field, along, skin_mm=skin)
    # What another way freed after all is told of no more.
    stays = set(rubber.number[left].tolist())
    told = {n: each for numbers, slim in thin.items() for n in numbers for each in slim}
    return Found(
        pieces=tuple(pieces),
        thin=tuple(dict.fromkeys(told[n] for n in sorted(stays & told.keys()))),
    )


@record
class _Rubber:
    """Points of held rubber, draw frame, with what each stands for."""

    points_mm: np.ndarray  # (k, 3)
    number: np.ndarray  # (k,) of the pocket
    weight_mm3: np.ndarray  # (k,)


def _points(pockets, numbers, *, step_mm):
    """Points in pockets about every `step_mm`, never so far that a pocket has none."""
    field, gaps = pockets.field, pockets.gaps
    rows = rows_by_number(pockets.of_gap, n=len(pockets.undercuts.pockets) + 1)
    points, number, weight = [np.zeros((0, 3))], [np.zeros(0, np.int64)], [np.zeros(0)]
    for n in numbers:
        members = rows[n]
        row, i = np.divmod(gaps.column[members], field.n_x)
        every = max(1, int(step_mm / field.pitch_mm))
        thinned = members[(row % every == 0) & (i % every == 0)]
        members = thinned if thinned.size >= LEAST_COLUMNS else members
        bottom, top = gaps.bottom_mm[members], gaps.top_mm[members]
        parts = np.maximum(np.ceil((top - bottom) / step_mm).astype(np.int64), 1)
        which = np.repeat(np.arange(members.size), parts)
        rank = np.arange(which.size) - np.repeat(np.cumsum(parts) - parts, parts)
        z = bottom[which] + (rank + 0.5) / parts[which] * (top - bottom)[which]
        points.append(np.column_stack([field.centre_mm(gaps.column[members][which]), z]))
        number.append(np.full(which.size, n))
        long = ((top - bottom) / parts)[which]
        volume_mm3 = pockets.undercuts.pockets[n - 1].volume_mm3
        weight.append(volume_mm3 * long / max(long.sum(), 1e-12))
    return _Rubber(
        points_mm=np.concatenate(points),
        number=np.concatenate(number),
        weight_mm3=np.concatenate(weight),
    )


def _step_mm(pockets, numbers, *, n_points, least_mm):
    """How far apart so many points stand in some pockets."""
    volume = sum(pockets.undercuts.pockets[n - 1].volume_mm3 for n in numbers)
    return max(least_mm, (volume / n_points) ** (1 / 3))


def _ways(part, draw, rubber):
    """Ways for a piece to be pulled, part frame, (k, 3): the box's and the part's own first."""
    x, y, up = draw.rotation
    angles = np.arange(N_ROUND) * 2 * np.pi / N_ROUND
    rough = [x, y]
    for n in np.unique(rubber.number):
        rough += list(_axes(draw.to_part(rubber.points_mm[rubber.number == n])))
    rough += list(directions.own_directions(part)[0])
    rough += [np.cos(a) * x + np.sin(a) * y for a in angles]
    kept = []
    for way in rough:
        for sign in (1.0, -1.0):
            way_out = sign * frames.unit(way)
            if abs(way_out @ up) > STEEPEST_SIN:
                continue
            if all(way_out @ other < SAME_COS for other in kept):
                kept.append(way_out)
    return np.array(kept)


def _axes(points):
    """Main axes of a cloud of points, (3, 3): a hole's is among them."""
    away = points - points.mean(axis=0)
    return np.linalg.eigh(away.T @ away)[1].T


def _free(part, draw, ways, rubber):
    """For each way which points have no part beyond them, (n ways, k)."""
    pitch_mm = directions.longest_mm(part) / ACROSS
    vertices, faces = thin_out(part, n_triangles=20_000, cell_mm=0.5 * pitch_mm)
    no_faces = np.empty((0, 3), dtype=np.int32)
    in_part = draw.to_part(rubber.points_mm)
    out = np.zeros((len(ways), len(in_part)), dtype=bool)
    for k, way in enumerate(ways):
        rotation = frames.turn_to(way)
        field = sample(vertices, faces, no_faces, rotation, pitch_mm=pitch_mm)
        turned = in_part @ rotation.T
        out[k] = slide.highest_at(field, turned[:, :2]) <= turned[:, 2] + 0.5 * pitch_mm
    return out


def _shortest(ways, rows, placed, rubber):
    """Of some ways the one along which the rubber is nearest to the side of the box."""
    draw, box = placed
    middle = np.average(rubber.points_mm, axis=0, weights=rubber.weight_mm3)
    lengths = []
    for row in rows:
        frame = Frame(rotation=frames.turn_to(ways[row]))
        start = frame.to_frame(draw.frame.to_part(middle))
        lengths.append(float(slide.leaves_at(frame, draw.frame, box, start[None])[0] - start[2]))
    # Of ways about as long the first.
    return int(rows[int(np.argmin(np.round(np.array(lengths), 0)))])


def _site(study, draw, box, way):
    """The part seen along a way, y of its frame as near to the draw as it goes."""
    up = draw.frame.up
    y = frames.unit(up - (up @ way) * way)
    frame = Frame(rotation=np.stack([np.cross(y, way), y, way]))
    # A section is cut by hand: no finer than that.
    pitch_mm = max(study.pitch_mm, directions.longest_mm(study.part) / SECTION_ACROSS)
    pitch_mm = frames.view_pitch(study.part, study.job, frame, pitch_mm=pitch_mm)
    field = sample_part(study.part, frame, pitch_mm=pitch_mm)
    return Site(study=study, draw=draw.frame, box=box, frame=frame, field=field)


def _pieces_along(site, pockets, numbers, earlier):
    """What is freed along one way, a piece each, the largest first; and what is too thin."""
    room = MOST_PIECES - len(earlier)
    least_mm = max(site.field.pitch_mm, pockets.field.pitch_mm)
    step_mm = _step_mm(pockets, list(numbers), n_points=N_SECTION, least_mm=least_mm)
    rubber = _points(pockets, list(numbers), step_mm=step_mm)
    in_part = site.draw.to_part(rubber.points_mm)
    points = site.frame.to_frame(in_part)
    stays = np.ones(len(points), dtype=bool)
    for piece in earlier:
        stays &= ~takes(site.study.part, piece, in_part)
    skin = max(site.field.pitch_mm, pockets.field.pitch_mm)
    is_out = slide.highest_at(site.field, points[:, :2]) <= points[:, 2] + 0.5 * skin
    found = []
    for n in np.unique(rubber.number[is_out]):
        own = is_out & stays & (rubber.number == n)
        volume = float(rubber.weight_mm3[own].sum())
        if volume <= LEAST_GAIN * rubber.weight_mm3[stays & (rubber.number == n)].sum():
            continue
        freed = mask_of(site, points[own], volume_mm3=volume, step_mm=step_mm)
        if not freed.section.is_empty:  # less than the columns can show
            found.append(freed)
    # Lugs in a row on one axis are one hole; only then what lies side by side.
    found = _together(site, found, within_mm=0.0)
    rods = [freed for freed in found if round_hole(site, freed) is not None]
    others = [freed for freed in found if round_hole(site, freed) is None]
    if len(rods) > room:
        rods, others = [], [*rods, *others]
    others = _together(site, others, within_mm=SHARE_MM)
    if len(others) + len(rods) > room:
        others = _together(site, others, within_mm=SHARE_WIDE_MM)
    made, thin = [], []
    for freed in [*rods, *others]:
        width, least = freed.width_mm, LEAST_SLIDE_MM
        if round_hole(site, freed) is not None:
            width, least = 2 * round_hole(site, freed)[1], LEAST_ROD_MM
        if width < least:
            where = site.frame.point_in_part(freed.points_mm.mean(axis=0))
            thin.append(ThinPiece(width_mm=width, least_mm=least, where_mm=where))
        else:
            made.append(freed)
    made.sort(key=lambda freed: -freed.volume_mm3)
    return made[:room], thin


def _together(site, found: list[Freed], *, within_mm):
    """Rubber whose sections lie within a distance of each other, united."""
    found = list(found)
    k = 0
    while k < len(found):
        near = [
            other
            for other in found[k + 1 :]
            if shapely.distance(found[k].section, other.section) <= within_mm
        ]
        if near:
            joined = join_masks(site, [found[k], *near])
            found = [joined if n == k else one for n, one in enumerate(found) if one not in near]
        else:
            k += 1
    return found
