"""Words for the view: what stands at a pocket, a high point or an opening, and what to do there."""

from dataclasses import dataclass

import numpy as np

from castplan import units
from castplan.model import Finding, Plan, Scene
from castplan.model.scene import CLOSED, FREE, HELD_LOWER, HELD_UPPER
from castplan.output import air_view, formats, view, view_split
from castplan.output.paper import AIR, CLAY, LOWER, PART, TRAPPED, UPPER

_POCKET_CODES = ("pocket", "bridge", "sealed-void")
SMALL_AIR_DO = "Brush resin into the detail before closing, or use a pressure pot."
# Limits of thickness, mm: walls of 1.0 mm cast well (`castplan.stages.thin`); resin
# runs by itself where the gap is over 3 (`castplan.stages.fill`); the rest are round.
_THICK_MM = (0.0, 1.0, 3.0, 6.0, 12.0)
_ROUND = (1.0, 2.0, 5.0)
_PALE = "#eeeae1"


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
    name: str
    unit: str  # "", "mm" or "deg"
    field: str
    classes: tuple[MapClass, ...]


def surface_maps(plan: Plan, scene: Scene) -> tuple[SurfaceMap, ...]:
    """The maps with their classes, in the order in which they are looked at."""
    surface = scene.surface
    return (
        SurfaceMap("held", "held", "", "holder", _held_classes()),
        SurfaceMap("depth", "depth", "mm", "depth_mm", _depth_classes(surface.depth_mm)),
        SurfaceMap("draft", "draft", "deg", "draft_deg", _draft_classes()),
        SurfaceMap("thickness", "thickness", "mm", "thickness_mm", _thickness_classes()),
        SurfaceMap("air", "air", "", "is_caught", _air_classes()),
    )


def film_classes() -> tuple[MapClass, ...]:
    """Resin, cavity still empty, air that stays."""
    return (
        _same("A", "resin", PART, 0, 0.0),
        _same("B", "still empty", "#9fb6c6", 0, 1.0),
        _same("C", "air that cannot get out", AIR, 7, 2.0),
    )


def _same(letter, text, colour, hatch, low):
    return MapClass(letter, text, text, colour, hatch, low)


def _held_classes():
    return (
        _same("A", "free: the rubber leaves with its half", PART, 0, float(FREE)),
        _same("B", "holds the upper half", UPPER, 3, float(HELD_UPPER)),
        _same("C", "holds the lower half", LOWER, 5, float(HELD_LOWER)),
        _same("D", "closed void: no rubber gets in", _PALE, 4, float(CLOSED)),
    )


def _air_classes():
    return (
        _same("A", "fills", PART, 0, 0.0),
        _same("B", "air stays", AIR, 7, 1.0),
    )


def _draft_classes():
    # The limits of the table of areas on the sheets; a turned vertical wall in
    # rounded numbers is no overhang.
    return (
        _same("A", "overhangs", TRAPPED, 3, -90.0),
        _same("B", "0 to 1 degree", CLAY, 5, -0.05),
        _same("C", "1 to 3 degrees", "#e3bcd2", 8, 1.0),
        _same("D", "over 3 degrees", PART, 0, 3.0),
    )


def _depth_classes(depth_mm):
    """No pocket, then three even steps of round numbers to the deepest."""
    deepest = float(depth_mm.max(initial=0.0))
    step = _round_step(deepest / 3)
    colours = ((PART, 0), ("#f2c9a8", 8), ("#e58a4a", 1), (TRAPPED, 3))
    lows = (0.0, 1e-6, step, 2 * step)
    return _length_classes("no pocket", lows, colours)


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
            mm = _span(low, high, lambda value: f"{value:g}") + " mm"
            inch = _span(low, high, units.inch_fraction) + " in"
        made.append(MapClass("ABCDE"[k], mm, inch, colour, hatch, low))
    return tuple(made)


def _span(low, high, text):
    if high is None:
        return f"over {text(low)}"
    return f"{text(low)} to {text(high)}" if low >= 1e-3 else f"up to {text(high)}"


def _round_step(value):
    """The least of 1, 2, 5 times a power of ten that is no smaller, 0.1 at the least."""
    power = 10.0 ** np.floor(np.log10(max(value, 0.1)))
    return float(next(f * power for f in (*_ROUND, 10.0) if f * power >= value - 1e-9))


def pocket_places(plan: Plan) -> list[Place]:
    """Every listed pocket, in the words of its finding."""
    verdicts = {flex.number: view_split.verdict_sign(flex.verdict) for flex in plan.flex.pockets}
    places = []
    for pocket in plan.undercuts.pockets:
        finding = _finding_of(plan, pocket.number)
        name = "Void" if pocket.kind == "sealed" else "Pocket"
        title = f"{name} {pocket.number}: {verdicts.get(pocket.number, '')}".rstrip(": ")
        places.append(
            Place(
                key=f"pocket-{pocket.number}",
                number=str(pocket.number),
                title=title,
                what=finding.message if finding else "",
                do=finding.do if finding else "",
                at_mm=pocket.centre_mm,
            )
        )
    return places


def _finding_of(plan, number) -> Finding | None:
    names = (f"Pocket {number} ", f"Void {number} ")
    return next(
        (f for f in plan.findings if f.code in _POCKET_CODES and f.message.startswith(names)),
        None,
    )


def peak_places(plan: Plan, scene: Scene) -> list[Place]:
    """Every listed high point: how high, what it keeps, and whether it has an opening."""
    keeping = set(np.unique(scene.surface.peak).tolist())
    frame, draw = plan.air.frame, plan.draw.frame
    places = []
    for peak, row in zip(plan.air.peaks, air_view.peak_rows(plan), strict=True):
        number, opening, height, rise, air, *_ = row
        kept = "no air" if air == "none" else f"{air} of air"
        words = {"closed": "no opening", "G": "gate G"}.get(opening, f"vent {opening}")
        what = f"High point {number}, {height} up: it rises {rise}; shut, it keeps {kept}."
        if opening == "closed":
            do = SMALL_AIR_DO if peak.number in keeping else "Nothing: its air leaves elsewhere."
        else:
            do = "Open it: see the opening of that name."
        at = draw.to_frame(frame.to_part(np.asarray(peak.place_mm)))
        places.append(
            Place(
                key=f"peak-{number}",
                number=number,
                title=f"High point {number}: {words}",
                what=what,
                do=do,
                at_mm=tuple(float(v) for v in at),
                is_marked=opening == "closed",
            )
        )
    return places


def port_places(plan: Plan) -> list[Place]:
    """Gate and vents: which way each goes, how wide, and when to place it."""
    routes = {row[0]: row for row in air_view.route_rows(plan)}
    places = []
    for port, path_mm in air_view.port_ways(plan):
        name = f"{'Gate' if port.kind == 'gate' else 'Vent'} {port.label}"
        what, do = f"{formats.length_text(port.diameter_mm)} wide.", ""
        if port.label in routes:
            _, way, bore, length, leaves, straw, when = routes[port.label]
            what = f"{bore} wide, {way}, {length} long; leaves the box at its {leaves} mm."
            do = f"{when[:1].upper()}{when[1:]}{'' if when.endswith('.') else '.'}" if when else ""
            if straw != "cup":
                do = f"{do} Straw: {straw} out of the box.".strip()
        places.append(
            Place(
                key=f"port-{port.label}",
                number=port.label,
                title=name,
                what=what,
                do=do,
                at_mm=tuple(float(v) for v in path_mm[0]),
            )
        )
    return places


def finding_places(plan: Plan) -> list[Place]:
    """The findings that speak of a place, and those that do not."""
    draw = plan.draw.frame
    places = []
    for number, finding in enumerate(view.sorted_findings(plan), start=1):
        at = None
        if finding.where_mm is not None:
            at = tuple(float(v) for v in draw.to_frame(np.asarray(finding.where_mm)))
        places.append(
            Place(
                key=f"finding-{number}",
                number=str(number),
                title={"stop": "Stop", "warn": "Warning", "note": "Note"}[finding.severity],
                what=finding.message,
                do=finding.do,
                at_mm=at,
                is_marked=at is not None,
            )
        )
    return places


def film_texts(scene: Scene) -> list[tuple[str, str]]:
    """Each step of the pour in words, with millimetres and with inches."""
    film = scene.film
    error_ml = max(0.005 * film.cavity_ml, 0.01)
    texts = []
    rows = zip(film.level_mm, film.rising_mm, film.filled_ml, film.caught_ml, strict=True)
    for level_mm, rising_mm, filled_ml, caught_ml in rows:
        filled = formats.rounded(float(filled_ml), error=error_ml)
        caught = formats.trapped_text(1000 * float(caught_ml)).replace(formats.nothing(), "no air")
        caught = caught if caught == "no air" else f"{caught} of air"
        rest = f"{filled} ml [c] in; {caught} caught"
        texts.append(tuple(_level(level_mm, rising_mm, text) + rest for text in (_mm, _inches)))
    return texts


def _level(level_mm, rising_mm, text):
    if rising_mm < level_mm - 0.05:
        return f"{text(rising_mm)} [c] up, running over an edge {text(level_mm)} [c] up: "
    return f"{text(level_mm)} [c] up: "


def _mm(length_mm):
    return f"{formats.rounded(float(length_mm), error=0.1)} mm"


def _inches(length_mm):
    return f"{units.inch_fraction(float(length_mm))} in"
