"""Loose pieces in words: for the decision, the sheets and the cards."""

import numpy as np

from castplan.bench.loose_steps import GRIP_MM, rod_mm
from castplan.mould.boards import beyond_corner_mm
from castplan.plan_record import Plan
from castplan.split.records import LoosePiece
from castplan.texts import say
from castplan.words import formats


def pieces_sentence(plan: Plan) -> str:
    """What is pulled out first, and where; empty without loose pieces."""
    pieces = plan.split.pieces
    if not pieces:
        return ""
    named = "; ".join(piece_words(piece) for piece in pieces)
    return say("loose.first", n=len(pieces), pieces=named)


def piece_words(piece: LoosePiece) -> str:
    """``L1, a rod 6.0 mm across, at the back side``."""
    side = say(f"loose.side_{piece.side}")
    if piece.diameter_mm is None:
        return say("loose.slide", label=piece.label, side=side)
    across = formats.length_text(piece.diameter_mm, error_mm=0.1)
    return say("loose.rod", label=piece.label, across=across, side=side)


def place_sentence(plan: Plan, piece: LoosePiece) -> str:
    """Where it comes out of the side of the box, seen from outside."""
    along = from_left_mm(plan, piece)
    up = piece.out_mm[2] - plan.mould.block.bedding.board_mm
    told = {
        "side": say(f"loose.side_{piece.side}"),
        "along": formats.length_text(along, error_mm=0.1),
        "up": formats.length_text(up, error_mm=0.1),
    }
    # Walls are drilled before they stand.
    beyond_mm = beyond_corner_mm(plan.split.box, plan.mould.boards, piece.side)
    if beyond_mm is None:
        return say("loose.place", **told)
    return say(
        "loose.place_on_board", **told, end=formats.length_text(along + beyond_mm, error_mm=0.1)
    )


def from_left_mm(plan: Plan, piece: LoosePiece) -> float:
    """From the left inside edge of its side of the box, seen from outside [mm]."""
    low, high, out = (
        np.asarray(each) for each in (plan.split.box.low_mm, plan.split.box.high_mm, piece.out_mm)
    )
    return float(
        {
            "front": out[0] - low[0],
            "right": out[1] - low[1],
            "back": high[0] - out[0],
            "left": high[1] - out[1],
        }[piece.side]
    )


def length_sentence(plan: Plan, piece: LoosePiece) -> str:
    """How long it is, and how far it goes beyond a hole."""
    long = formats.length_text(piece.length_mm, error_mm=0.1)
    seat = formats.length_text(piece.seat_mm, error_mm=0.1)
    if piece.kind == "rod":
        cut_mm = rod_mm(piece, board_mm=plan.mould.boards.thickness_mm)
        cut = formats.length_text(cut_mm, error_mm=1.0)
        wall = formats.length_text(plan.mould.boards.thickness_mm)
        grip = formats.length_text(GRIP_MM)
        return say("loose.rod_length", long=long, seat=seat, cut=cut, wall=wall, grip=grip)
    return say("loose.through_length" if piece.is_through else "loose.length", long=long, seat=seat)
