"""Causes of missing resin: air that had no way out, or resin that did not get there."""

import numpy as np

from castplan.after.case import Case, fact, near, over
from castplan.after.cavity import cavity_of
from castplan.materials.flow import pressed_fraction
from castplan.mesh.stands import Stand
from castplan.model import Cause, Peak, Plan

# A box stood by eye may be off by this (assumed).
OFF_LEVEL_DEG = 3.0
N_AZIMUTHS = 8
# A pour that is told without its place could come from any of the openings.
NO_PLACE = 0.3


def caught_air(case: Case) -> list[Cause]:
    """Air that the plan leaves, or that stays once one opening is shut."""
    causes = []
    for pocket in case.cavity.planned:
        weight = _at(case, pocket)
        if weight > 0.05:
            causes.append(_unvented(case, pocket, weight))
    for k, port in enumerate(case.plan.mould.ports):
        if not case.cavity.lets_air[k]:
            continue
        for pocket in case.cavity.without(port.label)[:3]:
            weight = _at(case, pocket)
            if weight > 0.05:
                causes.append(_shut(case, port, pocket, weight))
    return causes


def peak_near(plan: Plan, place_mm) -> Peak | None:
    """The listed high point nearest to a place of the part frame."""
    if not plan.air.peaks:
        return None
    here = plan.air.frame.to_frame(np.asarray(place_mm))
    return min(plan.air.peaks, key=lambda peak: (np.linalg.norm(here - peak.place_mm), peak.number))


def _at(case, pocket):
    """How well a pocket lies where the defect is, and how much air it has for it."""
    if case.defect.where_mm is None:
        return NO_PLACE
    here = np.array(case.defect.where_mm)
    size = case.defect.size_mm
    # A void of a known size needs that much air; a quarter of it may be measured wrong.
    enough = 1.0 if size is None else over(4 * pocket.volume_mm3, limit=np.pi / 6 * size**3)
    # Air gathers at the top of its pocket.
    up = case.cavity.frame.up
    top, base = float(np.dot(pocket.top_mm, up)), float((pocket.base_mm @ up).min())
    high = float(np.clip((here @ up - base) / max(top - base, 1e-9), 0, 1))
    return near(pocket.away_mm(here), reach_mm=case.reach_mm) * enough * (0.6 + 0.4 * high)


def _away(case, pocket):
    if case.defect.where_mm is None:
        return ()
    away = pocket.away_mm(np.array(case.defect.where_mm))
    return (fact(away, "mm", "computed", "from the place told to the air that stays there"),)


def _unvented(case, pocket, weight):
    peak = peak_near(case.plan, pocket.top_mm)
    name = f"High point {peak.number}" if peak else "A high point"
    return Cause(
        code="no-opening",
        text=f"{name} has no opening of its own: air stays there in every pour.",
        evidence=(
            fact(
                pocket.volume_mm3 / 1000,
                "ml",
                "computed",
                "of air stays with every opening of the plan working",
            ),
            *_away(case, pocket),
            *case.repeated(),
        ),
        test="Pour one copy tilted so that this place runs up to an opening; if the void goes or "
        "moves, drill a vent here.",
        weight=weight,
        peak=peak.number if peak else None,
    )


def _shut(case, port, pocket, weight):
    plan = case.plan
    route = next((r for r in plan.vents.routes if r.label == port.label), None)
    peak = peak_near(plan, plan.air.frame.to_part(np.array(port.place_mm)))
    kind = "Gate" if port.kind == "gate" else "Vent"
    evidence = [
        fact(
            pocket.volume_mm3 / 1000,
            "ml",
            "computed",
            f"of air stays once {kind.lower()} {port.label} is shut",
        ),
        *_away(case, pocket),
        fact(port.diameter_mm, "mm", "computed", f"bore of {kind.lower()} {port.label}"),
    ]
    if route is not None:
        evidence.append(fact(route.length_mm, "mm", "computed", f"its way out ({route.route})"))
    # A long thin or bent way clogs sooner than a short straight one.
    slender = over(route.length_mm / route.bore_mm, limit=25.0) if route else 0.0
    sideways = route is not None and route.route == "sideways"
    ease = 0.85 + 0.1 * max(slender, float(sideways))
    return Cause(
        code="opening-shut",
        text=f"{kind} {port.label} at high point {peak.number} let no air out: blocked, too thin, "
        "or resin closed it before the air was gone.",
        evidence=(*evidence, *case.repeated()),
        test=f"Push a wire through {kind.lower()} {port.label} down to the cavity and blow through "
        "it; at the next pour see that resin comes out of it.",
        weight=weight * ease,
        peak=peak.number,
        port=port.label,
    )


def off_level(case: Case) -> list[Cause]:
    """Air that stays when the box does not stand as planned."""
    if case.defect.where_mm is None:
        return []
    attitude = case.plan.attitude
    worst = None
    for k in range(N_AZIMUTHS):
        stand = Stand("", attitude.frame, OFF_LEVEL_DEG, k * 360 / N_AZIMUTHS)
        cavity = cavity_of(case.plan, frame=stand.frame)
        for pocket in cavity.planned[:6]:
            weight = _at(case, pocket)
            if worst is None or weight > worst[0]:
                worst = (weight, pocket)
    if worst is None or worst[0] < 0.1:
        return []
    weight, pocket = worst
    return [
        Cause(
            code="off-level",
            text="The box did not stand as planned: a little tilt is enough to keep air here.",
            evidence=(
                fact(OFF_LEVEL_DEG, "deg", "assumed", "out of level, toward the worst side"),
                fact(pocket.volume_mm3 / 1000, "ml", "computed", "of air then stays here"),
                *_away(case, pocket),
            ),
            test="Lay a level on the box both ways before the next pour.",
            weight=0.5 * weight,
        )
    ]


def spill(case: Case) -> list[Cause]:
    """Air that resin folds in where it runs over an edge."""
    causes = []
    for basin in case.plan.fill.basins:
        spread = (3000 * basin.volume_ml / (4 * np.pi)) ** (1 / 3)
        weight = 0.6 * case.nearness(basin.place_mm, frame=case.plan.draw.frame, spread_mm=spread)
        if weight > 0.05:
            causes.append(
                Cause(
                    code="spill",
                    text="Resin runs over an edge into this low part and folds air in.",
                    evidence=(
                        fact(basin.drop_mm, "mm", "computed", "that the resin falls there"),
                        fact(basin.volume_ml, "ml", "computed", "that fills this way"),
                    ),
                    test="Pour slower, or tilt so that this part fills from below; see whether "
                    "the void goes.",
                    weight=weight * over(basin.drop_mm, limit=3.0),
                )
            )
    return sorted(causes, key=lambda cause: -cause.weight)[:1]


def small_bubbles(case: Case) -> list[Cause]:
    """Bubbles that the mix brought and that are too small to rise out in time."""
    pressure = case.pour.pressure_bar
    evidence, weight = [], 0.25
    if case.plan.fill.bubble_mm is not None:
        low_mm, high_mm = case.plan.fill.bubble_mm
        # Time to rise goes with the pot life, the diameter with one over its root.
        pot_min = case.pot_life_min[0]
        warm = (case.mix.pot_life_min / pot_min) ** 0.5
        evidence.append(
            fact(
                high_mm * warm,
                "mm",
                "computed",
                "smallest bubble that rises out before the resin sets",
                low=low_mm * warm,
                high=high_mm * warm,
            )
        )
        if case.defect.size_mm is not None:
            weight = 0.6 * over(high_mm * warm, limit=case.defect.size_mm)
        elif case.defect.kind == "pinholes":
            weight = 0.45
    text = "Bubbles from mixing and pouring stayed in the resin: they rise too slowly."
    if case.pour.is_degassed is not None:
        did = "was" if case.pour.is_degassed else "was not"
        text += f" The mix {did} put under vacuum."
        weight *= 0.5 if case.pour.is_degassed else 1.2
    if pressure is not None:
        evidence.append(
            fact(
                100 * pressed_fraction(pressure),
                "%",
                "computed",
                f"of a bubble's volume is left under {pressure:g} bar (Boyle)",
            )
        )
        weight *= 1.2 if pressure < 1.0 else 0.4
    return [
        Cause(
            code="bubbles",
            text=text,
            evidence=tuple(evidence),
            test="Cast a plain cup from the same mix, half of it put under vacuum or pressure; cut "
            "both and compare.",
            weight=min(weight, 0.9),
        )
    ]


def gelled(case: Case) -> list[Cause]:
    """Resin that set before the cavity was full."""
    pot, low, high = case.pot_life_min
    fill_min = case.plan.gate.fill_high_s / 60
    cup = case.cup
    if case.pour.poured_min is not None:
        used = fact(
            case.pour.poured_min, "min", "measured", "from mixing to poured out, by the log"
        )
    else:
        planned = cup.mix_and_pour_min if cup else case.mix.pour_by_min
        used = fact(planned, "min", "assumed", "to mix and pour, by the plan; not in the log")
    total = used.value + fill_min
    return [
        Cause(
            code="gelled",
            text="The resin thickened before the cavity was full: too warm, or poured too late.",
            evidence=(
                case.temperature,
                fact(pot, "min", "computed", "pot life at this temperature", low=low, high=high),
                used,
                fact(
                    case.plan.gate.fill_high_s,
                    "s",
                    "computed",
                    "to fill through the gate at the thick end of the viscosity",
                ),
            ),
            test="Time the next mix in its cup at this temperature until it strings; cool the "
            "resin, or pour sooner.",
            weight=over(total, limit=0.8 * pot),
        )
    ]


def ran_short(case: Case) -> list[Cause]:
    """Less resin than the cavity takes."""
    need_g = case.mix.net_ml * case.card.density_g_ml.value
    evidence = [fact(need_g, "g", "computed", "fills it, nothing wasted")]
    weight = 0.1
    if case.pour.a_g is not None:
        mixed_g = case.pour.a_g + case.pour.b_g
        evidence.append(fact(mixed_g, "g", "measured", "mixed, by the log"))
        weight = over(need_g, limit=mixed_g) ** 1.5 if mixed_g >= need_g else 0.9
        weight = weight if mixed_g < 1.03 * need_g else 0.1
    if case.pour.shot_g is not None:
        evidence.append(fact(case.pour.shot_g, "g", "measured", "came out, by the log"))
        if case.pour.shot_g < 0.97 * need_g:
            weight = max(weight, 0.35)
    return [
        Cause(
            code="ran-short",
            text=f"Too little {case.card.kind} went in: mixed short, left in the cup, or leaked.",
            evidence=tuple(evidence),
            test="Weigh cup and leavings after the pour: mixed less leavings must reach the first "
            "number.",
            weight=weight,
        )
    ]


def thin_way(case: Case) -> list[Cause]:
    """Thin parts that resin does not reach before it gels."""
    pot_min = case.pot_life_min[0]
    causes = []
    for thin in case.plan.fill.thin:
        reach_mm = thin.reach_mm * (pot_min / case.mix.pot_life_min) ** 0.5
        at = case.nearness(
            thin.place_mm, frame=case.plan.draw.frame, spread_mm=(thin.area_mm2 / np.pi) ** 0.5
        )
        causes.append(
            Cause(
                code="thin",
                text=f"The part is only {thin.gap_mm:.1f} mm thick here: resin stops before its "
                "far end.",
                evidence=(
                    fact(thin.way_mm, "mm", "computed", "from the nearest thick place"),
                    fact(
                        reach_mm,
                        "mm",
                        "computed",
                        "that resin runs into such a gap before it gels, at this temperature",
                    ),
                ),
                test="Warm the mould to 35 C at most, raise the cup, or thicken this wall; try one "
                "at a time.",
                weight=at * over(thin.way_mm, limit=reach_mm),
            )
        )
    return sorted(causes, key=lambda cause: -cause.weight)[:1]
