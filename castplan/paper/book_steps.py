"""The steps, each with its picture, its time, its caution, and a box to tick or a line to sign."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from castplan.bench.records import Step
from castplan.materials.cautions import load_cautions
from castplan.palette import HAIR, INK
from castplan.paper import paper
from castplan.paper.paper import Sheet
from castplan.paper.sheet_marks import page_head, warning_sign
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import plan as view
from castplan.words import schedule as schedule_view

_NUMBER_MM = 15.0  # tick and number
# Room for a picture, with what keeps it off the text: smaller where that saves a page.
_PICTURES_MM = (
    (46.0, 31.0),
    (42.0, 28.0),
    (38.0, 25.0),
    (34.0, 22.0),
    (31.0, 20.0),
    (26.0, 17.0),
    (22.0, 14.0),
)
_OFF_MM = 3.0  # of it, that
_BETWEEN_MM = 1.0
_UNDER_MM = 1.2  # a line that reaches so little beside something has room under it
_TIME_MM = 29.5
_GAP_MM = 1.8
_HOLD_MM = 7.0  # height of the signing line under a hold point
_SIGN_MM = 6.0
_NUMBER_PT = 14.0
_LEAST_MM = 7.0


def steps_pages(
    plan: Plan,
    pictures: Mapping[int, Sequence[np.ndarray]],
    see: Callable[[int], Mapping[int, str]],
    *,
    at_most: int,
) -> list[Sheet]:
    """The steps sheet by sheet, as full as each other.

    Parameters
    ----------
    plan : Plan
    pictures : mapping of step number to a sequence of (n_y, n_x, 3) uint8 arrays
        A step without any takes the width of the page.
    see : callable
        Of a number of sheets, for each step the pages behind them that it needs, in words.
    at_most : int
        Sheets that pictures are made smaller for.
    """

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("book.steps"))
        return sheet, page_head(sheet, plan.part.name) - 3

    sheet, top = new_sheet()
    laid = []
    for picture_mm in _PICTURES_MM:
        blocks = _list_blocks(plan, pictures, see(0), (sheet.room_mm, *picture_mm))
        laid.append((blocks, _share_out(blocks, top - sheet.bottom)))
        if len(laid[-1][1]) - 1 <= at_most:
            break
    # The largest pictures that take as few sheets.
    blocks, starts = min(laid, key=lambda each: len(each[1]))
    seen, sheets = see(len(starts) - 1), []
    for first, end in pairwise(starts):
        sheet, y = new_sheet()
        sheets.append(sheet)
        for block in blocks[first:end]:
            y = block.draw(sheet, y, seen[block.step.number])
    return sheets


def _share_out(blocks, room_mm: float) -> list[int]:
    """First block of each sheet, and the end: as few sheets as they take, as full as each other."""
    fewest = _fill(blocks, room_mm)
    for least_mm in np.arange(0.5 * room_mm, room_mm, 2.0):
        starts = _fill(blocks, float(least_mm))
        if len(starts) == len(fewest):
            return starts
    return fewest


def _fill(blocks, room_mm: float) -> list[int]:
    starts, left_mm = [0], room_mm
    for k, block in enumerate(blocks):
        if block.high_mm + _GAP_MM > left_mm and k > starts[-1]:
            starts.append(k)
            left_mm = room_mm
        left_mm -= block.high_mm + _GAP_MM
    return [*starts, len(blocks)]


def _list_blocks(plan: Plan, pictures, seen, size_mm):
    told: dict[str, int] = {}
    blocks = []
    for step in plan.bench.schedule.steps:
        new, again = _cautions(step, told)
        note = say("book.caution_again", n=len(again), steps=", ".join(map(str, again)))
        beside = _Beside(
            schedule_view.step_times(step), note if again else "", bool(seen[step.number])
        )
        blocks.append(_Block(step, pictures.get(step.number, ()), new, beside, size_mm))
    return blocks


def _cautions(step: Step, told: dict[str, int]) -> tuple[list[str], list[int]]:
    """Each caution in short where it comes up first; of the others the steps where they stand."""
    known = load_cautions()
    new = [key for key in step.cautions if key not in told]
    again = sorted({told[key] for key in step.cautions if key in told})
    told |= dict.fromkeys(new, step.number)
    return [view.caution_short(known[key]) for key in new], again


@dataclass(frozen=True)
class _Beside:
    """What stands at the right of a step: its times, an earlier caution, pages to look at."""

    times: list[str]
    again: str
    has_pages: bool

    @property
    def high_mm(self) -> float:
        n_lines = bool(self.again) + self.has_pages
        times_mm = len(self.times) * paper.leading_mm(paper.WEIGHT_PT)
        return times_mm + 0.6 + n_lines * paper.leading_mm()

    def draw(self, sheet: Sheet, top: float, pages: str) -> None:
        """Under one another at the right margin."""
        for k, time in enumerate(self.times):
            y = top - 5.3 - k * paper.leading_mm(paper.WEIGHT_PT)
            sheet.text(sheet.right - 1.5, y, time, size_pt=paper.WEIGHT_PT, ha="right")
        y = top - 4.4 - len(self.times) * paper.leading_mm(paper.WEIGHT_PT)
        if self.again:
            sheet.text(sheet.right - 1.5, y, self.again, ha="right")
            left_mm = paper.text_width_mm(self.again) + 1.5 + _SIGN_MM
            warning_sign(sheet, sheet.right - left_mm + 2.3, y + 1.2)
            y -= paper.leading_mm()
        sheet.text(sheet.right - 1.5, y, pages, ha="right", is_bold=True)


class _Block:
    """A step laid out: picture, text and times side by side, what can hurt below them.

    Parameters
    ----------
    step : Step
    pictures : sequence of (n_y, n_x, 3) uint8 arrays
    cautions : list of str
    beside : _Beside
    size_mm : (float, float, float)
        Width of the page; width and height that a picture may take.
    """

    def __init__(self, step: Step, pictures, cautions, beside: _Beside, size_mm) -> None:
        self.step, self._beside, self._pictures = step, beside, pictures
        room_mm, wide_mm, most_mm = size_mm
        room_mm -= _NUMBER_MM + 2.0 * step.is_hold
        high = [pixels.shape[0] / pixels.shape[1] for pixels in pictures]
        self._tall_mm = [min(most_mm, (wide_mm - _OFF_MM) * each) for each in high]
        widths = [tall / each for tall, each in zip(self._tall_mm, high, strict=True)]
        self._wide_mm = max(widths, default=0.0) + _OFF_MM
        pictures_mm = sum(self._tall_mm) + _BETWEEN_MM * len(pictures)
        self._text = self._flowed(room_mm, pictures_mm)
        self._warned = [paper.wrap(caution, room_mm=room_mm - _SIGN_MM) for caution in cautions]
        text_mm = len(self._text) * paper.leading_mm()
        self._told_mm = max(text_mm, beside.high_mm, pictures_mm, _LEAST_MM)
        warned_mm = sum(len(lines) * paper.leading_mm() + 0.6 for lines in self._warned)
        self.high_mm = self._told_mm + warned_mm + _HOLD_MM * step.is_hold

    def _flowed(self, room_mm, pictures_mm):
        """Indent and words of each line: round the pictures at the left, the times at the right."""
        lines, rest = [], str(self.step.text)
        while rest:
            at_mm = len(lines) * paper.leading_mm() + _UNDER_MM
            indent = self._wide_mm if at_mm < pictures_mm else 0.0
            right = _TIME_MM + 2.0 if at_mm < self._beside.high_mm else 0.0
            line = paper.wrap(rest, room_mm=room_mm - indent - right)[0]
            lines.append((indent, line))
            rest = rest[len(line) :].lstrip()
        return lines

    def draw(self, sheet: Sheet, top: float, pages: str) -> float:
        """Put it on a sheet; returns the y below it."""
        step, left, low = self.step, sheet.left, top - self.high_mm
        if step.is_hold:  # a hold point stands in a frame of its own and is signed, not ticked
            sheet.box(left, low - 0.6, sheet.right, top + 0.6, edge=INK, kind="visible")
            sheet.box(left, low - 0.6, left + 2.2, top + 0.6, fill=INK)
        else:
            sheet.box(left + 0.5, top - 5.5, left + 5.0, top - 1.0, edge=INK, kind="visible")
        style = {"size_pt": _NUMBER_PT, "is_bold": True}
        sheet.text(left + 13.0, top - 5.3, str(step.number), ha="right", **style)
        self._beside.draw(sheet, top, pages)
        left += _NUMBER_MM
        y = top
        for pixels, tall_mm in zip(self._pictures, self._tall_mm, strict=True):
            y -= tall_mm
            sheet.picture(left, y, pixels, room_mm=(self._wide_mm - _OFF_MM, tall_mm))
            y -= _BETWEEN_MM
        for k, (indent, line) in enumerate(self._text):
            sheet.text(left + indent, _baseline(top, k), line)
        y = top - self._told_mm
        for lines in self._warned:
            y -= 0.6
            warning_sign(sheet, left + 2.3, y - 2.7)
            for k, line in enumerate(lines):
                sheet.text(left + _SIGN_MM, _baseline(y, k), line)
            y -= len(lines) * paper.leading_mm()
        if step.is_hold:
            _signing_line(sheet, left, low + 1.6)
        y = low - _GAP_MM / 2
        sheet.line([(sheet.left, y), (sheet.right, y)], colour=HAIR)
        return y - _GAP_MM / 2


def _baseline(top: float, line: int) -> float:
    return top - (line + 1) * paper.leading_mm() + 0.28 * paper.TEXT_PT * paper.MM_PER_PT


def _signing_line(sheet: Sheet, x: float, y: float) -> None:
    text = say("book.hold")
    sheet.text(x, y, text, is_bold=True)
    x += paper.text_width_mm(text, is_bold=True) + 4
    for label, length in ((say("steps.initials"), 18.0), (say("steps.date"), 18.0)):
        sheet.text(x, y, label)
        x += paper.text_width_mm(label) + 1.5
        sheet.line([(x, y - 0.8), (x + length, y - 0.8)], colour=INK)
        x += length + 3
