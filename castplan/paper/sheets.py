"""The plan on paper: one PDF with job sheet, steps, mix sheet and pour sketch at 1:1."""

from pathlib import Path

from castplan import palette
from castplan.palette import GREY
from castplan.paper import pdf
from castplan.paper.paper import FOOT_PT, Sheet
from castplan.paper.sheet_air import air_pages
from castplan.paper.sheet_boards import board_pages
from castplan.paper.sheet_build import build_pages
from castplan.paper.sheet_buy import buy_pages
from castplan.paper.sheet_card import card_pages
from castplan.paper.sheet_draft import draft_pages
from castplan.paper.sheet_job import job_pages
from castplan.paper.sheet_labels import label_pages
from castplan.paper.sheet_loose import loose_pages
from castplan.paper.sheet_mix import mix_pages
from castplan.paper.sheet_print import print_page
from castplan.paper.sheet_revision import revision_pages
from castplan.paper.sheet_section import section_pages
from castplan.paper.sheet_split import split_pages
from castplan.paper.sheet_steps import step_pages
from castplan.paper.sheet_template import template_pages
from castplan.paper.sheet_tiles import draw_foot_ruler
from castplan.paper.sheet_time import time_pages
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import plan as view


def build_sheets(plan: Plan) -> list[Sheet]:
    """All pages in the order of the work, with their feet.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    list of Sheet
    """
    sheets = [
        *revision_pages(plan),
        *job_pages(plan),
        *split_pages(plan),
        *draft_pages(plan),
        *air_pages(plan),
        *build_pages(plan),
        *step_pages(plan),
        *mix_pages(plan),
        *label_pages(plan),
        *card_pages(plan),
        *buy_pages(plan),
        *time_pages(plan),
    ]
    true = [
        *template_pages(plan),
        *loose_pages(plan),
        *section_pages(plan),
        *board_pages(plan),
    ]
    titles = [sheet.title for sheet in true]
    sheets = [*sheets, print_page(plan, titles, first=len(sheets) + 2), *true]
    return with_feet(sheets, version=plan.version)


def with_feet(sheets: list[Sheet], *, version: str) -> list[Sheet]:
    """Pages with basis letters, version and page numbers at their foot.

    Parameters
    ----------
    sheets : list of Sheet
    version : str
        Of castplan.
    """
    for number, sheet in enumerate(sheets, start=1):
        _foot(sheet, version, number, len(sheets))
    return sheets


def _foot(sheet: Sheet, version: str, number: int, count: int) -> None:
    y = sheet.bottom - 4
    start = sheet.left
    if sheet.floor == sheet.bottom:  # no large ruler stands there
        start = draw_foot_ruler(sheet, y)
    sheet.line([(start, y), (sheet.right, y)], colour=palette.HAIR)
    sheet.text(sheet.left, y - 4.4, view.basis_foot(), size_pt=FOOT_PT, colour=GREY)
    page = say("foot.page", page=number, pages=count)
    sheet.text(sheet.right, y - 8.3, page, size_pt=FOOT_PT, colour=GREY, ha="right")
    program = say("foot.castplan", version=version, note=view.sheet_first())
    sheet.text(sheet.left, y - 8.3, program, size_pt=FOOT_PT, colour=GREY)


def write_sheets(plan: Plan, path: str | Path) -> None:
    """Write the PDF; the same plan gives the same bytes.

    Parameters
    ----------
    plan : Plan
        `planning.job.paper` is ``A4`` or ``Letter``.
    path : str or pathlib.Path

    Raises
    ------
    ResourceError
        The file cannot be written.
    """
    pdf.save_pdf(build_sheets(plan), path, title=plan.part.name, version=plan.version)
