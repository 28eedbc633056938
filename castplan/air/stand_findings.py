"""Other ways to stand the mould, or to part it, that would cost less."""

import numpy as np

from castplan.air.records import Air
from castplan.record import Finding, finding

# A combination that saves less than this is not worth a finding (assumed).
WORTH_MIN = 10.0


def list_stand_findings(air: Air) -> tuple[Finding, ...]:
    """What the shop asked for against what would be cheaper."""
    return tuple(_attitude(air.attitude, air.trade))


def _attitude(attitude, trade):
    chosen, *others = attitude.options
    if attitude.is_asked_for and others and chosen.cost_min > others[0].cost_min + WORTH_MIN:
        up = ",".join(f"{value:.3f}" for value in others[0].up)
        yield finding(
            "other-attitude-cheaper",
            "note",
            "air",
            "air_finding.other_attitude",
            cost=f"{chosen.cost_min:.0f}",
            other_cost=f"{others[0].cost_min:.0f}",
            why=others[0].why,
            up=up,
        )
    own = [pair for pair in trade.combinations if pair.is_chosen]
    best = trade.best
    is_other = own and not np.allclose(own[0].draw, best.draw)
    if is_other and own[0].cost_min > best.cost_min + WORTH_MIN:
        draw = ",".join(f"{value:.3f}" for value in best.draw)
        yield finding(
            "other-draw-cheaper",
            "note",
            "air",
            "air_finding.other_draw",
            cost=f"{own[0].cost_min:.0f}",
            other_cost=f"{best.cost_min:.0f}",
            draw=draw,
        )
