"""The booklet that goes to the bench: in the order of the work, what nobody carries left out."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from castplan.paper import pdf
from castplan.paper.book_labels import labels_pages
from castplan.paper.book_mixes import mixes_pages
from castplan.paper.book_notes import fill_notes
from castplan.paper.book_overview import add_contents, add_rest, overview_page
from castplan.paper.book_ready import ready_pages
from castplan.paper.book_steps import steps_pages
from castplan.paper.feet import with_feet
from castplan.paper.paper import Sheet
from castplan.paper.sheet_cut import cut_drawings, knife_pages
from castplan.paper.sheet_line import strip_pages
from castplan.paper.sheet_loose import loose_drawings
from castplan.paper.sheet_section import section_drawings
from castplan.paper.sheet_template import open_pour_drawings, true_drawings
from castplan.paper.sheet_true import stacked_sheets
from castplan.plan_record import Plan
from castplan.step_pictures import draw_picture, list_names, name_steps
from castplan.texts import say
from castplan.words import booklet as book_view
from castplan.words import build as build_view
from castplan.words import formats
from castplan.words.faces import bare_sides
from castplan.words.options import by_controls

MOST_PAGES = 10  # that a shop carries to the bench
# Over each drawing on a shared page; and what is worth a page of its own.
_NAMES_MM, _FULL_MM = 14.0, 120.0


def build_booklet(plan: Plan) -> list[Sheet]:
    """All pages, with their feet.

    Parameters
    ----------
    plan : Plan
    """
    drawn = {name: draw_picture(plan, name).pixels for name in list_names(plan)}
    pictures = {
        step.number: [drawn[name] for name in names]
        for step, names in zip(plan.bench.schedule.steps, name_steps(plan), strict=True)
    }
    return bind_booklet(plan, drawn["overview"], pictures)


@by_controls()
@bare_sides()
def bind_booklet(
    plan: Plan, overview: np.ndarray, pictures: Mapping[int, Sequence[np.ndarray]]
) -> list[Sheet]:
    """The pages with pictures at hand.

    Parameters
    ----------
    plan : Plan
    overview : (n_y, n_x, 3) uint8 array
        The opened mould.
    pictures : mapping of step number to a sequence of (n_y, n_x, 3) uint8 arrays
    """
    first, rest = overview_page(plan, overview)
    ready = ready_pages(plan)
    mixes = mixes_pages(plan)
    for has_section in (True, False):  # on a page more, where smaller pictures leave one
        after = [*_true_pages(plan, has_section=has_section), *mixes, *labels_pages(plan)]
        steps = steps_pages(
            plan,
            pictures,
            partial(_seen, plan, after, n_ready=len(ready)),
            at_most=MOST_PAGES - 1 - len(ready) - len(after),
        )
        sheets = [first, *ready, *steps, *after]
        if len(sheets) <= MOST_PAGES:
            break
    told = fill_notes([steps[-1], ready[-1], *mixes, *steps[:-1]], rest.lines)
    pages = [number for number, sheet in enumerate(sheets, start=1) if sheet in told]
    add_rest(first, rest, n_told=len(told), pages=pages)
    add_contents(first, _contents(sheets))
    return with_feet(sheets, version=plan.version)


def _true_pages(plan: Plan, *, has_section: bool) -> list[Sheet]:
    """What is laid on original, clay, box or block, at 1:1; sections where there is room.

    Parameters
    ----------
    plan : Plan
    has_section : bool
        Of a mould in halves one section stands there in any case.
    """
    if plan.split.is_cut:
        return [*stacked_sheets(plan, cut_drawings(plan)), *knife_pages(plan)]
    drawings = [*true_drawings(plan), *loose_drawings(plan)]
    # Without letters: what they stand at is drawn in the details.
    cuts = [
        replace(cut, title=say("book.section"), note=formats.capital(cut.note))
        for cut in section_drawings(plan)
    ]
    # Along a loose piece first, then along a gate.
    sections = [section for _, section in build_view.lettered_sections(plan)]
    cuts = [cuts[k] for k in sorted(range(len(cuts)), key=lambda k: _rank(sections[k]))]
    high_mm = sum(float(cut.high_mm[1] - cut.low_mm[1]) + _NAMES_MM for cut in cuts)
    if has_section and not plan.split.is_open and high_mm > _FULL_MM:
        drawings, cuts = [*drawings, *cuts[:1]], cuts[1:]
    faces = stacked_sheets(plan, drawings, fill=[*open_pour_drawings(plan), *cuts])
    return [*faces, *strip_pages(plan)]


def _rank(section):
    """Sections that show more of a loose piece come first, then those with more of a gate."""
    return -_shown_mm(section.loose_mm), -_shown_mm(section.ports_mm)


def _shown_mm(labelled) -> float:
    """How long the longest of some rings is."""
    return max((float(np.ptp(ring, axis=0).max()) for _, ring in labelled), default=0.0)


def _seen(plan: Plan, sheets: list[Sheet], n_steps: int, *, n_ready: int) -> dict[int, str]:
    """For each step the pages among `sheets` that it needs, in words."""
    found, n_before = {}, 1 + n_ready + n_steps
    for step, titles in book_view.looked_at(plan):
        pages = {
            number
            for title in titles
            for number, sheet in enumerate(sheets, start=n_before + 1)
            if sheet.title == title or any(text.text == title for text in sheet.texts)
        }
        listed = ", ".join(map(str, sorted(pages)))
        found[step.number] = say("book.see_page", n=len(pages), pages=listed) if pages else ""
    return found


def _contents(sheets: list[Sheet]) -> list[tuple[int, str]]:
    """The page on which each title stands first, of a look that shares its page too."""
    pour = say("plan_view.pour_title")
    looks = {say("plan_view.second_title"): say("book.second_pour"), pour: pour}
    found: dict[str, int] = {}
    for number, sheet in enumerate(sheets[1:], start=2):
        texts = {text.text for text in sheet.texts}
        for title in (sheet.title, *(looks[text] for text in looks if text in texts)):
            found.setdefault(title, number)
    return [(number, title) for title, number in found.items()]


def write_booklet(plan: Plan, path: str | Path) -> None:
    """Write the PDF; the same plan gives the same bytes.

    Parameters
    ----------
    plan : Plan
    path : str or pathlib.Path

    Raises
    ------
    ResourceError
        The file cannot be written.
    """
    pages = build_booklet(plan)
    pdf.save_pdf(pages, path, title=plan.part.name, version=plan.version)
