"""Plan views at 1:1 for every pour: box, part, keys, gate and vents, from above and mirrored.

The silicone's first pour is seen from above as the part lies in its bed; the
second, once all is turned over, is the same drawing mirrored. The resin's
pour is seen from above as the box stands, and from below, to lie on the other
face of the box. Line kinds follow ISO 128.
"""

from dataclasses import dataclass, replace

import numpy as np

from castplan.mould.records import Port
from castplan.palette import AIR, GREY, INK, TRAPPED
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_loose import with_pieces
from castplan.paper.sheet_marks import page_head
from castplan.paper.sheet_table import Column, draw_table
from castplan.paper.sheet_true import Drawing, Window, outlined, true_sheets
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import build as build_view
from castplan.words import mouths
from castplan.words import nest as nest_view

_EDGE_MM = 4.0  # round the box
_DATUM_MM = 8.0  # at its datum corner, for arrows and words
_CUTS_MM = 14.5  # round it, where sections are marked
_CROSS_MM = 4.0  # that a crosshair stands out of its hole
_ARROW_MM = 14.0
_NAME_MM = 5.0  # of an axis, over its arrow
_PART = "#f2efe9"


@dataclass(frozen=True, eq=False, kw_only=True)
class Hole:
    """A gate or vent; `way_mm` (k, 2) is the way of its channel, None for straight at the eye."""

    label: str
    place_mm: np.ndarray
    diameter_mm: float
    is_blocked: bool
    way_mm: np.ndarray | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Face:
    """One look at the box, in the view's own millimetres before it is mirrored."""

    title: str
    side: str
    note: str
    box_mm: np.ndarray
    datum_mm: np.ndarray
    outline: tuple[np.ndarray, ...]
    lines: tuple[np.ndarray, ...]
    is_covered: bool  # the part lies in silicone
    holes: tuple[Hole, ...]
    keys: tuple[tuple[str, np.ndarray], ...] = ()
    key_mm: float = 0.0
    cuts: tuple[tuple[str, int, float], ...] = ()  # letter, axis it runs along, where
    parts: tuple[tuple[str, np.ndarray], ...] = ()  # numbers of several parts in the box
    is_pour: bool = False  # measured from the corner of the pour, another one of the box
    is_mirrored: bool = False

    def flipped(self, points_mm) -> np.ndarray:
        """Points as the view shows them; the only place where a twin is mirrored."""
        points = np.asarray(points_mm, dtype=float)
        return points * (-1.0, 1.0) if self.is_mirrored else points


def template_pages(plan: Plan) -> list[Sheet]:
    """The box from above for silicone and for resin, with the places of all that is set in it."""
    pages = []
    if plan.split.is_open:
        return []  # no keys and no openings
    columns = (
        Column(say("column.number"), 14, True),
        Column(say("column.what"), 40),
        Column("x", 50),
        Column("y", 50),
        Column(say("column.across"), 32),
    )
    bed = bed_face(plan)
    rows = build_view.bed_rows(plan)
    pages += with_table(
        plan,
        bed,
        columns,
        rows,
        note=say("plan_view.bed_table"),
        title=say("plan_view.bed_table_title"),
    )
    pages += pour_with_openings(plan)
    return pages + true_sheets(plan, face_drawing(_twin(pour_face(plan), "under")))[0]


def pour_with_openings(plan: Plan) -> list[Sheet]:
    """The box as it stands for the resin, with the places of gate and vents."""
    note, title = say("plan_view.pour_table"), say("plan_view.table_title")
    return with_table(plan, pour_face(plan), *openings_table(plan), note=note, title=title)


def openings_table(plan: Plan) -> tuple[tuple[Column, ...], list]:
    """Columns and rows of gate and vents: where each opens, how wide and how deep it is."""
    columns = (
        Column(say("column.number"), 12, True),
        Column(say("column.what"), 38),
        Column("x", 48),
        Column("y", 48),
        Column(say("column.bore"), 20),
        Column(say("column.deep"), 20),
    )
    pitch_mm = plan.sampling.pitch_mm
    rows = [air_view.port_row(plan, *way, pitch_mm=pitch_mm) for way in air_view.port_ways(plan)]
    return columns, rows


def true_drawings(plan: Plan) -> list[Drawing]:
    """The looks at 1:1 alone, in the order of the work."""
    bed = replace(bed_face(plan), cuts=())  # the sections stand in the details
    if plan.split.is_open:
        return [face_drawing(bed)]
    bed = replace(with_pieces(plan, bed), keys=tuple(("", place) for _, place in bed.keys))
    pour = pour_face(plan)
    turned = _twin(bed, "second")
    bed = replace(bed, note=f"{bed.note} {mouths.bed_sentence(plan)}".rstrip())
    pour = replace(pour, note=f"{pour.note} {mouths.pour_sentence(plan)}".rstrip())
    if plan.mould.block.bedding.kind == "flat-back":
        turned = replace(turned, note=say("plan_view.second_note_flat"))
    return [face_drawing(face) for face in (bed, turned, pour)]


def open_pour_drawings(plan: Plan) -> list[Drawing]:
    """An open mould as it lies for the resin, its back up; none of other moulds."""
    if not plan.split.is_open:
        return []
    face = replace(pour_face(plan), note=say("plan_view.pour_note_open"), is_covered=False)
    return [face_drawing(face)]


def _twin(face: Face, name: str) -> Face:
    """The same face seen from its other side."""
    return replace(
        face,
        title=say(f"plan_view.{name}_title"),
        side=say(f"plan_view.{name}_side"),
        note=say(f"plan_view.{name}_note"),
        is_mirrored=True,
    )


def _sketch(plan: Plan, name: str):
    sketch = next((s for s in plan.sketches if s.name == name), None)
    return (sketch.outline, sketch.lines) if sketch is not None else ((), ())


def bed_face(plan: Plan) -> Face:
    """The box from above, upper half up, as it stands for the first silicone pour."""
    outline, lines = _sketch(plan, "draw")
    box, keys = plan.split.box, plan.mould.keys
    pour = "open" if plan.split.is_open else "first"
    is_flat = pour == "first" and plan.mould.block.bedding.kind == "flat-back"
    holes = tuple(
        Hole(
            label=port.label,
            place_mm=path_mm[0, :2],
            diameter_mm=port.diameter_mm,
            is_blocked=port.is_blocked,
            way_mm=path_mm[:, :2],
        )
        for port, path_mm in air_view.port_ways(plan)
    )
    return Face(
        title=say(f"plan_view.{pour}_title"),
        side=say(f"plan_view.{pour}_side"),
        note=say(f"plan_view.{'first_note_flat' if is_flat else f'{pour}_note'}"),
        box_mm=box.outline_mm if len(box.outline_mm) else _corners(plan),
        datum_mm=np.array(plan.mould.block.low_mm[:2]),
        outline=outline,
        lines=lines,
        is_covered=False,
        holes=holes,
        keys=tuple((f"K{n}", place[:2]) for n, place in enumerate(keys.places_mm, start=1)),
        key_mm=keys.diameter_mm,
        parts=tuple((number, place[:2]) for number, place in nest_view.part_marks(plan)),
        cuts=tuple(
            (letter, 0 if section.name == "front" else 1, section.at_mm)
            for letter, section in build_view.lettered_sections(plan)
        ),
    )


def _corners(plan: Plan) -> np.ndarray:
    (x0, y0, _), (x1, y1, _) = plan.mould.block.low_mm, plan.mould.block.high_mm
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def pour_face(plan: Plan) -> Face:
    """The box from above as it stands for the resin."""
    outline, lines = _sketch(plan, "pour")
    is_tilted = plan.air.attitude.chosen.is_tilted
    return Face(
        title=say("plan_view.pour_title"),
        side=say("plan_view.pour_side"),
        note=say("plan_view.pour_note_tilted" if is_tilted else "plan_view.pour_note"),
        box_mm=plan.mould.block.box_view_mm,
        datum_mm=np.array(plan.mould.block.datum_mm),
        outline=outline,
        lines=lines,
        is_covered=True,
        holes=tuple(_mouth(plan, *way) for way in air_view.port_ways(plan)),
        is_pour=True,
        parts=tuple(
            (number, air_view.as_it_rests(plan, place[None])[0, :2])
            for number, place in nest_view.part_marks(plan)
        ),
    )


def _mouth(plan: Plan, port: Port, path_mm) -> Hole:
    """Where a channel is opened from outside, and how it runs from there to the part."""
    way = air_view.as_it_rests(plan, path_mm)[::-1, :2]
    is_askew = not air_view.is_straight_up(plan, port)
    return Hole(
        label=port.label,
        place_mm=way[0],
        diameter_mm=port.diameter_mm,
        is_blocked=port.is_blocked and not is_askew,
        way_mm=way if is_askew else None,
    )


def face_drawing(face: Face) -> Drawing:
    """A face as a drawing at true size, with room for datum and cuts."""
    box = face.flipped(np.vstack([face.box_mm, face.datum_mm[None]]))
    low, high = box.min(axis=0), box.max(axis=0)
    near, far = (_CUTS_MM, _CUTS_MM) if face.cuts else (_DATUM_MM, _EDGE_MM)
    # A box lower than the arrow at its corner.
    arrow = float(face.flipped(face.datum_mm)[1]) + _ARROW_MM + _NAME_MM - far
    high = np.array([high[0], max(high[1], arrow)])
    left, right = (far, near) if face.is_mirrored else (near, far)
    return Drawing(
        title=face.title,
        side=face.side,
        note=face.note,
        low_mm=np.subtract(low, (left, near)),
        high_mm=np.add(high, (right, far)),
        draw=lambda window: FaceOn(window, face).draw(),
    )


class FaceOn:
    """A face on one window."""

    def __init__(self, window: Window, face: Face) -> None:
        self.window, self.face = window, face
        self.sheet, self.marks, self.clip = window.sheet, window.marks, window.clip

    def to_sheet(self, points_mm) -> np.ndarray:
        """Points of the face on the sheet."""
        return self.window.to_sheet(self.face.flipped(points_mm))

    def draw(self) -> None:
        """Part, box, keys, openings, and where sections are cut."""
        face, flipped = self.face, self.face.flipped
        outlined(
            self.window,
            [flipped(ring) for ring in face.outline],
            fill=_PART,
            kind="hidden" if face.is_covered else "visible",
        )
        for line in face.lines:
            # The twin of a look from above shows edges that lie on the far side.
            kind = "hidden" if face.is_covered or face.is_mirrored else "thin"
            self.sheet.line(self.to_sheet(line), kind=kind, colour=GREY, clip=self.clip)
        outlined(self.window, [flipped(face.box_mm)], kind="visible")
        holes = [(hole, self.to_sheet(hole.place_mm)) for hole in face.holes]
        keys = [(label, self.to_sheet(place)) for label, place in face.keys]
        for hole, place in holes:
            self._block(place, hole.diameter_mm / 2 + _CROSS_MM)
        for _, place in keys:
            self._block(place, face.key_mm / 2)
        self.window.keep_off(flipped(face.box_mm))
        self._datum()
        for letter, along, at_mm in face.cuts:
            self._cut(letter, along, at_mm)
        for number, place in face.parts:
            x, y = self.to_sheet(place)
            if self.window.is_inside((x, y)):
                style = {"colour": INK, "is_round": False, "fill": INK}
                self.marks.label(x, y, number, **style)
        for label, place in keys:
            self._key(label, place)
        for hole, place in holes:
            self._opening(hole, place)

    def _block(self, place, reach: float) -> None:
        self.marks.block(*(place - reach), *(place + reach))

    def _key(self, label: str, place) -> None:
        radius = self.face.key_mm / 2
        self.sheet.circle(*place, radius, edge=INK, kind="thin", clip=self.clip)
        for step in ((radius, 0.0), (0.0, radius)):
            self.sheet.line([place - step, place + step], clip=self.clip)
        if label and self.window.is_inside(place):
            clear = radius + 4.0
            self.marks.label(
                *place, label, colour=INK, is_round=False, clear_mm=clear, reach_mm=40.0
            )

    def _opening(self, hole: Hole, place) -> None:
        sheet, radius = self.sheet, hole.diameter_mm / 2
        colour = TRAPPED if hole.is_blocked else INK
        if hole.way_mm is not None:
            way = self.to_sheet(hole.way_mm)
            if np.hypot(*(way[-1] - place)) > radius:
                sheet.line(way, kind="air", colour=AIR, clip=self.clip)
        sheet.circle(*place, radius, edge=colour, kind="visible", clip=self.clip)
        reach = radius + _CROSS_MM
        for step in ((reach, 0.0), (0.0, reach)):
            sheet.line([place - step, place + step], colour=AIR, clip=self.clip)
        if hole.is_blocked:
            slant = radius * np.sqrt(0.5)
            sheet.line([place - slant, place + slant], colour=colour, clip=self.clip)
        if self.window.is_inside(place):
            blocked = say("plan_view.blocked", label=hole.label)
            text = blocked if hole.is_blocked else hole.label
            self.marks.label(
                *place, text, colour=AIR, is_round=True, clear_mm=radius + 4.5, reach_mm=60.0
            )

    def _cut(self, letter: str, along: int, at_mm: float) -> None:
        """Where a section is cut: a short wide stroke and its letter at either end (ISO 128-3)."""
        box = self.face.box_mm
        for end, out in ((box[:, along].min(), -1.0), (box[:, along].max(), 1.0)):
            stroke = np.full((2, 2), at_mm)
            stroke[:, along] = (end + 6.5 * out, end + 10.5 * out)
            points = self.to_sheet(stroke)
            self.sheet.line(points, kind="visible", clip=self.clip)
            outward = (points[1] - points[0]) / 4.0
            x, y = points[1] + 2.2 * outward
            if self.window.is_inside(points[1] + 3.8 * outward):
                self.sheet.text(x, y, letter, is_bold=True, ha="center", va="center")
            low, high = np.minimum(points[0], (x, y)) - 2.2, np.maximum(points[0], (x, y)) + 2.2
            self.marks.block(*low, *high)

    def _datum(self) -> None:
        sheet, face = self.sheet, self.face
        datum = self.to_sheet(face.datum_mm)
        if not self.window.is_inside(datum):
            return
        out = 1.0 if face.is_mirrored else -1.0  # the way out of the box, sideways
        along = np.array([-out, 0.0])
        up = np.array([0.0, 1.0])
        wedge = np.array([datum, datum + 3.2 * along, datum + 3.2 * up])
        if face.is_pour:  # a square, left white
            wedge = datum + 3.2 * np.array([0 * up, along, along + up, up])
        fill = "white" if face.is_pour else INK
        sheet.area(paper.ring_path([wedge]), fill=fill, edge=INK, clip=self.clip)
        for way, away, name in ((along, -up, "x"), (up, -along, "y")):
            start = datum + 4.0 * away
            tip = start + _ARROW_MM * way
            sheet.line([start, tip], clip=self.clip)
            side = np.array([-way[1], way[0]])
            head = np.array([tip, tip - 2.4 * way + 0.8 * side, tip - 2.4 * way - 0.8 * side])
            sheet.area(paper.ring_path([head]), fill=INK, clip=self.clip)
            x, y = tip + 2.5 * way
            sheet.text(x, y, name, is_bold=True, ha="center", va="center")
            self.marks.block(*(np.minimum(start, tip) - 3), *(np.maximum(start, tip) + 5))
        text = say("plan_view.pour_corner" if face.is_pour else "plan_view.datum")
        x, y = datum - (out * (_ARROW_MM + 6.0), 4.0)
        sheet.text(
            x, y, text, is_bold=True, ha="right" if face.is_mirrored else "left", va="center"
        )
        ends = sorted((x, x - out * paper.text_width_mm(text, is_bold=True)))
        self.marks.block(ends[0], y - 2, ends[1], y + 2)


def with_table(plan: Plan, face: Face, columns, rows, *, note: str, title: str) -> list[Sheet]:
    """A face with its coordinates, under the drawing where that leaves room."""
    sheets, y = true_sheets(plan, face_drawing(face))
    if not rows:
        return sheets
    first = [(sheets[0], y)] if y is not None else []

    def new_sheet():
        if first:
            return first.pop()
        sheet = Sheet(plan.job.paper, title=title)
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    flow.need(40)
    flow.lines(flow.sheet.left, paper.wrap(note, room_mm=flow.sheet.room_mm))
    flow.y -= 2
    draw_table(flow, columns, rows)
    return sheets + [sheet for sheet in flow.sheets if sheet is not sheets[0]]
