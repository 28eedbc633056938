"""The air sheet: how to stand the mould, where air leaves, how the cavity fills."""

import numpy as np

from castplan import units
from castplan.palette import AIR, AIR_SHADES, GREY, HAIR, INK, PART, TRAPPED
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import baseline_mm, card_head, open_card, page_head
from castplan.paper.sheet_table import Column, columns_of, draw_table
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import plan as view
from castplan.words import trade as trade_view

_DISC_MM = 38.0  # radius of each half of the map
_DOT_MM = 0.85
_APART_MM = 6.0  # of two letters on the map
_FILM_MM = 30.0  # height that a picture of the fill may take
_N_PICTURES = 6


def air_pages(plan: Plan) -> list[Sheet]:
    """Attitude with its map, openings, fill, silicone pours, the trade."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("air.air_stand_vent_fill"))
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    if plan.split.is_open:
        # The back is the way in and out: nothing to choose.
        _paragraphs(flow, [view.decisions(plan)[2].sentence])
        _fill(flow, plan)
        _silicone(flow, plan)
        return flow.sheets
    _attitude(flow, plan)
    _openings(flow, plan)
    _fill(flow, plan)
    _silicone(flow, plan)
    _trade(flow, plan)
    return flow.sheets


def _paragraphs(flow: Flow, texts) -> None:
    for text in texts:
        flow.paragraph(text, below_mm=1.2)


def _attitude(flow: Flow, plan: Plan) -> None:
    if plan.air.attitude.options:
        _paragraphs(flow, [air_view.attitude_decision(plan).sentence])
    flow.need(2 * _DISC_MM + 22)
    flow.y = (
        card_head(
            flow.sheet, flow.y, say("air.every_way_up"), remark=say("air.seen_along_the_draw")
        )
        - 5
    )
    sheet = flow.sheet
    middle_y = flow.y - _DISC_MM
    left = sheet.left + _DISC_MM + 4
    upper, lower = say("air.upper_half_up"), say("air.lower_half_up")
    if plan.split.is_cut:
        upper, lower = say("cut.upper_up"), say("cut.lower_up")
    for x, sense, title in (
        (left, 1.0, upper),
        (left + 2 * _DISC_MM + 14, -1.0, lower),
    ):
        _Disc(sheet, plan, x, middle_y, sense).draw()
        sheet.text(x, middle_y - _DISC_MM - 6, title, ha="center", colour=GREY)
    flow.y = middle_y - _DISC_MM - 8
    _paragraphs(
        flow,
        [say("air.each_dot_is_a_way")],
    )
    draw_table(flow, columns_of(flow, air_view.OPTION_HEADS), air_view.option_rows(plan))
    flow.y -= 3


class _Disc:
    """Half of all directions, equal areas kept (Lambert's azimuthal projection)."""

    def __init__(self, sheet, plan, x, y, sense):
        self.sheet, self.plan, self.middle, self.sense = sheet, plan, np.array([x, y]), sense

    def draw(self):
        """Dots, rests with their tilts, letters."""
        sheet, attitude = self.sheet, self.plan.air.attitude
        sheet.circle(*self.middle, _DISC_MM, fill="white", edge=HAIR)
        ups = attitude.map_up @ self.plan.split.draw.frame.rotation.T
        cost = attitude.map_cost_min
        steps = np.quantile(cost, np.linspace(0, 1, len(AIR_SHADES) + 1)[1:-1]) if cost.size else ()
        for up, shade in zip(ups, np.searchsorted(steps, cost), strict=True):
            if self.is_here(up):
                x, y = self.place(up)
                sheet.circle(x, y, _DOT_MM, fill=AIR_SHADES[shade], edge="none")
        for axis in range(3):
            for sign in (1.0, -1.0):
                self._rest(axis, sign)
        taken: list[np.ndarray] = []
        for letter, option in zip(air_view.LETTERS, attitude.options, strict=False):
            up = self.plan.split.draw.frame.rotation @ np.array(option.up)
            if self.is_here(up):
                self._letter(letter, np.asarray(self.place(up)), taken)

    def _letter(self, letter, place, taken):
        """A letter on its way up, or beside it with a leader where another is too near."""
        angles = np.radians(np.arange(90, 450, 30))
        beside = [
            place + reach * np.array([np.cos(angle), np.sin(angle)])
            for reach in (_APART_MM, 1.5 * _APART_MM)
            for angle in angles
        ]
        beside.sort(key=lambda spot: float(np.hypot(*(spot - self.middle))))  # inward first
        x, y = next(
            spot
            for spot in (place, *beside)
            if all(np.hypot(*(spot - other)) >= _APART_MM for other in taken)
        )
        taken.append(np.array([x, y]))
        if (x, y) != tuple(place):
            self.sheet.line([place, (x, y)], colour=TRAPPED)
        self.sheet.circle(x, y, 2.7, fill="white", edge=TRAPPED, kind="visible")
        self.sheet.text(x, baseline_mm(y), letter, is_bold=True, ha="center")

    def is_here(self, up):
        """Whether a direction of the draw frame lies on this half; the rim on both."""
        return self.sense * up[2] >= -1e-9

    def place(self, up):
        """Where a direction lies on the sheet."""
        radius = np.sqrt(max(1.0 - self.sense * up[2], 0.0))
        across = np.hypot(up[0], up[1])
        if across < 1e-12:
            return self.middle
        return self.middle + _DISC_MM * radius * np.array([up[0], up[1]]) / across

    def _rest(self, axis, sign):
        up = np.zeros(3)
        up[axis] = sign
        others = np.eye(3)[[k for k in range(3) if k != axis]]
        angle = np.radians(np.arange(0, 361, 6))
        for tilt in np.radians((15.0, 30.0)):
            ring = np.cos(tilt) * up + np.sin(tilt) * (
                np.cos(angle)[:, None] * others[0] + np.sin(angle)[:, None] * others[1]
            )
            shown = np.array([self.is_here(d) for d in ring])
            points = np.array([self.place(d) for d in ring])
            for run in _runs(shown):
                self.sheet.line(points[run], kind="hidden", colour=GREY)
        if self.is_here(up):
            x, y = self.place(up)
            self.sheet.box(x - 1.6, y - 1.6, x + 1.6, y + 1.6, fill="white", edge=INK)


def _runs(flags):
    """Index ranges of neighbouring true flags, at least two long."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
    return [np.arange(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a > 1]


def _openings(flow: Flow, plan: Plan) -> None:
    room = flow.sheet.room_mm
    open_card(flow, say("air.high_points_of_the_cavity"), need_mm=40)
    columns = (
        Column(say("air.no"), 12, True),
        Column(say("air.opening"), 20),
        Column(say("air.height"), 20),
        Column(say("air.rise"), 30),
        Column(say("air.air_it_keeps"), 32),
        Column(say("air.roof"), 48),
        Column(say("air.width"), room - 162),
    )
    draw_table(flow, columns, air_view.peak_rows(plan))
    flow.y -= 3
    open_card(
        flow,
        say("air.ways_out_of_the_box"),
        remark=say("air.from_the_lower_left_corner"),
        need_mm=40,
    )
    draw_table(flow, columns_of(flow, air_view.ROUTE_HEADS), air_view.route_rows(plan))
    flow.y -= 3
    open_card(flow, say("air.gate_and_cup"), need_mm=30)
    gate = [air_view.gate_sentence(plan), *air_view.run_sentences(plan)]
    _paragraphs(flow, [*gate, *air_view.gate_lines(plan)[:3]])
    flow.y -= 2


def _fill(flow: Flow, plan: Plan) -> None:
    frames = plan.mould.fill.frames
    open_card(
        flow, say("air.how_it_fills"), remark=say("air.from_the_front_as_it"), need_mm=_FILM_MM + 30
    )
    if frames:
        step = max(len(frames) // _N_PICTURES, 1)
        _film(flow, frames[step - 1 :: step][:_N_PICTURES], frames[-1])
    rocking = [] if plan.split.is_open else [air_view.rocking_sentence(plan)]
    _paragraphs(flow, [*air_view.fill_sentences(plan), *rocking])
    flow.y -= 2


def _film(flow: Flow, shown, whole) -> None:
    rings = [*whole.resin, *whole.air]
    if not rings:
        return
    points = np.concatenate(rings)
    low, size = points.min(axis=0), np.ptp(points, axis=0)
    pitch = flow.sheet.room_mm / _N_PICTURES
    scale = min((pitch - 5) / size[0], _FILM_MM / size[1])
    y = flow.y - 3 - scale * size[1]
    for k, frame in enumerate(shown):
        x = flow.sheet.left + k * pitch
        corner = np.array([x, y])
        for whole_rings in (whole.resin, whole.air):
            if whole_rings:
                outline = paper.ring_path([scale * (ring - low) + corner for ring in whole_rings])
                flow.sheet.area(outline, fill=PART, edge=GREY, kind="thin")
        if frame.resin:
            resin = paper.ring_path([scale * (ring - low) + corner for ring in frame.resin])
            flow.sheet.hatch(
                flow.sheet.area(resin, fill="#e6eef5", edge=AIR, kind="thin"),
                angle_deg=0.0,
                pitch_mm=1.2,
                colour=AIR,
            )
        if frame.air:
            air = paper.ring_path([scale * (ring - low) + corner for ring in frame.air])
            flow.sheet.area(air, fill="white", edge=TRAPPED, kind="air")
        flow.sheet.text(x, y - 5, f"{units.digits(frame.filled_ml, 3)} ml", colour=GREY)
    key = say("air.lined_resin_white_dotted_round")
    flow.sheet.text(flow.sheet.left, y - 10, key, colour=GREY)
    flow.y = y - 13


def _silicone(flow: Flow, plan: Plan) -> None:
    open_card(flow, say("air.air_in_the_silicone"), need_mm=25)
    _paragraphs(flow, air_view.pour_sentences(plan))
    places = [(pour.half, caught) for pour in plan.mould.pours.pours for caught in pour.caught]
    seen = "pour" if plan.split.is_cut else "draw"
    outline = next((s.outline for s in plan.sketches if s.name == seen), ())
    if places and outline:
        _brush_map(flow, outline, places)
    flow.y -= 2


def _brush_map(flow: Flow, outline, places) -> None:
    """Where to brush, on the part seen along the draw."""
    points = np.concatenate(outline)
    low, size = points.min(axis=0), np.ptp(points, axis=0)
    scale = min(flow.sheet.room_mm / 2 / size[0], 55.0 / size[1])
    flow.need(scale * size[1] + 8)
    corner = np.array([flow.sheet.left + 4, flow.y - 3 - scale * size[1]])

    def to_sheet(ring):
        return scale * (np.asarray(ring) - low) + corner

    flow.sheet.area(
        paper.ring_path([to_sheet(ring) for ring in outline]), fill="#f2efe9", edge=INK, kind="thin"
    )
    for half, caught in places:
        patch = flow.sheet.area(
            paper.ring_path([to_sheet(caught.ring_mm)]), edge=TRAPPED, kind="air"
        )
        flow.sheet.hatch(
            patch,
            angle_deg=45.0 if half == "upper" else -45.0,
            pitch_mm=1.6,
            colour=TRAPPED,
        )
    x = corner[0] + scale * size[0] + 8
    keys = ["air.brush_here_first", "air.upper_half", "air.lower_half"]
    if any(half == "whole" for half, _ in places):
        keys = ["cut.brush_here", "cut.from_pour"]
    for k, text in enumerate(map(say, keys)):
        flow.sheet.text(x, flow.y - 8 - 5 * k, text, colour=GREY)
    flow.y = corner[1] - 4


def _trade(flow: Flow, plan: Plan) -> None:
    rows = trade_view.trade_rows(plan)
    if not rows:
        return
    room = flow.sheet.room_mm
    open_card(
        flow,
        say("air.draw_and_pour_together"),
        remark=say("air.minutes_assumed_weights_a"),
        need_mm=40,
    )
    _paragraphs(flow, [trade_view.trade_sentence(plan)])
    columns = (
        Column("", 14, True),
        Column(say("air.draw_file_s_axes"), 36),
        Column(say("air.stand_it"), room - 134),
        Column(say("air.pull"), 11),
        Column(say("air.seam"), 13),
        Column(say("air.stand"), 13),
        Column(say("air.gate"), 12),
        Column(say("air.vents"), 13),
        Column(say("air.air"), 10),
        Column(say("air.all"), 12),
    )
    draw_table(flow, columns, rows)
