"""Workshop sketches for the job sheet: three views, their key, and the split plot.

Upper silicone, lower silicone, part and trapped silicone each have a colour
and a hatch of their own; openings are dotted arrows with round numbers,
pockets have square ones.
"""

import numpy as np

from castplan.mould.records import Port
from castplan.palette import AIR, GREY, INK, LOWER, PART, TRAPPED, UPPER
from castplan.paper import paper
from castplan.paper.paper import Sheet
from castplan.paper.sheet_marks import Marks, baseline_mm
from castplan.paper.sheet_nest import mark_parts
from castplan.part.records import Sketch
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import formats

# Which axes of the draw frame a view shows, to the right and up.
VIEW_AXES = {"front": (0, 2), "side": (1, 2), "draw": (0, 1)}
_HATCHES = {  # angle [degrees], pitch [mm]
    UPPER: ((135.0, 2.6),),
    LOWER: ((45.0, 1.6),),
    TRAPPED: ((20.0, 1.1), (110.0, 1.1)),
}
_KEY_LINES = {"air": AIR, "parting": INK, "visible": LOWER}  # kinds in the key
_MAX_NUMBERED = 10  # more openings than this are numbered on the pour sketch only
_BESIDE_MM = 11.0  # a pocket smaller than this has its number beside it
_LABEL_MM = 6.0  # room round a view for labels


def tint(colour: str, *, share: float) -> str:
    """`colour` mixed with white; `share` is what is left of it."""
    parts = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    return "#" + "".join(f"{round(255 - share * (255 - part)):02x}" for part in parts)


def hatched(sheet: Sheet, path, colour: str, *, clip=None) -> None:
    """Fill a shape with the tint and the hatch of its class."""
    patch = sheet.area(path, fill=tint(colour, share=0.22), clip=clip)
    for angle_deg, pitch_mm in _HATCHES[colour]:
        sheet.hatch(patch, angle_deg=angle_deg, pitch_mm=pitch_mm, colour=colour, clip=clip)


class View:
    """One view of the box at a place on the sheet.

    Parameters
    ----------
    plan : Plan
    sketch : Sketch
    x, y : float
        Lower left corner of the box on the sheet.
    scale : float
    """

    def __init__(self, plan: Plan, sketch: Sketch, x: float, y: float, scale: float) -> None:
        self.plan, self.sketch, self.scale = plan, sketch, scale
        self.axes = VIEW_AXES[sketch.name]
        self.low = np.array([plan.mould.block.low_mm[k] for k in self.axes])
        self.high = np.array([plan.mould.block.high_mm[k] for k in self.axes])
        self.corner = np.array([x, y])
        self.far = self.to_sheet(self.high)

    def to_sheet(self, points_mm) -> np.ndarray:
        """View coordinates to sheet coordinates."""
        return self.corner + (np.asarray(points_mm) - self.low) * self.scale

    def draw(self, sheet: Sheet) -> None:
        """Draw silicone, part, pockets, split and openings."""
        self._silicone(sheet)
        if self.sketch.outline:
            outline = paper.ring_path([self.to_sheet(ring) for ring in self.sketch.outline])
            sheet.area(outline, fill=PART, edge=INK, kind="visible")
        for line in self.sketch.lines:
            sheet.line(self.to_sheet(line), kind="thin", colour=GREY)
        pockets = self._pockets()
        for rings in pockets.values():
            path = paper.ring_path(rings)
            hatched(sheet, path, TRAPPED)
            sheet.area(path, edge=TRAPPED, kind="thin")
        sheet.box(*self.corner, *self.far, edge=INK, kind="visible")
        if 2 in self.axes:
            self._split(sheet)
        marks = Marks(sheet, self.corner - _LABEL_MM, self.far + _LABEL_MM)
        for number, rings in pockets.items():
            largest = max(rings, key=lambda ring: float(np.ptp(ring, axis=0).sum()))
            x, y = (largest.min(axis=0) + largest.max(axis=0)) / 2
            smaller_mm = float(np.ptp(largest, axis=0).min())
            # A number inside a small pocket would hide it.
            clear_mm = 0.0 if smaller_mm > _BESIDE_MM else smaller_mm / 2 + 4.0
            marks.label(
                x, y, str(number), colour=TRAPPED, is_round=False, clear_mm=clear_mm, reach_mm=12
            )
        if 2 not in self.axes:
            mark_parts(marks, self.plan, lambda place_mm: self.to_sheet(place_mm[:2]))
        for port, path_mm in air_view.port_ways(self.plan):
            self._opening(sheet, marks, port, path_mm)

    def _pockets(self) -> dict[int, list[np.ndarray]]:
        """Rings on the sheet by pocket number."""
        rings: dict[int, list[np.ndarray]] = {}
        for number, ring in self.sketch.pockets:
            rings.setdefault(number, []).append(self.to_sheet(ring))
        return rings

    def _wall_split(self) -> np.ndarray:
        """The split where the wall towards the eye cuts it, on the sheet, (k, 2)."""
        surface = self.plan.split.line.surface
        if self.axes[0] == 0:
            heights_mm = surface.heights_mm[0]
            across_mm = surface.x0_mm + surface.step_x_mm * np.arange(len(heights_mm))
        else:
            heights_mm = surface.heights_mm[:, -1]
            across_mm = surface.y0_mm + surface.step_y_mm * np.arange(len(heights_mm))
        inside = np.clip(np.column_stack([across_mm, heights_mm]), self.low, self.high)
        return self.to_sheet(inside)

    def _silicone(self, sheet: Sheet) -> None:
        (x0, y0), (x1, y1) = self.corner, self.far
        split = self._wall_split() if 2 in self.axes else np.array([(x0, y0), (x1, y0)])
        lower = UPPER if self.plan.split.is_cut else LOWER
        for y, colour in ((y0, lower), (y1, UPPER)):
            shape = np.vstack([split, (x1, y), (x0, y)])
            if np.ptp(shape[:, 1]) > 0:
                hatched(sheet, paper.ring_path([shape]), colour)

    def _split(self, sheet: Sheet) -> None:
        """The split on the wall towards the eye, and where it runs round the part."""
        wall = self._wall_split()
        if self.plan.split.line.kind == "level":
            wall = wall[[0, -1]] + [(-3.0, 0.0), (3.0, 0.0)]
        else:
            for rim in self.plan.split.line.outlines:
                across_mm = rim.points_mm[:, self.axes[0]]
                ring = self.to_sheet(np.column_stack([across_mm, rim.line_mm]))
                sheet.line(np.vstack([ring, ring[:1]]), kind="visible", colour=LOWER)
        sheet.line(wall, kind="parting")

    def _opening(self, sheet: Sheet, marks: Marks, port: Port, path_mm) -> None:
        is_numbered = len(self.plan.mould.block.ports) <= _MAX_NUMBERED
        way = self.to_sheet(path_mm[:, self.axes])
        foot, tip = way[0], way[-1]
        run = tip - way[-2]
        length = float(np.hypot(*run))
        last_mm = float(np.linalg.norm(path_mm[-1] - path_mm[-2]))
        if len(way) > 2:
            sheet.line(way[:-1], kind="air", colour=AIR)
            foot = way[-2]
        if length < 0.2 * last_mm * self.scale or length < 1.0:
            sheet.circle(*foot, 1.0, fill="white", edge=AIR)
            sheet.circle(*foot, 0.35, fill=AIR, edge=AIR)
            if is_numbered:
                marks.label(*foot, port.label, colour=AIR, is_round=True, clear_mm=4.5, reach_mm=9)
            return
        along = run / length
        across = np.array([-along[1], along[0]])
        sheet.line([foot, tip], kind="air", colour=AIR)
        head = np.array([tip, tip - 2.2 * along + 0.9 * across, tip - 2.2 * along - 0.9 * across])
        sheet.area(paper.ring_path([head]), fill=AIR)
        if is_numbered:
            marks.label(*(tip + 3.0 * along), port.label, colour=AIR, is_round=True, reach_mm=7)


def draw_key(sheet: Sheet, plan: Plan, x: float, y: float) -> float:
    """The key of hatches and lines, from y downward; returns the y below."""
    is_numbered = len(plan.mould.block.ports) <= _MAX_NUMBERED
    where = say("sketch.round_number") if is_numbered else say("sketch.see_pour_sketch")
    rows = [
        (UPPER, say("sketch.silicone_upper_half")),
        (LOWER, say("sketch.silicone_lower_half")),
        (PART, say("sketch.part")),
        (TRAPPED, say("sketch.trapped_silicone_square_number")),
        ("air", say("sketch.gate_and_vents", where=where)),
        ("parting", say("cut.seen_cut" if plan.split.is_cut else "sketch.split_at_the_wall")),
    ]
    if plan.split.line.kind != "level":
        rows.append(("visible", say("sketch.split_on_the_part")))
    if not plan.split.undercuts.pockets:
        del rows[3]
    if plan.split.is_one_pour:
        kept = [row for row in rows if row[0] not in (UPPER, LOWER)]
        if plan.split.is_open:
            kept = [row for row in kept if row[0] in (PART, TRAPPED)]
        rows = [(UPPER, say("sketch.silicone")), *kept]
    if plan.nest is not None:
        rows.insert(rows.index((PART, say("sketch.part"))) + 1, ("number", say("nest.key")))
    for kind, text in rows:
        middle = y - 2.6
        if kind == "number":
            sheet.box(x + 3.5, middle - 2.0, x + 8.5, middle + 2.0, fill=INK)
            style = {"is_bold": True, "ha": "center", "colour": "white"}
            sheet.text(x + 6.0, baseline_mm(middle), "1", **style)
        elif kind in _KEY_LINES:
            sheet.line([(x, middle), (x + 12, middle)], kind=kind, colour=_KEY_LINES[kind])
        else:
            corners = np.array([(x, y - 4.6), (x + 12, y - 4.6), (x + 12, y - 0.6), (x, y - 0.6)])
            path = paper.ring_path([corners])
            if kind == PART:
                sheet.area(path, fill=PART, edge=INK, kind="thin")
            else:
                hatched(sheet, path, kind)
                sheet.area(path, edge=INK, kind="thin")
        sheet.text(x + 15, baseline_mm(middle), text)
        y -= 6.0
    return y


def draw_split_plot(
    sheet: Sheet, plan: Plan, x: float, y: float, *, width_mm: float, scale: float
) -> None:
    """Trapped volume to the right, split height upward, beside the views at their scale.

    Parameters
    ----------
    x, y : float
        Corner of the plot: zero volume at the floor of the box.
    width_mm : float
        Room for the curve.
    scale : float
        Millimetres on the sheet per millimetre of height.
    """
    parting = plan.split.parting
    floor, roof = plan.mould.block.low_mm[2], plan.mould.block.high_mm[2]
    top = y + (roof - floor) * scale
    largest = max(float(parting.trapped_mm3.max()), 1e-9)
    heights = y + (parting.heights_mm - floor) * scale
    curve = np.column_stack([x + parting.trapped_mm3 / largest * width_mm, heights])
    if len(curve) > 1:
        shape = np.vstack([(x, heights[0]), curve, (x, heights[-1])])
        hatched(sheet, paper.ring_path([shape]), TRAPPED)
        sheet.line(curve, kind="visible", colour=TRAPPED)
    sheet.line([(x, top), (x, y), (x + width_mm, y)], kind="thin")
    if plan.split.line.kind == "level":
        split = y + (plan.split.line.box_height_mm - floor) * scale
        sheet.line([(x - 3, split), (x + width_mm, split)], kind="parting")
    sheet.text(x, y - 5, "0")
    sheet.text(x + width_mm, y - 5, formats.trapped_plain(largest), ha="right")
