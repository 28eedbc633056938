"""The base board at 1:1, to glue on and saw along."""

from castplan.mould.records import Board
from castplan.palette import GREY
from castplan.paper.paper import Sheet
from castplan.paper.sheet_stack import Piece, stack_pages
from castplan.paper.sheet_true import Window, outlined
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import build as build_view


def board_pages(plan: Plan) -> list[Sheet]:
    """The board that carries marks; what is a plain rectangle is sawn by its size."""
    boards = [board for board in plan.mould.boards.boards if board.name == "base board"]
    pieces = [_piece(board) for board in boards]
    return stack_pages(plan, pieces, title=say("board.title"), note=say("board.note"))


def _piece(board: Board) -> Piece:
    return Piece(
        name=build_view.board_title(board),
        about=build_view.board_size(board),
        low_mm=board.outline_mm.min(axis=0),
        high_mm=board.outline_mm.max(axis=0),
        draw=lambda window, shift: _draw(window, board, shift),
    )


def _draw(window: Window, board: Board, shift) -> None:
    outlined(window, [board.outline_mm + shift], kind="visible")
    for mark in board.marks_mm:
        outlined(window, [mark + shift], kind="thin", edge=GREY)
