"""The list of steps while it is written, and the words that the steps share."""

from dataclasses import dataclass, field

from castplan.materials.wording import mix_text
from castplan.model import Cup, MouldResult, PartingLine, Port, ScheduleResult, Step

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

    def do(self, kind, text, *, hands_on_min, wait_min=0.0, is_hold=False, cautions=()):
        """Add a step; `kind` is one word, `text` may be broken over lines."""
        self.steps.append(
            Step(
                number=len(self.steps) + 1,
                text=" ".join(text.split()),
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
        return "the brush coat fills it"
    each = mix_text(a_g=cups[0].a_g, b_g=cups[0].b_g)
    if len(cups) == 1:
        return each
    return (
        f"{len(cups)} cups, each {each}; mix the next one while the last is poured, and pour it "
        "before that one thickens"
    )


def open_ports(mould: MouldResult) -> list[Port]:
    """The ports that lead straight up through silicone."""
    return [port for port in mould.ports if not port.is_blocked and port.length_mm > 0]


def blocked_text(mould: MouldResult) -> str:
    """A sentence on the ports that part stands above; empty without such."""
    blocked = [port_text(port) for port in mould.ports if port.is_blocked]
    if not blocked:
        return ""
    return f"Part stands above {', '.join(blocked)}: lead it out sideways along the parting."


def port_text(port: Port) -> str:
    """``vent 3``."""
    return f"{port.kind} {port.label}"


def port_size(port: Port) -> str:
    """``2.5 mm thick, 40 mm long``."""
    return f"{port.diameter_mm:g} mm thick, {port.length_mm:.0f} mm long"


def numbers_text(numbers: list[int]) -> str:
    """`` 4``, or ``s 1, 4 and 7``: follows a noun."""
    words = [str(number) for number in numbers]
    return f" {words[0]}" if len(words) == 1 else f"s {', '.join(words[:-1])} and {words[-1]}"


def clay_text(line: PartingLine, mould: MouldResult) -> str:
    """Where to bring the clay: level, tilted, or to the strip; heights above the base board."""
    floor_mm = mould.low_mm[2]
    walls = f"{line.box_height_mm - floor_mm:.1f} mm"
    if line.kind == "level":
        return (
            f"Bring the clay up to the parting line, {walls} above the board, level out to the "
            "box walls"
        )
    if line.kind == "tilted":
        nodes = line.surface.heights_mm - floor_mm
        corners = (nodes[0, 0], nodes[0, -1], nodes[-1, -1], nodes[-1, 0])
        heights = ", ".join(f"{height_mm:.1f}" for height_mm in corners)
        return (
            "Bring the clay up to the parting line in one tilted plane, on to the box walls. From "
            "the corner 0, 0 round by the right, seen from above, the corners of the box stand at "
            f"{heights} mm above the board"
        )
    ends = [height_mm - floor_mm for rim in line.outlines for height_mm in rim.line_mm]
    how = "in level stretches with steps between, " if line.kind == "stepped" else ""
    return (
        f"Cut out the clay strip, stand it round the part and bring the clay up to it, {how}"
        f"{min(ends):.1f} to {max(ends):.1f} mm above the board, easing out to {walls} at the box "
        "walls"
    )


def holes_text(line: PartingLine, *, board_mm: float, least_mm: float) -> str:
    """What clay to put into the holes through the part; empty where the board shuts them.

    `board_mm` is the base board's height in the draw frame; a plug lower than
    `least_mm` above it is the board itself.
    """
    names: dict[str, list[str]] = {}
    for plug in line.plugs:
        height_mm = plug.height_mm - board_mm
        if plug.is_following:
            names.setdefault("to the strip of the same name", []).append(f"H{plug.number}")
        elif height_mm > least_mm:
            top = f"up to {height_mm:.1f} mm above the board"
            names.setdefault(top, []).append(f"H{plug.number}")
    return "; ".join(f"{_listed(holes)} {top}" for top, holes in names.items())


def _listed(names: list[str]) -> str:
    """``H1``, ``H1 and H2``."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
