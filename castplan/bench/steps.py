"""The list of steps while it is written, and the words that the steps share."""

from dataclasses import dataclass, field

from castplan.bench.records import Cup, ScheduleResult, Step
from castplan.materials.wording import listed, mix_text
from castplan.mould.records import MouldResult, Port
from castplan.split.records import PartingLine
from castplan.texts import say

# Only a letter of it is shown: a code, as the bases of the model are.
BASIS = (
    "assumed: common practice, no source for minutes of handwork, drying and clearing; "
    "cure times from the material cards"
)
# Kinds of step that are done for each copy; the others make the mould.
PER_COPY = ("close", "mix", "cast", "out", "trim")


@dataclass
class Bench:
    """The steps so far."""

    steps: list[Step] = field(default_factory=list)

    def do(self, kind, *sentences, hands_on_min, wait_min=0.0, is_hold=False, cautions=()):
        """Add a step; `kind` is a key of the table ``step_name``, empty sentences drop out."""
        self.steps.append(
            Step(
                number=len(self.steps) + 1,
                text=" ".join(filter(None, sentences)),
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
            steps=tuple(self.steps),
            hands_on_min=sum(step.hands_on_min for step in self.steps),
            wait_min=sum(step.wait_min for step in self.steps),
            basis=BASIS,
        )


def cups_text(cups: list[Cup]) -> str:
    """What to weigh for cups that are all alike."""
    if not cups:
        return say("step.cups_none")
    each = mix_text(a_g=cups[0].a_g, b_g=cups[0].b_g)
    return each if len(cups) == 1 else say("step.cups_many", cups=len(cups), mix=each)


def open_ports(mould: MouldResult) -> list[Port]:
    """The ports that lead straight up through silicone."""
    return [port for port in mould.ports if not port.is_blocked and port.length_mm > 0]


def blocked_text(mould: MouldResult) -> str:
    """A sentence on the ports that part stands above; empty without such."""
    blocked = [port_text(port) for port in mould.ports if port.is_blocked]
    return say("step.mark_blocked", ports=", ".join(blocked)) if blocked else ""


def port_text(port: Port) -> str:
    """``vent 3``."""
    return say(f"port.{port.kind}", label=port.label)


def stick_text(port: Port) -> str:
    """``vent 3, 2.5 mm thick, 40 mm long``."""
    return say(
        "step.stick",
        port=port_text(port),
        thick=f"{port.diameter_mm:g}",
        long=f"{port.length_mm:.0f}",
    )


def clay_text(line: PartingLine, mould: MouldResult) -> str:
    """Where to bring the clay: level, tilted, or to the strip; heights above the base board."""
    floor_mm = mould.low_mm[2]
    walls = f"{line.box_height_mm - floor_mm:.1f}"
    if line.kind == "level":
        return say("step.clay_level", walls=walls)
    if line.kind == "tilted":
        nodes = line.surface.heights_mm - floor_mm
        corners = (nodes[0, 0], nodes[0, -1], nodes[-1, -1], nodes[-1, 0])
        heights = ", ".join(f"{height_mm:.1f}" for height_mm in corners)
        return say("step.clay_tilted", corners=heights)
    ends = [height_mm - floor_mm for rim in line.outlines for height_mm in rim.line_mm]
    heights = {"low": f"{min(ends):.1f}", "high": f"{max(ends):.1f}", "walls": walls}
    if line.kind == "stepped":
        return say("step.clay_stepped", **heights)
    return say("step.clay_following", **heights)


def holes_text(line: PartingLine, *, board_mm: float, least_mm: float) -> str:
    """What clay to put into the holes through the part; empty where the board shuts them.

    `board_mm` is the base board's height in the draw frame; a plug lower than
    `least_mm` above it is the board itself.
    """
    strip = ""  # in place of a height
    names: dict[str, list[str]] = {}
    for plug in line.plugs:
        height_mm = plug.height_mm - board_mm
        if plug.is_following:
            names.setdefault(strip, []).append(f"H{plug.number}")
        elif height_mm > least_mm:
            names.setdefault(f"{height_mm:.1f}", []).append(f"H{plug.number}")
    return "; ".join(
        say("step.stop_strip", holes=listed(holes))
        if height == strip
        else say("step.stop_up_to", holes=listed(holes), height=height)
        for height, holes in names.items()
    )
