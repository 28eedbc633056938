"""The details on paper: reasons, other ways, maps, tables and sources, for the desk."""

from pathlib import Path

from castplan.paper import pdf
from castplan.paper.feet import with_feet
from castplan.paper.paper import Sheet
from castplan.paper.sheet_air import air_pages
from castplan.paper.sheet_boards import board_pages
from castplan.paper.sheet_build import build_pages
from castplan.paper.sheet_buy import buy_pages
from castplan.paper.sheet_cautions import caution_pages
from castplan.paper.sheet_cut import cut_tables
from castplan.paper.sheet_draft import draft_pages
from castplan.paper.sheet_job import job_pages
from castplan.paper.sheet_print import print_page
from castplan.paper.sheet_revision import revision_pages
from castplan.paper.sheet_section import section_pages
from castplan.paper.sheet_split import split_pages
from castplan.paper.sheet_template import template_pages
from castplan.paper.sheet_time import time_pages
from castplan.plan_record import Plan
from castplan.words.options import by_controls


@by_controls()
def build_sheets(plan: Plan) -> list[Sheet]:
    """All pages of the details, with their feet.

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
        *caution_pages(plan),
        *buy_pages(plan),
        *time_pages(plan),
    ]
    placed = cut_tables(plan) if plan.split.is_cut else template_pages(plan)
    true = [*placed, *section_pages(plan), *board_pages(plan)]
    titles = [sheet.title for sheet in true]
    sheets = [*sheets, print_page(plan, titles, first=len(sheets) + 2), *true]
    return with_feet(sheets, version=plan.version)


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
