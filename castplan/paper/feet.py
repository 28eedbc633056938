"""What stands at the foot of every page."""

from castplan import palette
from castplan.palette import GREY
from castplan.paper.paper import FOOT_PT, Sheet
from castplan.paper.sheet_tiles import draw_foot_ruler
from castplan.texts import say
from castplan.words import plan as view


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
