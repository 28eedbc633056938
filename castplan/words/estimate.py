"""An estimate without a mesh, in words."""

from castplan.bench.records import EstimateResult
from castplan.materials.cards import Card
from castplan.materials.wording import volume_text, weight_text
from castplan.record import Sourced
from castplan.texts import say
from castplan.words import formats
from castplan.words.bench import number_text


def width_text(number: Sourced) -> str:
    """How wide a range is, in percent of its value: ``-12 % to +15 %``."""
    low, high = (100 * (end / number.value - 1) for end in (number.low, number.high))
    return say("bench.width", low=f"{low:+.0f}", high=f"{high:+.0f}")


def estimate_lines(result: EstimateResult, silicone: Card, resin: Card, *, copies: int):
    """An estimate for the terminal.

    Parameters
    ----------
    result : EstimateResult
    silicone, resin : Card
    copies : int

    Returns
    -------
    list of str
    """
    part, rubber, cast = result.part_ml, result.silicone_g, result.resin_g
    lines = [
        say(
            "bench.box_inside_mm_beside_the",
            box=formats.size_text(result.box_mm),
            wall=f"{result.wall_mm:g}",
        ),
        say(
            "bench.part_to",
            value=volume_text(part.value),
            basis=formats.behind(part.basis),
            low=volume_text(part.low),
            high=volume_text(part.high),
            source=part.source,
        ),
        say(
            "bench.silicone_c_for_both_halves",
            value=weight_text(rubber.value),
            low=weight_text(rubber.low),
            high=weight_text(rubber.high),
            width=width_text(rubber),
            title=silicone.title,
        ),
        say("bench.box_less_bounding_box_the", bounding_box=weight_text(result.bounding_box_g)),
        say(
            "bench.resin_c_a_copy_to",
            value=weight_text(cast.value),
            low=weight_text(cast.low),
            high=weight_text(cast.high),
            width=width_text(cast),
            title=resin.title,
        ),
    ]
    if copies > 1:
        lines.append(
            say("bench.resin_for_copies", copies=copies, mass=weight_text(copies * cast.value))
        )
    lines.append(say("bench.it_rests_on"))
    lines += [f"  {number.source}: {number_text(number)}" for number in result.assumptions]
    lines.append(say("bench.without_a_mesh_nobody_can"))
    return lines
