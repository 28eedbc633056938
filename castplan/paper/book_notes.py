"""What can go wrong and has no room on the first page: it goes where other pages have some."""

from collections.abc import Sequence
from dataclasses import dataclass

from castplan.palette import HAIR
from castplan.paper import paper
from castplan.paper.paper import Sheet
from castplan.paper.sheet_marks import card_head, risk_sign
from castplan.texts import say

_INDENT_MM = 8.0
_HEAD_MM = 9.5
_APART_MM = 10.0  # under the last line of a sheet, which may stand in a table


@dataclass(frozen=True)
class Note:
    """A finding laid out as wide as the page: what happens, and what to do.

    Parameters
    ----------
    severity, message, do : str
    room_mm : float
        Width of the page.
    is_first : bool
        The first carries the heading.
    """

    severity: str
    message: str
    do: str
    room_mm: float
    is_first: bool

    @property
    def _lines(self) -> list[str]:
        return paper.wrap(f"{self.message} {self.do}", room_mm=self.room_mm - _INDENT_MM)

    @property
    def high_mm(self) -> float:
        """Height that it takes."""
        return self.is_first * _HEAD_MM + max(len(self._lines) * paper.leading_mm(), 6.5)

    def draw(self, sheet: Sheet, *, top_mm: float) -> float:
        """Put it on a sheet; returns the y below it."""
        y = card_head(sheet, top_mm, say("book.notes")) if self.is_first else top_mm
        if self.severity != "note":
            risk_sign(sheet, y, is_stop=self.severity == "stop")
        for line in self._lines:
            y -= paper.leading_mm()
            sheet.text(sheet.left + _INDENT_MM, y + 1.1, line)
        y = top_mm - self.high_mm - 0.9
        sheet.line([(sheet.left, y), (sheet.right, y)], colour=HAIR)
        return y - 0.9


def fill_notes(sheets: Sequence[Sheet], rest: Sequence[tuple[str, str, str]]) -> list[Sheet]:
    """Put what is left of what can go wrong into the free room at the foot of some sheets.

    Parameters
    ----------
    sheets : sequence of Sheet
        In the order in which they are filled.
    rest : sequence of (severity, message, do)

    Returns
    -------
    list of Sheet
        For each that found room, the sheet that it stands on.
    """
    left, told = list(rest), []
    for sheet in sheets:
        y = min(text.y for text in sheet.texts) - _APART_MM
        for each in tuple(left):
            is_first = not told or told[-1] is not sheet
            note = Note(*each, room_mm=sheet.room_mm, is_first=is_first)
            if y - note.high_mm < max(sheet.bottom, sheet.floor):
                continue
            y = note.draw(sheet, top_mm=y)
            left.remove(each)
            told.append(sheet)
    return told
