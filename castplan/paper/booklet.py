"""The booklet that goes to the bench: in the order of the work, what nobody carries left out."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np

from castplan.paper import pdf
from castplan.paper.book_labels import labels_pages
from castplan.paper.book_mixes import mixes_pages
from castplan.paper.book_overview import add_contents, overview_page
from castplan.paper.book_ready import ready_pages
from castplan.paper.book_steps import steps_pages
from castplan.paper.feet import with_feet
from castplan.paper.paper import Sheet
from castplan.paper.sheet_line import strip_pages
from castplan.paper.sheet_template import true_drawings
from castplan.paper.sheet_true import stacked_sheets
from castplan.plan_record import Plan


def build_booklet(plan: Plan, pictures: Mapping[str | int, np.ndarray]) -> list[Sheet]:
    """All pages, with their feet.

    Parameters
    ----------
    plan : Plan
    pictures : mapping of str or int to (n_y, n_x, 3) uint8 array
        Of each step by its number, and ``"overview"``.
    """
    first = overview_page(plan, pictures.get("overview"))
    sheets = [
        first,
        *ready_pages(plan),
        *steps_pages(plan, pictures),
        *stacked_sheets(plan, true_drawings(plan)),
        *strip_pages(plan),
        *mixes_pages(plan),
        *labels_pages(plan),
    ]
    contents: dict[str, int] = {}
    for number, sheet in enumerate(sheets, start=1):
        contents.setdefault(sheet.title, number)
    add_contents(first, [(number, title) for title, number in contents.items()][1:])
    return with_feet(sheets, version=plan.version)


def write_booklet(plan: Plan, pictures, path: str | Path) -> None:
    """Write the PDF; the same plan gives the same bytes.

    Parameters
    ----------
    plan : Plan
    pictures : mapping
        As of `build_booklet`.
    path : str or pathlib.Path

    Raises
    ------
    ResourceError
        The file cannot be written.
    """
    pages = build_booklet(plan, pictures)
    pdf.save_pdf(pages, path, title=plan.part.name, version=plan.version)
