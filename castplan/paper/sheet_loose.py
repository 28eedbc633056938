"""Loose pieces at 1:1: each from outside, as it stands in its side of the box, and in profile."""

import numpy as np

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
    rings = _profile_rings(piece)
    every = np.concatenate(rings)
    return Piece(
        name=say("loose_sheet.profile", label=piece.label),
        about=loose_view.length_sentence(plan, piece),
        low_mm=every.min(axis=0),
        high_mm=every.max(axis=0),
        draw=lambda window, shift: outlined(window, [ring + shift for ring in rings]),
    )


def _profile_rings(piece):
    """Stem of each finger and the end that widens, along the way it is pulled and upward."""
    rings = []
    for ring in piece.section_mm:
        low, high = ring[:, 1].min(), ring[:, 1].max()
        inner, outer = piece.low_mm, piece.face_mm
        rings.append(np.array([(inner, low), (outer, low), (outer, high), (inner, high)]))
    (b0, b1), (m0, m1) = (
        (ring[:, 1].min(), ring[:, 1].max()) for ring in (piece.base_mm, piece.mouth_mm)
    )
    inner, outer = piece.face_mm, piece.end_mm
    rings.append(np.array([(inner, b0), (outer, m0), (outer, m1), (inner, b1)]))
    return rings
