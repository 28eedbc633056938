"""What counts as no difference between two ways to do it, in minutes of the shop.

The weights say no more, and sampling moves a cost by as much; the plainer way is
taken, and the plan says that there was another.
"""

# Kinds of parting line (assumed).
LINE_MIN = 5.0
# Ways to stand the mould (assumed). No round number: what differs by whole and half
# points would lie on the border, and the last digit tell.
STAND_MIN = 1.03
# Draws, or this share of what they cost.
DRAW_MIN, DRAW_FRACTION = 0.3, 0.01


def draw_margin_min(cost_min: float) -> float:
    """What draws may cost more than one of `cost_min` and still be as good."""
    return max(DRAW_MIN, DRAW_FRACTION * cost_min)
