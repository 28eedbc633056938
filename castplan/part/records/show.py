"""Which side of the part will be seen."""

from castplan.record import record

SHOW_BASES = ("given", "guessed", "unknown")
# What a guess rests on, or why there is none; `texts` has the words.
SHOW_WHYS = ("given", "sheet", "hollow", "ribs", "rounded", "feet", "even", "unclear")


@record
class ShowFace:
    """The side that will be seen: told by the shop, guessed from the shape, or unknown.

    `strength` is how much speaks for a guess, 0 to 1 and more: the share of the part's
    envelope that is hollow on the other side only, and the share of its view that is
    rounded on this side only. It is no probability.
    """

    direction: tuple[float, float, float] | None  # part frame, unit length; out of that side
    basis: str  # one of `SHOW_BASES`
    why: str  # one of `SHOW_WHYS`
    strength: float
    weight: float  # of its costs against those of a side that the shop named
