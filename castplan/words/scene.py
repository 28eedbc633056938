"""Words for the view: what stands at a pocket, a high point or an opening, and what to do there."""

from dataclasses import dataclass

import numpy as np

from castplan import units
from castplan.mould.fill import THIN_MM
from castplan.palette import AIR, CLAY, LOWER, PART, TRAPPED, UPPER
from castplan.plan_record import Plan
from castplan.record import Finding
from castplan.split.records import Pocket
from castplan.split.thin import THIN_PART_MM
from castplan.texts import say
from castplan.view.records import CLOSED, FREE, HELD_LOWER, HELD_UPPER, Scene
from castplan.words import air as air_view
from castplan.words import formats
from castplan.words import nest as nest_view
from castplan.words import plan as view
from castplan.words import split as view_split

# Limits of thickness, mm: walls that cast well, gaps that fill by themselves; the rest
# are round.
_THICK_MM = (0.0, THIN_PART_MM, THIN_MM, 6.0, 12.0)
_ROUND = (1.0, 2.0, 5.0)
_PALE = "#eeeae1"
_SAME_MM = 1e-6  # two that tell of one place


@dataclass(frozen=True)
class Place:
    """Something to fly to, in the draw frame where it has a place of its own."""

    key: str  # "pocket-3": what the page calls it
    number: str
    title: str
    what: str
    do: str
    at_mm: tuple[float, float, float] | None
    is_marked: bool = True  # has a mark of its own on the picture


@dataclass(frozen=True)
class MapClass:
    """One class of a map: from `low` up to the next class' own."""

    letter: str
    mm: str  # what it says
    inch: str  # the same with lengths in inches
    colour: str
    hatch: int  # as drawn by the page
    low: float


@dataclass(frozen=True)
class SurfaceMap:
    """One way to colour the part. `field` names the record's field."""

    key: str
    unit: str  # "", "mm" or "deg"
    field: str
    classes: tuple[MapClass, ...]


def surface_maps(plan: Plan, scene: Scene) -> tuple[SurfaceMap, ...]:
    """The maps with their classes, in the order in which they are looked at."""
    surface = scene.surface
    return (
        SurfaceMap("held", "", "holder", _held_classes(plan)),
        SurfaceMap("depth", "mm", "depth_mm", _depth_classes(surface.depth_mm)),
        SurfaceMap("draft", "deg", "draft_deg", _draft_classes()),
        SurfaceMap("thickness", "mm", "thickness_mm", _thickness_classes()),
        SurfaceMap("air", "", "is_caught", _air_classes()),
    )


def film_classes() -> tuple[MapClass, ...]:
    """Resin, cavity still empty, air that stays."""
    return (
        _same("A", say("surface.resin"), PART, 0, 0.0),
        _same("B", say("surface.still_empty"), "#9fb6c6", 0, 1.0),
        _same("C", say("surface.caught_air"), AIR, 7, 2.0),
    )


def _same(letter, text, colour, hatch, low):
    return MapClass(letter, text, text, colour, hatch, low)


def _held_classes(plan):
    lip = "_lip" if plan.split.is_cut else ""
    return (
        _same("A", say("surface.free"), PART, 0, float(FREE)),
        _same("B", say(f"surface.holds_upper{lip}"), UPPER, 3, float(HELD_UPPER)),
        _same("C", say(f"surface.holds_lower{lip}"), LOWER, 5, float(HELD_LOWER)),
        _same("D", say("surface.closed_void"), _PALE, 4, float(CLOSED)),
    )


def _air_classes():
    return (
        _same("A", say("surface.fills"), PART, 0, 0.0),
        _same("B", say("surface.air_stays"), AIR, 7, 1.0),
    )


def _draft_classes():
    # The limits of the table of areas on the sheets; a turned vertical wall in
    # rounded numbers is no overhang.
    return (
        _same("A", say("surface.overhangs"), TRAPPED, 3, -90.0),
        _same("B", say("surface.to_1_degree"), CLAY, 5, -0.05),
        _same("C", say("surface.to_3_degrees"), "#e3bcd2", 8, 1.0),
        _same("D", say("surface.over_3_degrees"), PART, 0, 3.0),
    )


def _depth_classes(depth_mm):
    """No pocket, then three even steps of round numbers to the deepest."""
    deepest = float(depth_mm.max(initial=0.0))
    step = _round_step(deepest / 3)
    colours = ((PART, 0), ("#f2c9a8", 8), ("#e58a4a", 1), (TRAPPED, 3))
    lows = (0.0, 1e-6, step, 2 * step)
    return _length_classes(say("surface.no_pocket"), lows, colours)


def _thickness_classes():
    colours = ((TRAPPED, 3), ("#cfe3f2", 4), ("#9cc4e4", 8), ("#6fa8d6", 1), ("#4a86bd", 5))
    return _length_classes(None, _THICK_MM, colours)


def _length_classes(first, lows, colours):
    made = []
    for k, ((colour, hatch), low) in enumerate(zip(colours, lows, strict=True)):
        high = lows[k + 1] if k + 1 < len(lows) else None
        if k == 0 and first:
            mm = inch = first
        else:
            mm = _span(low, high, lambda value: f"{value:g}", "mm")
            inch = _span(low, high, units.inch_fraction, "in")
        made.append(MapClass("ABCDE"[k], mm, inch, colour, hatch, low))
    return tuple(made)


def _span(low, high, text, unit):
    if high is None:
        return say("surface.over", low=text(low), unit=unit)
    if low < 1e-3:
        return say("surface.up_to", high=text(high), unit=unit)
    return say("surface.from_to", low=text(low), high=text(high), unit=unit)


def _round_step(value):
    """The least of 1, 2, 5 times a power of ten that is no smaller, 0.1 at the least."""
    power = 10.0 ** np.floor(np.log10(max(value, 0.1)))
    return float(next(f * power for f in (*_ROUND, 10.0) if f * power >= value - 1e-9))


def pocket_places(plan: Plan) -> list[Place]:
    """Every listed pocket, in the words of its finding."""
    verdicts = {
        flex.number: view_split.verdict_sign(flex.verdict) for flex in plan.split.flex.pockets
    }
    # Pockets that are alike are told by one finding, at the first of them.
    pockets = {pocket.number: pocket for pocket in plan.split.undercuts.pockets}
    first_of = {n: pockets[g.numbers[0]] for g in plan.split.flex.groups for n in g.numbers}
    why_of = {flex.number: flex.why for flex in plan.split.flex.pockets}
    places = []
    for pocket in plan.split.undercuts.pockets:
        finding = _finding_of(plan, first_of[pocket.number])
        title = "place.void" if pocket.kind == "sealed" else "place.pocket"
        places.append(
            Place(
                key=f"pocket-{pocket.number}",
                number=str(pocket.number),
                title=say(title, number=pocket.number, verdict=verdicts[pocket.number]),
                what=str(finding.message if finding else why_of[pocket.number]),
                do=str(finding.do) if finding else "",
                at_mm=pocket.centre_mm,
            )
        )
    return places


def _finding_of(plan: Plan, pocket: Pocket) -> Finding | None:
    """The finding at the middle of a pocket that is of its kind."""
    code = "sealed-void" if pocket.kind == "sealed" else pocket.kind
    middle_mm = plan.split.draw.frame.to_part(np.asarray(pocket.centre_mm))
    there = (f for f in plan.findings if f.code == code and f.where_mm is not None)
    return next((f for f in there if np.allclose(f.where_mm, middle_mm, atol=_SAME_MM)), None)


def peak_places(plan: Plan, scene: Scene) -> list[Place]:
    """Every listed high point: how high, what it keeps, and whether it has an opening."""
    keeping = set(np.unique(scene.surface.peak).tolist())
    frame, draw = plan.air.openings.frame, plan.split.draw.frame
    places = []
    for peak, label in zip(plan.air.openings.peaks, air_view.peak_openings(plan), strict=True):
        if label:
            do = say("place.open_it")
        else:
            do = small_air_do() if peak.number in keeping else say("place.air_leaves_elsewhere")
        at = draw.to_frame(frame.to_part(np.asarray(peak.place_mm)))
        places.append(
            Place(
                key=f"peak-{peak.number}",
                number=str(peak.number),
                title=_peak_title(peak.number, label),
                what=_peak_words(peak),
                do=do,
                at_mm=tuple(float(v) for v in at),
                is_marked=not label,
            )
        )
    return places


def small_air_do() -> str:
    """What to do where a little air stays."""
    return say("air_finding.small_peaks_do")


def _peak_title(number, label):
    if not label:
        return say("place.peak_shut", number=number)
    key = "place.peak_gate" if label == air_view.GATE else "place.peak_vent"
    return say(key, number=number, label=label)


def _peak_words(peak):
    told = {
        "number": peak.number,
        "height": formats.length_text(peak.height_mm, error_mm=0.1),
        "rise": formats.length_text(peak.rise_mm, error_mm=0.1),
    }
    if units.is_nothing(peak.air_mm3):
        return say("place.peak_no_air", **told)
    return say("place.peak_air", **told, air=formats.trapped_text(peak.air_mm3))


def part_places(plan: Plan) -> list[Place]:
    """The parts of a box that holds several: what each is, and its openings."""
    if plan.nest is None:
        return []
    rows = nest_view.part_rows(plan.nest)
    marks = nest_view.part_marks(plan)
    return [
        Place(
            key=f"part-{number}",
            number=number,
            title=nest_view.name_of(part),
            what=say("nest.place", up=row[2], turned=row[3], openings=row[4], casting=row[5]),
            do="",
            at_mm=tuple(float(v) for v in at),
        )
        for (number, at), part, row in zip(marks, plan.nest.parts, rows, strict=True)
    ]


def port_places(plan: Plan) -> list[Place]:
    """Gate and vents: which way each goes, how wide, and when to place it."""
    routes = {route.label: route for route in plan.mould.vents.routes}
    rows = {row[0]: row for row in air_view.route_rows(plan)}
    places = []
    for port, path_mm in air_view.port_ways(plan):
        what, do = say("place.wide", bore=formats.length_text(port.diameter_mm)), ""
        if port.label in routes:
            _, way, bore, length, leaves, straw, when = rows[port.label]
            what = say("place.channel", bore=bore, way=way, length=length, leaves=leaves)
            do = f"{formats.capital(when)}." if when else ""
            if routes[port.label].straw_mm:
                do = f"{do} {say('place.straw', straw=straw)}".strip()
        places.append(
            Place(
                key=f"port-{port.label}",
                number=port.label,
                title=say(f"opening_title.{port.kind}", label=port.label),
                what=what,
                do=do,
                at_mm=tuple(float(v) for v in path_mm[0]),
            )
        )
    return places


def finding_places(plan: Plan) -> list[Place]:
    """The findings that speak of a place, and those that do not."""
    draw = plan.split.draw.frame
    places = []
    for number, finding in enumerate(view.sorted_findings(plan), start=1):
        at = None
        if finding.where_mm is not None:
            at = tuple(float(v) for v in draw.to_frame(np.asarray(finding.where_mm)))
        places.append(
            Place(
                key=f"finding-{number}",
                number=str(number),
                title=say(f"finding_title.{finding.severity}"),
                what=str(finding.message),
                do=str(finding.do),
                at_mm=at,
                is_marked=at is not None,
            )
        )
    return places


def film_texts(scene: Scene) -> list[tuple[str, str]]:
    """Each step of the pour in words, with millimetres and with inches."""
    film = scene.film
    error_ml = max(0.005 * film.cavity_ml, 0.01)
    rows = zip(
        film.level_mm,
        film.rising_mm,
        film.filled_ml,
        film.caught_ml,
        film.is_over_edge,
        strict=True,
    )
    return [
        (_film_text(row, error_ml, _mm), _film_text(row, error_ml, _inches))
        for row in (tuple(map(float, row)) for row in rows)
    ]


def _film_text(row, error_ml, length):
    level_mm, rising_mm, filled_ml, caught_ml, is_over_edge = row
    caught_mm3 = 1000 * caught_ml
    told = {
        "level": length(level_mm),
        "filled": formats.rounded(filled_ml, error=error_ml),
        "air": formats.trapped_text(caught_mm3),
    }
    is_full = units.is_nothing(caught_mm3)
    if is_over_edge:
        key = "film.over_edge_no_air" if is_full else "film.over_edge_air"
        return say(key, **told, rising=length(rising_mm))
    return say("film.no_air" if is_full else "film.air", **told)


def _mm(length_mm):
    return f"{formats.rounded(length_mm, error=0.1)} mm"


def _inches(length_mm):
    return f"{units.inch_fraction(length_mm)} in"
