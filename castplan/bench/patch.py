"""The test patch: how much silicone is mixed for it, in weights that the scale can show."""

from castplan.materials.cards import Card, split_by_weight
from castplan.materials.said import said_number
from castplan.materials.wording import grams_text

# Part A of a patch is weighed in whole grams, near these; the best of so many is taken (assumed).
_TRIED_G = 6


def patch_number(card: Card, *, step_g: float):
    """All of a patch: a dab on a hidden spot, and what sticks to cup and stick.

    Parameters
    ----------
    card : Card
        The silicone.
    step_g : float
        The smallest step of the scale [g].

    Returns
    -------
    Sourced
        [g]; of about 20 g as many that a whole step of part B meets the ratio best.
    """
    usual = said_number("bench_number.patch", value=20.0, unit="g", low=10.0, high=50.0)
    ratio = card.ratio_b.value / card.ratio_a.value
    least_a_g = round(usual.value / (1 + ratio))

    def off(a_g):
        b_g = step_g * max(1, round(a_g * ratio / step_g))
        return round(abs(b_g / (a_g * ratio) - 1), 9)

    a_g = min(range(least_a_g, least_a_g + _TRIED_G), key=off)
    value = round(a_g * (1 + ratio), 6)
    return said_number("bench_number.patch", value=value, unit="g", low=10.0, high=50.0)


def patch_parts(card: Card, *, step_g: float) -> tuple[float, float]:
    """Parts A and B of a patch [g].

    Parameters
    ----------
    card : Card
    step_g : float

    Returns
    -------
    a_g, b_g : float
    """
    return split_by_weight(
        patch_number(card, step_g=step_g).value,
        ratio_a=card.ratio_a.value,
        ratio_b=card.ratio_b.value,
    )


def patch_texts(card: Card, *, step_g: float) -> dict[str, str]:
    """Parts A and B as the scale shows them, for the text of the step.

    Parameters
    ----------
    card : Card
    step_g : float
    """
    parts_g = patch_parts(card, step_g=step_g)
    return {name: grams_text(g, step_g=step_g) for name, g in zip("ab", parts_g, strict=True)}
