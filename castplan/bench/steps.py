"""The list of steps while it is written, and the words that the steps share."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from castplan.air.records import Route, VentsResult
from castplan.bench.records import AmountsResult, Cup, ScheduleResult, Step, WeighResult
from castplan.job import Job
from castplan.materials.wording import listed, mix_text
from castplan.mould.records import Bedding, MouldResult
from castplan.record import record
from castplan.split.records import PartingLine
from castplan.texts.told import Told, clauses, in_a_row, tell, together

# Common practice, no source for minutes of handwork, drying and clearing; cure times
# are from the material cards.
BASIS = "assumed"
# Within this angle of the draw a stick stands up in the box for the silicone (assumed).
PORT_CONE_DEG = 60.0
# A stick is held where it stands out (assumed).
HOLD_MM = 20.0
# Kinds of step that are done for each copy; the others make the mould.
PER_COPY = ("close", "mix", "cast", "out", "trim")
# Kinds of step that are done once a job, however many moulds it takes.
ONCE = ("inspect", "seal", "patch", "sign", "measure")


@record
class Cups:
    """What is weighed out for a job: each pour, and its cups."""

    amounts: AmountsResult
    weigh: WeighResult
    job: Job
    n_parts: int = 1  # that lie in the box


@dataclass
class StepList:
    """The steps so far."""

    written: list[Step] = field(default_factory=list)

    def do(self, kind, *sentences, hands_on_min, wait_min=0.0, is_hold=False, cautions=()):
        """Add a step; `kind` is a key of the table ``step_name``, empty sentences drop out."""
        self.written.append(
            Step(
                number=len(self.written) + 1,
                text=together(sentences),
                hands_on_min=float(hands_on_min),
                wait_min=float(wait_min),
                is_hold=is_hold,
                cautions=tuple(cautions),
                kind=kind,
                is_per_copy=kind in PER_COPY,
            )
        )

    def schedule(self) -> ScheduleResult:
        """The record of all steps so far."""
        return ScheduleResult(
            steps=tuple(self.written),
            hands_on_min=sum(step.hands_on_min for step in self.written),
            wait_min=sum(step.wait_min for step in self.written),
            basis=BASIS,
        )


def cups_text(cups: Sequence[Cup]) -> Told:
    """What to weigh for cups that are all alike."""
    if not cups:
        return tell("step.cups_none")
    cup = cups[0]
    each = mix_text(a_g=cup.a_g, b_g=cup.b_g, step_g=cup.aim_step_g, filler_g=cup.filler_g)
    return each if len(cups) == 1 else tell("step.cups_many", cups=len(cups), mix=each)


def _named(routes: list[Route]) -> Told:
    return in_a_row([port_text(route) for route in routes])


def blocked_text(mould: MouldResult, vents: VentsResult) -> list[Told]:
    """Sentences on the openings that part stands above; empty without such."""
    blocked = {port.label for port in mould.ports if port.is_blocked}
    aside = [r for r in vents.routes if r.route == "sideways" and r.label in blocked]
    shut = [route for route in vents.routes if not route.is_open]
    return [
        *([tell("step.mark_blocked", ports=_named(aside))] if aside else []),
        *([tell("step.mark_shut", ports=_named(shut))] if shut else []),
    ]


def port_text(route: Route) -> Told:
    """``vent 3``."""
    kind = "gate" if route.label.startswith("G") else "vent"
    return tell(f"port.{kind}", label=route.label)


def rods_text(routes: list[Route], bedding: Bedding) -> list[Told]:
    """Sentences on the openings that lie in the parting, and on risers."""
    rods = [route for route in routes if route.is_rod and route.route != "riser"]
    found = []
    if rods:
        # Nothing can be pressed into a board or a print.
        key = "step.rods_clay" if bedding.kind == "clay" else "step.rods_stuck"
        found.append(tell(key, ports=clauses([_thick_text(route) for route in rods])))
    found += [
        tell(
            "step.riser",
            port=route.label,
            bore=f"{route.bore_mm:g}",
            when=route.when,
        )
        for route in routes
        if route.route == "riser"
    ]
    return found


def sticks_texts(routes: list[Route]) -> list[Told]:
    """Sentences on the sticks that stand in the silicone, upright ones first."""
    sticks = [route for route in routes if route.is_open and not route.is_rod]
    upright = [route for route in sticks if _is_upright(route)]
    aside = [route for route in sticks if not _is_upright(route)]
    found = [
        tell(key, sticks=clauses([text_of(route) for route in some]))
        for key, some, text_of in (
            ("step.sticks_up", upright, _upright_text),
            ("step.sticks_side", aside, _stick_text),
        )
        if some
    ]
    if sticks:
        found.append(tell("step.sticks_or_drill"))
    found += [
        tell("step.slanted", port=port_text(route), slant=f"{route.slant_deg:.0f}")
        for route in sticks
        if route.route == "slanted"
    ]
    return found


def _is_upright(route: Route) -> bool:
    """Whether it rises with the box lying as for the silicone, either way up."""
    way_mm = route.path_mm[-1] - route.path_mm[0]
    return abs(way_mm[2]) > math.cos(math.radians(PORT_CONE_DEG)) * math.hypot(*way_mm)


def _thick_text(route: Route) -> Told:
    return tell("step.rod", port=port_text(route), thick=f"{route.bore_mm:g}")


def stick_mm(route: Route) -> int:
    """How long a stick is cut that stands out of the silicone, to be held [mm]."""
    return math.ceil((route.length_mm + HOLD_MM) / 10) * 10


def _upright_text(route: Route) -> Told:
    """``vent 3, 2.5 mm thick, 40 mm long, 12 mm of it in the silicone``."""
    return tell(
        "step.stick_up",
        port=port_text(route),
        thick=f"{route.bore_mm:g}",
        long=f"{stick_mm(route)}",
        deep=f"{route.length_mm:.0f}",
    )


def _stick_text(route: Route) -> Told:
    """``vent 3, 2.5 mm thick, 12 mm long``."""
    return tell(
        "step.stick",
        port=port_text(route),
        thick=f"{route.bore_mm:g}",
        long=f"{route.length_mm:.0f}",
    )


def clay_text(line: PartingLine, mould: MouldResult) -> Told:
    """Where to bring the clay: level, tilted, or to the strip; heights above the base board."""
    floor_mm = mould.low_mm[2]
    walls = f"{line.box_height_mm - floor_mm:.1f}"
    if line.kind == "level":
        return tell("step.clay_level", walls=walls)
    if line.kind == "tilted":
        nodes = line.surface.heights_mm - floor_mm
        corners = (nodes[0, 0], nodes[0, -1], nodes[-1, -1], nodes[-1, 0])
        heights = ", ".join(f"{height_mm:.1f}" for height_mm in corners)
        return tell("step.clay_tilted", corners=heights)
    ends = [height_mm - floor_mm for rim in line.outlines for height_mm in rim.line_mm]
    heights = {"low": f"{min(ends):.1f}", "high": f"{max(ends):.1f}", "walls": walls}
    if line.kind == "stepped":
        return tell("step.clay_stepped", **heights)
    return tell("step.clay_following", **heights)


def holes_text(line: PartingLine, bedding: Bedding) -> Told:
    """What clay to put into the holes through the part; heights from the base board."""
    strip = ""  # in place of a height
    names: dict[str, list[str]] = {}
    for plug in line.plugs:
        if plug.number in bedding.clay_holes:
            height = f"{abs(plug.height_mm - bedding.board_mm):.1f}"
            names.setdefault(strip if plug.is_following else height, []).append(f"H{plug.number}")
    return clauses(
        [
            tell("step.stop_strip", holes=listed(holes))
            if height == strip
            else tell("step.stop_up_to", holes=listed(holes), height=height)
            for height, holes in names.items()
        ]
    )
