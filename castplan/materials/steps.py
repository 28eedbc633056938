"""The list of steps while it is written, and the words that the steps share."""

from dataclasses import dataclass, field

from castplan.materials.wording import mix_text
from castplan.model import Cup, MouldResult, Port, ScheduleResult, Step

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
