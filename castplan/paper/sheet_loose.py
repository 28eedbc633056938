"""Loose pieces at 1:1: each from outside, as it stands in its side of the box, and in profile."""

from dataclasses import replace

import numpy as np
import shapely

from castplan.bench.loose_steps import rod_mm
from castplan.palette import GREY, LOOSE
from castplan.paper.sheet_stack import Piece, alone
from castplan.paper.sheet_true import Drawing, Window, outlined
from castplan.plan_record import Plan
from castplan.split.records import LoosePiece
from castplan.texts import say
from castplan.words import loose as loose_view

_CROSS_MM = 4.0  # beyond the piece, for the lines that its place is measured from


def loose_drawings(plan: Plan) -> list[Drawing]:
    """Two drawings for each loose piece; none without one."""
    return [
        alone(each)
        for piece in plan.split.pieces
        for each in (_end(plan, piece), _profile(plan, piece))
    ]


def _end(plan: Plan, piece: LoosePiece) -> Piece:
    """From outside, the way it is pulled towards the reader."""
    every = np.concatenate([piece.mouth_mm, *piece.section_mm])
    return Piece(
        name=say("loose_sheet.end", label=piece.label),
        about=loose_view.place_sentence(plan, piece),
        low_mm=every.min(axis=0) - _CROSS_MM,
        high_mm=every.max(axis=0) + _CROSS_MM,
        draw=lambda window, shift: _draw_end(window, plan, piece, shift),
    )


def _draw_end(window: Window, plan: Plan, piece: LoosePiece, shift) -> None:
    outlined(window, [piece.mouth_mm + shift], kind="visible")
    if piece.kind == "slide":
        outlined(window, [piece.base_mm + shift], kind="thin", edge=GREY)
    fingers = [ring + shift for ring in piece.section_mm]
    outlined(window, fingers, kind="visible", edge=LOOSE)
    # Where its place on the side of the box is measured to.
    x, y = piece.frame.to_frame(plan.split.draw.frame.to_part(np.asarray(piece.out_mm)))[:2]
    low, high = piece.mouth_mm.min(axis=0) - _CROSS_MM, piece.mouth_mm.max(axis=0) + _CROSS_MM
    for ends in (((low[0], y), (high[0], y)), ((x, low[1]), (x, high[1]))):
        window.sheet.line(window.to_sheet(np.array(ends) + shift), kind="parting", clip=window.clip)


def _profile(plan: Plan, piece: LoosePiece) -> Piece:
    """From the side, its outer end on the right."""
    board_mm = plan.mould.boards.thickness_mm
    cut_mm = rod_mm(piece, board_mm=board_mm) if piece.kind == "rod" else 0.0
    rings = _profile_rings(piece, cut_mm=cut_mm, board_mm=board_mm)
    every = np.concatenate(rings)
    return Piece(
        name=say("loose_sheet.profile", label=piece.label),
        about=loose_view.length_sentence(plan, piece),
        low_mm=every.min(axis=0),
        high_mm=every.max(axis=0),
        draw=lambda window, shift: outlined(window, [ring + shift for ring in rings]),
    )


def _profile_rings(piece, *, cut_mm, board_mm):
    """Stem of each finger and the end that widens, along the way it is pulled and upward.

    Of a rod, cut so long, also what lies in the wall and what stands out of it.
    """
    rings = []
    for ring in piece.section_mm:
        low, high = ring[:, 1].min(), ring[:, 1].max()
        inner, outer = piece.low_mm, piece.face_mm
        rings.append(np.array([(inner, low), (outer, low), (outer, high), (inner, high)]))
    (b0, b1), (m0, m1) = (
        (ring[:, 1].min(), ring[:, 1].max()) for ring in (piece.base_mm, piece.mouth_mm)
    )
    inner, outer = piece.face_mm, piece.end_mm
    if cut_mm:
        rings, inner = [], piece.low_mm
    rings.append(np.array([(inner, b0), (outer, m0), (outer, m1), (inner, b1)]))
    if cut_mm:  # what goes through the wall, and stands out of it
        ends = outer + board_mm, piece.low_mm + cut_mm
        for start, end in ((outer, ends[0]), ends):
            rings.append(np.array([(start, m0), (end, m0), (end, m1), (start, m1)]))
    return rings


def with_pieces(plan: Plan, face):
    """A look at the box from above with the loose pieces in it, each with its letter.

    Parameters
    ----------
    plan : Plan
    face : Face
        As the box stands for the first pour.
    """
    seen = {piece.label: _from_above(plan, piece) for piece in plan.split.pieces}
    closed = tuple(np.concatenate([ring, ring[:1]]) for ring in seen.values())
    named = tuple((label, ring.mean(axis=0)) for label, ring in seen.items())
    return replace(face, lines=face.lines + closed, parts=face.parts + named)


def _from_above(plan, piece):
    """All of a piece inside the box as seen along the draw, a ring (k, 2)."""
    rings = [(ring, at) for ring in piece.section_mm for at in (piece.low_mm, piece.face_mm)]
    rings += [(piece.base_mm, piece.face_mm), (piece.mouth_mm, piece.end_mm)]
    points = np.concatenate([np.column_stack([r, np.full(len(r), at)]) for r, at in rings])
    seen = plan.split.draw.frame.to_frame(piece.frame.to_part(points))[:, :2]
    return shapely.get_coordinates(shapely.MultiPoint(seen).convex_hull)[:-1]
