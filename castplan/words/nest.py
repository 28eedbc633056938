"""Several parts in one box, in words and rows: what each is, where it lies, what they save."""

import numpy as np

from castplan import units
from castplan.materials.wording import axis_text, listed, volume_text, weight_text
from castplan.nest.records import Nest, Placed
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import formats

# Parts that are named one by one in a sentence; of more only how many.
_MAX_NAMED = 6
_TURNED_DEG = 0.5  # about the draw, less is not told


def name_of(part: Placed) -> str:
    """Name of a part: ``sliding catch``, ``sliding catch (2)`` for a copy."""
    if part.copy == 1:
        return part.name
    return say("nest.copy", part=part.name, copy=part.copy)


def named(part: Placed) -> str:
    """Number and name of a part: ``3 sliding catch (2)``."""
    return say("nest.named", number=part.number, part=name_of(part))


def gate_names(ports) -> str:
    """Labels of gates one by one, of many the first and the last."""
    labels = [port.label for port in ports]
    if len(labels) > _MAX_NAMED:
        return say("plan.to", first=labels[0], last=labels[-1])
    return str(listed(labels))


def bores_text(ports) -> str:
    """Bore of gates, of several bores from the least to the widest."""
    bores = sorted({port.diameter_mm for port in ports})
    widest = formats.length_text(bores[-1])
    return widest if len(bores) == 1 else say("plan.to", first=f"{bores[0]:g}", last=widest)


def lay_sentence(nest: Nest) -> str:
    """Where the parts lie, which way the upper half leaves them."""
    if len(nest.parts) > _MAX_NAMED:
        return say("nest.lay_many", n=len(nest.parts))
    return say("nest.lay", parts=", ".join(named(part) for part in nest.parts))


def saving_sentence(nest: Nest) -> str:
    """One box against a box for each."""
    shared = nest.shared
    saves = shared.silicone_ml <= shared.alone_ml
    return say(
        "nest.saving" if saves else "nest.saving_work",
        n=len(nest.parts),
        one=volume_text(shared.silicone_ml),
        alone=volume_text(shared.alone_ml),
        work=f"{shared.hands_on_h:.1f}",
        cure=f"{shared.cure_h:.0f}",
    )


def card_sentence(nest: Nest) -> str:
    """The parts with their openings, for the mould card."""
    return say(
        "nest.card",
        parts="; ".join(
            say("nest.card_part", part=named(part), openings=str(listed(part.openings)))
            if part.openings
            else named(part)
            for part in nest.parts
        ),
    )


def part_marks(plan: Plan) -> list[tuple[str, np.ndarray]]:
    """Number of each part and where it is written, draw frame (3,); none of a single part."""
    if plan.nest is None:
        return []
    frame = plan.split.draw.frame
    return [(str(part.number), frame.to_frame(np.array(part.label_mm))) for part in plan.nest.parts]


def part_rows(nest: Nest) -> list[tuple[str, ...]]:
    """Number, name, side up, turn about the draw, openings, casting."""
    return [
        (
            str(part.number),
            name_of(part),
            str(axis_text(part.draw)),
            _turn_cell(part),
            str(listed(part.openings)) if part.openings else say("nest.none"),
            say(
                "nest.casting",
                volume=units.digits(part.volume_ml, 3),
                weight=weight_text(part.casting_g),
            ),
        )
        for part in nest.parts
    ]


def _turn_cell(part):
    if min(part.turn_deg, 360.0 - part.turn_deg) <= _TURNED_DEG:
        return say("nest.none")
    return say("nest.turned", turn=f"{part.turn_deg:.0f}")
