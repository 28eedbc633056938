"""Sections through the mould at 1:1, lettered as the plan view marks them."""

import numpy as np

from castplan.mould.records import Section
from castplan.palette import AIR, INK, LOOSE, LOWER, PART, UPPER
from castplan.paper import paper
from castplan.paper.paper import Sheet
from castplan.paper.sheet_sketch import hatched
from castplan.paper.sheet_stack import Piece, alone, stack_pages
from castplan.paper.sheet_true import Drawing, Window, outlined
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import build as build_view

_BESIDE_MM = 26.0  # right of the box, for the names of parting and halves
_HALF_MM = 5.5  # of the name of a half, over and under that of the parting
_ABOVE_MM = 5.0  # over the box, for the label of an opening that leaves by its top


def section_pages(plan: Plan) -> list[Sheet]:
    """A drawing for each section of the plan."""
    pieces = [
        _piece(plan, letter, section) for letter, section in build_view.lettered_sections(plan)
    ]
    kind = "_open" if plan.split.is_open else ""
    note, side = f"section.note{kind}", f"section.side{kind}"
    if plan.split.is_cut:
        note, side = "cut_sheet.section_note", "cut_sheet.section_side"
    return stack_pages(plan, pieces, title=say("section.title"), note=say(note), side=say(side))


def section_drawings(plan: Plan) -> list[Drawing]:
    """The same one by one, for where there is room."""
    return [
        alone(_piece(plan, letter, section))
        for letter, section in build_view.lettered_sections(plan)
    ]


def _piece(plan: Plan, letter: str, section: Section) -> Piece:
    names = {0.0: say("cut.line" if plan.split.is_cut else "section.split")}
    if plan.split.is_open:
        names = {0.0: say("section.back")}
    elif len(plan.mould.block.pour_order) > 1:
        sides = (1.0, -1.0) if plan.mould.block.pour_order[0] == "upper" else (-1.0, 1.0)
        names |= dict(zip(sides, (say("section.first"), say("section.second")), strict=True))
    return Piece(
        name=say("section.name", letter=letter),
        about=build_view.section_place(plan, section),
        low_mm=np.array(section.low_corner_mm),
        high_mm=np.add(section.high_corner_mm, (_BESIDE_MM, _ABOVE_MM)),
        draw=lambda window, shift: _draw(window, section, shift, names=names),
    )


def _draw(window: Window, section: Section, shift, *, names: dict[float, str]) -> None:
    sheet = window.sheet
    loose = [ring for _, ring in section.loose_mm]
    cut = ((section.lower_mm, LOWER), (section.upper_mm, UPPER), (loose, LOOSE))
    for rings, colour in cut:
        if rings:
            path = paper.ring_path([window.to_sheet(ring + shift) for ring in rings])
            hatched(sheet, path, colour, clip=window.clip)
            sheet.area(path, edge=INK, kind="thin", clip=window.clip)
    # Under the part, where the parting runs in the solid and nobody sees it.
    line = window.to_sheet(section.parting_mm + shift)
    if len(line):
        sheet.line(line, kind="parting", clip=window.clip)
    outlined(window, [ring + shift for ring in section.part_mm], fill=PART, kind="visible")
    outlined(window, [ring + shift for ring in section.keys_mm], kind="thin")
    for label, ring in section.ports_mm:
        outlined(window, [ring + shift], edge=AIR, kind="thin")
        place = window.to_sheet(ring.mean(axis=0) + shift)
        if window.is_inside(place):
            style = {"colour": AIR, "is_round": True, "clear_mm": 6.0, "reach_mm": 30.0}
            window.marks.label(*place, label, **style)
    for label, ring in section.loose_mm:
        place = window.to_sheet(ring.mean(axis=0) + shift)
        if window.is_inside(place):
            style = {"colour": LOOSE, "is_round": False, "clear_mm": 6.0, "reach_mm": 30.0}
            window.marks.label(*place, label, **style)
    (x0, z0), (x1, z1) = section.low_corner_mm, section.high_corner_mm
    box = np.array([(x0, z0), (x1, z0), (x1, z1), (x0, z1)])
    outlined(window, [box + shift], kind="visible")
    # What a knife does not cut from the right side has no line there.
    x, y = line[-1] if len(line) else (np.inf, np.inf)
    if window.is_inside((x, y)) and window.is_inside((x + _BESIDE_MM, y)):
        sheet.line([(x + 1.0, y), (x + 4.0, y)], clip=window.clip)
        for side, name in names.items():
            sheet.text(x + 5.0 - 4.0 * abs(side), y + side * _HALF_MM, name, va="center")
