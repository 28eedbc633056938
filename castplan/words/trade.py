"""The draw and the pouring position weighed together, in words."""

from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import plan as view


def trade_sentence(plan: Plan) -> str:
    """Why this draw with this way up, and what the next two pairs cost."""
    trade = plan.air.trade
    together = say("air.together_cost", cost=f"{trade.chosen.cost_min:.0f}", why=trade.why)
    others = [pair for pair in trade.combinations if not pair.is_chosen][:2]
    if not others:
        return together
    named = "; ".join(
        say(
            "air.pair_costs",
            cost=f"{pair.cost_min:.0f}",
            draw=view.direction_words(pair.draw, plan),
            stand=air_view.stand_words(pair, is_cut=plan.split.is_cut),
        )
        for pair in others
    )
    return f"{together} {say('air.next_pairs', n=len(others), named=named)}"


def _axes(direction) -> str:
    """``+z``, or three numbers, for a column that says whose axes they are."""
    k = max(range(3), key=lambda axis: abs(direction[axis]))
    if abs(direction[k]) > 1 - 1e-3:
        return f"{'+' if direction[k] > 0 else '-'}{'xyz'[k]}"
    return ", ".join(f"{round(value, 2) + 0.0:.2f}" for value in direction)


def trade_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Draw, how it stands, vents; minutes for pull, seam, stand, gate, vents, air, together."""
    rows = []
    for pair in plan.air.trade.combinations:
        rows.append(
            (
                say("air.here") if pair.is_chosen else "",
                _axes(pair.draw),
                air_view.stand_words(pair, is_cut=plan.split.is_cut),
                f"{pair.draw_min:.0f}",
                f"{pair.seam_min:.0f}",
                f"{pair.stand_min:.0f}",
                f"{pair.gate_min:.0f}",
                f"{pair.vents_min:.0f}",
                f"{pair.air_min:.0f}",
                f"{pair.cost_min:.0f}",
            )
        )
    return rows
