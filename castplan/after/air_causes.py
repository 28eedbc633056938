"""Causes of missing resin: air that had no way out, or resin that did not get there."""

import numpy as np

from castplan.after.case import LOGGED_WEIGHT, Case, fact, near, over, told_distance
from castplan.after.cavity import cavity_of
from castplan.after.records import Cause
from castplan.air.records import Peak
from castplan.geometry.stands import Stand
from castplan.materials.flow import POUR_RATE_ML_MIN, pressed_fraction
from castplan.plan_record import Plan
from castplan.texts.told import tell, together

# A box stood by eye may be off by this (assumed).
OFF_LEVEL_DEG = 3.0
N_AZIMUTHS = 8
# A pour that is told without its place could come from any of the openings.
NO_PLACE = 0.3
# A dent is small; one logged without its size counts as this (assumed).
DENT_MM = 4.0
# Bubbles of a mix are up to so wide; one that rose stays under the skin (assumed).
SPECK_MM = 1.0
# A void has at least this share of the width of the air that made it: what is
# left where an opening let some of it out (assumed).
LEAST_SHARE = 1 / 6


def caught_air(case: Case) -> list[Cause]:
    """Air that the plan leaves, or that stays once one opening is shut."""
    causes = []
    for pocket in case.cavity.planned:
        weight = _at(case, pocket)
        if weight > 0.05:
            causes.append(_unvented(case, pocket, weight))
    for k, port in enumerate(case.plan.mould.block.ports):
        if not case.cavity.lets_air[k]:
            continue
        for pocket in case.cavity.without(port.label)[:3]:
            weight = _at(case, pocket)
            if weight > 0.05:
                causes.append(_shut(case, port, pocket, weight))
    return causes


def peak_near(plan: Plan, place_mm) -> Peak | None:
    """The listed high point nearest to a place of the part frame."""
    if not plan.air.openings.peaks:
        return None
    here = plan.air.openings.frame.to_frame(np.asarray(place_mm))
    return min(
        plan.air.openings.peaks,
        key=lambda peak: (np.linalg.norm(here - peak.place_mm), peak.number),
    )


def _at(case, pocket):
    """How well a pocket lies where the defect is, and how much air it has for it."""
    if case.defect.where_mm is None:
        return case.unplaced(pocket.top_mm, weight=NO_PLACE)
    here = np.array(case.defect.where_mm)
    # Air gathers at the top of its pocket.
    up = case.cavity.frame.up
    top, base = float(np.dot(pocket.top_mm, up)), float((pocket.base_mm @ up).min())
    high = float(np.clip((here @ up - base) / max(top - base, 1e-9), 0, 1))
    at = near(pocket.away_mm(here), reach_mm=case.reach_mm) * (0.6 + 0.4 * high)
    size = case.defect.size_mm
    if size is None and case.defect.kind == "dimple":
        size = DENT_MM
    if size is None:
        return at
    # A void of a known size needs that much air (a quarter of it may be measured
    # wrong), and that much air leaves no speck, nor any that lies far below its roof.
    enough = over(4 * pocket.volume_mm3, limit=np.pi / 6 * size**3)
    across = (6 / np.pi * pocket.volume_mm3) ** (1 / 3)
    below = max(top - float(here @ up) - max(size, across), 0.0)
    return (
        at * enough * over(size, limit=LEAST_SHARE * across) * near(below, reach_mm=case.reach_mm)
    )


def _away(case, pocket):
    if case.defect.where_mm is None:
        return ()
    away = pocket.away_mm(np.array(case.defect.where_mm))
    return (told_distance(away, tell("cause_air.away")),)


def _unvented(case, pocket, weight):
    peak = peak_near(case.plan, pocket.top_mm)
    return Cause(
        code="no-opening",
        text=tell("cause_air.no_opening", peak=peak.number)
        if peak
        else tell("cause_air.no_opening_unlisted"),
        evidence=(
            fact(
                pocket.volume_mm3 / 1000,
                "ml",
                "computed",
                tell("cause_air.stays_all_open"),
            ),
            *_away(case, pocket),
            *case.repeated(),
        ),
        test=tell("cause_air.no_opening_test"),
        weight=weight,
        peak=peak.number if peak else None,
    )


def _shut(case, port, pocket, weight):
    plan = case.plan
    route = next((r for r in plan.mould.vents.routes if r.label == port.label), None)
    peak = peak_near(plan, plan.air.openings.frame.to_part(np.array(port.place_mm)))
    evidence = [
        fact(
            pocket.volume_mm3 / 1000,
            "ml",
            "computed",
            tell(f"cause_air.stays_{port.kind}_shut", label=port.label),
        ),
        *_away(case, pocket),
        fact(
            port.diameter_mm,
            "mm",
            "computed",
            tell(f"cause_air.bore_{port.kind}", label=port.label),
        ),
    ]
    if route is not None:
        way = tell(f"cause_air.way_{route.route}")
        evidence.append(fact(route.length_mm, "mm", "computed", way))
    # A long thin or bent way clogs sooner than a short straight one.
    slender = over(route.length_mm / route.bore_mm, limit=25.0) if route else 0.0
    sideways = route is not None and route.route == "sideways"
    ease = 0.85 + 0.1 * max(slender, float(sideways))
    return Cause(
        code="opening-shut",
        text=tell(f"cause_air.shut_{port.kind}", label=port.label, peak=peak.number),
        evidence=(*evidence, *case.repeated()),
        test=tell(f"cause_air.shut_{port.kind}_test", label=port.label),
        weight=weight * ease,
        peak=peak.number,
        port=port.label,
    )


def off_level(case: Case) -> list[Cause]:
    """Air that stays when the box does not stand as planned."""
    if case.defect.where_mm is None:
        return []
    attitude = case.plan.air.attitude
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
            text=tell("cause_air.off_level"),
            evidence=(
                fact(OFF_LEVEL_DEG, "deg", "assumed", tell("cause_air.out_of_level")),
                fact(pocket.volume_mm3 / 1000, "ml", "computed", tell("cause_air.then_stays")),
                *_away(case, pocket),
            ),
            test=tell("cause_air.off_level_test"),
            weight=0.5 * weight,
        )
    ]


def spill(case: Case) -> list[Cause]:
    """Air that resin folds in where it runs over an edge."""
    causes = []
    for basin in case.plan.mould.fill.basins:
        spread = (3000 * basin.volume_ml / (4 * np.pi)) ** (1 / 3)
        weight = 0.6 * case.nearness(
            basin.place_mm, frame=case.plan.split.draw.frame, spread_mm=spread
        )
        if weight > 0.05:
            causes.append(
                Cause(
                    code="spill",
                    text=tell("cause_air.spill"),
                    evidence=(
                        fact(basin.drop_mm, "mm", "computed", tell("cause_air.falls")),
                        fact(basin.volume_ml, "ml", "computed", tell("cause_air.fills_so")),
                    ),
                    test=tell("cause_air.spill_test"),
                    weight=weight * over(basin.drop_mm, limit=3.0),
                )
            )
    return sorted(causes, key=lambda cause: -cause.weight)[:1]


def small_bubbles(case: Case) -> list[Cause]:
    """Bubbles that the mix brought and that are too small to rise out in time."""
    pressure = case.pour.pressure_bar
    evidence, weight = [], 0.25
    if case.plan.mould.fill.bubble_mm is not None:
        low_mm, high_mm = case.plan.mould.fill.bubble_mm
        # Time to rise goes with the pot life, the diameter with one over its root.
        pot_min = case.pot_life_min[0]
        warm = (case.mix.pot_life_min / pot_min) ** 0.5
        evidence.append(
            fact(
                (high_mm * warm, low_mm * warm, high_mm * warm),
                "mm",
                "computed",
                tell("cause_air.rises_out"),
            )
        )
        if case.defect.size_mm is not None:
            weight = 0.6 * over(max(high_mm * warm, SPECK_MM), limit=case.defect.size_mm)
        elif case.defect.kind == "pinholes":
            weight = 0.45
    text = tell("cause_air.bubbles")
    if case.pour.is_degassed is not None:
        text = together([text, case.vacuum_sentence])
        weight *= 0.5 if case.pour.is_degassed else 1.2
    if pressure is not None:
        evidence.append(
            fact(
                100 * pressed_fraction(pressure),
                "%",
                "computed",
                tell("cause_air.bubble_left", pressure=f"{pressure:g}"),
            )
        )
        weight *= 1.2 if pressure < 1.0 else 0.4
    return [
        Cause(
            code="bubbles",
            text=text,
            evidence=tuple(evidence),
            test=tell("cause_air.bubbles_test"),
            weight=min(weight, 0.9),
        )
    ]


def gelled(case: Case) -> list[Cause]:
    """Resin that set before the cavity was full."""
    pot, low, high = case.pot_life_min
    mould, cup = case.plan.mould, case.cup
    # What is logged ends with the cup empty; a narrow gate then runs on. The plan's own
    # time to pour has it in already.
    behind_min = mould.gate.fill_high_s / 60 - mould.block.part_ml / POUR_RATE_ML_MIN["resin"]
    if case.pour.poured_min is not None:
        used = fact(case.pour.poured_min, "min", "measured", tell("cause_air.poured_logged"))
    else:
        planned = cup.mix_and_pour_min if cup else case.mix.pour_by_min
        used = fact(planned, "min", "assumed", tell("cause_air.poured_planned"))
        behind_min = 0.0
    total = used.value + max(behind_min, 0.0)
    weight = over(total, limit=0.8 * pot)
    limits = [
        case.temperature,
        fact((pot, low, high), "min", "computed", tell("cause_air.pot_life")),
    ]
    if case.pour.thick_min is not None:
        # The cup itself told when it set: no rule of thumb beside it.
        pot = case.pour.thick_min
        limits = [fact(pot, "min", "measured", tell("cause_air.thick_logged"))]
        weight = over(total, limit=0.9 * pot)
    if case.pour.poured_min is not None and used.value >= pot:
        weight = LOGGED_WEIGHT
    return [
        Cause(
            code="gelled",
            text=tell("cause_air.gelled"),
            evidence=(
                *limits,
                used,
                fact(case.plan.mould.gate.fill_high_s, "s", "computed", tell("cause_air.to_fill")),
            ),
            test=tell("cause_air.gelled_test"),
            weight=weight,
        )
    ]


def ran_short(case: Case) -> list[Cause]:
    """Less resin than the cavity takes."""
    is_planned = case.card.card_id == case.mix.card
    density = case.mix.resin_g_ml if is_planned else case.card.density_g_ml.value
    need_g = case.mix.net_ml * density
    evidence = [fact(need_g, "g", "computed", tell("cause_air.needed"))]
    weight = 0.1
    if case.pour.a_g is not None:
        mixed_g = case.pour.a_g + case.pour.b_g
        evidence.append(fact(mixed_g, "g", "measured", tell("cause_air.mixed_logged")))
        weight = over(need_g, limit=mixed_g) ** 1.5 if mixed_g >= need_g else LOGGED_WEIGHT
        weight = weight if mixed_g < 1.03 * need_g else 0.1
    if case.pour.shot_g is not None:
        evidence.append(fact(case.pour.shot_g, "g", "measured", tell("cause_air.came_out")))
        if case.pour.shot_g < 0.97 * need_g:
            weight = max(weight, 0.35)
    return [
        Cause(
            code="ran-short",
            text=tell(f"cause_air.ran_short_{case.card.kind}"),
            evidence=tuple(evidence),
            test=tell("cause_air.ran_short_test"),
            weight=weight,
        )
    ]


def thin_way(case: Case) -> list[Cause]:
    """Thin parts that resin does not reach before it gels."""
    pot_min = case.pot_life_min[0]
    causes = []
    for thin in case.plan.mould.fill.thin:
        reach_mm = thin.reach_mm * (pot_min / case.mix.pot_life_min) ** 0.5
        at = case.nearness(
            thin.place_mm,
            frame=case.plan.split.draw.frame,
            spread_mm=(thin.area_mm2 / np.pi) ** 0.5,
        )
        causes.append(
            Cause(
                code="thin",
                text=tell("cause_air.thin", gap=f"{thin.gap_mm:.1f}"),
                evidence=(
                    fact(thin.way_mm, "mm", "computed", tell("cause_air.from_thick")),
                    fact(reach_mm, "mm", "computed", tell("cause_air.reach")),
                ),
                test=tell("cause_air.thin_test"),
                weight=at * over(thin.way_mm, limit=reach_mm),
            )
        )
    return sorted(causes, key=lambda cause: -cause.weight)[:1]
