"""Causes that lie in the mould: its rubber, its seam, its age, its own bubbles."""

import numpy as np

from castplan.after.case import Case, fact, near, over, told_distance
from castplan.after.records import Cause
from castplan.materials.flow import G_M_S2
from castplan.texts.told import tell, together

# Of a seam line drawn on a copy by eye (assumed).
SEAM_MM = 3.0


def age(case: Case) -> list[Cause]:
    """Casts the mould has given, against the life of its card."""
    life = case.plan.bench.buy.mould_life_casts
    if life is None or not case.turn:
        return []
    return [
        Cause(
            code="mould-age",
            text=tell("cause_mould.age"),
            evidence=(
                fact(case.turn, "casts", "measured", tell("cause_mould.so_far")),
                fact(
                    (life.value, life.low, life.high),
                    "casts",
                    life.basis,
                    tell("cause_mould.planned_life"),
                ),
            ),
            test=tell("cause_mould.age_test"),
            weight=0.8 * over(case.turn, limit=life.value),
        )
    ]


def pulled_rubber(case: Case) -> list[Cause]:
    """Rubber that has to stretch out of an undercut, or a thin fin of it."""
    causes = []
    for flex in case.plan.split.flex.pockets:
        pocket = next(p for p in case.plan.split.undercuts.pockets if p.number == flex.number)
        at = _in_box(case, pocket.low_mm, pocket.high_mm)
        causes.append(
            Cause(
                code="undercut",
                text=tell("cause_mould.undercut", number=pocket.number),
                evidence=(
                    fact(100 * flex.stretch_fraction, "%", "computed", tell("cause_mould.stretch")),
                    fact(
                        100 * flex.limit_fraction,
                        "%",
                        "computed",
                        tell("cause_mould.stretch_limit"),
                    ),
                    *_force(case),
                ),
                test=tell("cause_mould.undercut_test"),
                weight=at * over(flex.stretch_fraction, limit=flex.limit_fraction),
            )
        )
    for thin in case.plan.split.flex.thin:
        if thin.kind == "rubber":
            at = case.nearness(
                thin.centre_mm,
                frame=case.plan.split.draw.frame,
                spread_mm=(thin.area_mm2 / np.pi) ** 0.5,
            )
            causes.append(
                Cause(
                    code="thin-rubber",
                    text=tell("cause_mould.fin"),
                    evidence=(
                        fact(thin.thickness_mm, "mm", "computed", tell("cause_mould.thick")),
                        *_force(case),
                    ),
                    test=tell("cause_mould.fin_test"),
                    weight=at * over(4.0, limit=thin.thickness_mm),
                )
            )
    return sorted(causes, key=lambda cause: -cause.weight)[:2]


def _force(case):
    """The pull that opened it, and that of the copies before."""
    if case.pour.force_n is None:
        return ()
    before = [
        line.force_n
        for line in case.log.copies_of(case.pour.mould)
        if line.number < case.pour.number and line.force_n is not None
    ]
    facts = [fact(case.pour.force_n, "N", "measured", tell("cause_mould.force"))]
    if before:
        facts.append(
            fact(
                (np.mean(before), min(before), max(before)),
                "N",
                "measured",
                tell("cause_mould.force_before", n=len(before)),
            )
        )
    return tuple(facts)


def sticking(case: Case) -> list[Cause]:
    """Release worn off: the pull rises from copy to copy."""
    forces = [
        line.force_n
        for line in case.log.copies_of(case.pour.mould)
        if line.force_n is not None and line.number <= case.pour.number
    ]
    weight = 0.2
    if len(forces) > 1:
        weight = 0.7 * over(forces[-1] / np.mean(forces[:-1]) - 1, limit=0.3)
    return [
        Cause(
            code="sticking",
            text=tell("cause_mould.sticks"),
            evidence=_force(case),
            test=tell("cause_mould.sticks_test"),
            weight=weight,
        )
    ]


def _in_box(case, low, high):
    where = case.where_draw_mm
    if where is None:
        middle = 0.5 * (np.asarray(low) + np.asarray(high))
        return case.unplaced(case.plan.split.draw.frame.to_part(middle), weight=0.4)
    away = np.maximum(np.maximum(np.subtract(low, where), where - np.array(high)), 0.0)
    return near(float(np.linalg.norm(away)), reach_mm=case.reach_mm)


def seam_distance_mm(case: Case) -> float | None:
    """From the defect to the parting line as built; None without a place."""
    where = case.where_draw_mm
    if where is None:
        return None
    slit = case.plan.mould.slit
    best = np.inf
    for loop in built_loops(case.plan.split.line) if slit is None else slit.seams_mm:
        a, step = loop[:-1], np.diff(loop, axis=0)
        t = np.clip(
            ((where - a) * step).sum(axis=1) / np.maximum((step**2).sum(axis=1), 1e-12), 0, 1
        )
        best = min(best, float(np.linalg.norm(a + t[:, None] * step - where, axis=1).min()))
    return best


def built_loops(line) -> list[np.ndarray]:
    """The parting line on the part: round each outline and in each hole, closed, (k, 3)."""
    rims = [(rim, rim.line_mm) for rim in line.outlines]
    rims += [
        (
            plug.rim,
            plug.rim.line_mm
            if plug.is_following
            else np.full_like(plug.rim.line_mm, plug.height_mm),
        )
        for plug in line.plugs
    ]
    loops = [np.column_stack([rim.points_mm, heights_mm]) for rim, heights_mm in rims]
    return [np.concatenate([loop, loop[:1]]) for loop in loops]


def push_n(case: Case) -> float:
    """Force with which resin under the cup's head pushes the two sides of the parting apart."""
    plan = case.plan
    area_mm2 = float((plan.bench.heat.thickness_mm > 0).sum()) * plan.bench.heat.cell_mm**2
    depth_mm = plan.mould.gate.head_mm + max(plan.part.check.extent_mm) / 2
    return case.card.density_g_ml.value * 1000 * G_M_S2 * depth_mm / 1000 * area_mm2 * 1e-6


def parted_halves(case: Case) -> list[Cause]:
    """Halves that the resin or the pot pushed apart, or clay that left a round edge."""
    if case.plan.split.is_cut:
        return []
    away = seam_distance_mm(case)
    at = 1.0 if away is None else near(away, reach_mm=max(SEAM_MM, case.reach_mm))
    plan, causes = case.plan, []
    pushes_n = push_n(case)
    block_n = plan.bench.equipment.block_g / 1000 * G_M_S2 / 2
    where = () if away is None else (told_distance(away, tell("cause_mould.from_seam")),)
    causes.append(
        Cause(
            code="pushed-apart",
            text=tell("cause_mould.pushed"),
            evidence=(
                fact(pushes_n, "N", "computed", tell("cause_mould.push")),
                fact(block_n, "N", "computed", tell("cause_mould.half_weighs")),
                *where,
            ),
            test=tell("cause_mould.pushed_test"),
            weight=at * (0.35 + 0.3 * over(pushes_n, limit=block_n)),
        )
    )
    length_mm = sum(option.length_mm for option in plan.split.line.options[:1])
    level = plan.split.line.kind == "level"
    causes.append(
        Cause(
            code="round-edge",
            text=tell("cause_mould.round_edge"),
            evidence=(
                fact(length_mm, "mm", "computed", tell(f"cause_mould.seam_{plan.split.line.kind}")),
                *where,
                *case.repeated(),
            ),
            test=tell("cause_mould.round_edge_test"),
            weight=at * (0.3 if level else 0.45) * (1.4 if case.n_before else 1.0),
        )
    )
    if away is not None and away > 2 * SEAM_MM:
        causes.append(
            Cause(
                code="torn-rubber",
                text=tell("cause_mould.tear"),
                evidence=where,
                test=tell("cause_mould.tear_test"),
                weight=0.7 * (1 - near(away, reach_mm=max(SEAM_MM, case.reach_mm))),
            )
        )
    return causes


def shifted_halves(case: Case) -> list[Cause]:
    """Halves that do not find their place: keys too few or too loose, or closed wrongly."""
    if case.plan.split.is_cut:  # no halves, but bands round it all the same
        return [_over_banded(case)]
    keys, boards = case.plan.mould.keys, case.plan.mould.boards
    n_keys = len(keys.places_mm)
    causes = [
        Cause(
            code="keys",
            text=tell("cause_mould.keys"),
            evidence=(
                fact(n_keys, "keys", "computed", tell("cause_mould.in_parting")),
                fact(keys.diameter_mm, "mm", "computed", tell("cause_mould.key_across")),
            ),
            test=tell("cause_mould.keys_test"),
            weight=0.45 if n_keys >= 4 else 0.7,
        )
    ]
    if keys.misfit_mm is not None:
        causes.append(
            Cause(
                code="turned",
                text=tell("cause_mould.turned"),
                evidence=(fact(keys.misfit_mm, "mm", "computed", tell("cause_mould.misfit")),),
                test=tell("cause_mould.turned_test"),
                weight=0.5 * over(1.0, limit=keys.misfit_mm),
            )
        )
    if boards.bulge_mm is not None:
        causes.append(
            Cause(
                code="bulge",
                text=tell("cause_mould.bulge"),
                evidence=(
                    fact(boards.bulge_mm, "mm", "computed", tell("cause_mould.bends")),
                    fact(boards.bulge_limit_mm, "mm", "assumed", tell("cause_mould.bend_limit")),
                ),
                test=tell("cause_mould.bulge_test"),
                weight=0.7 * over(boards.bulge_mm, limit=boards.bulge_limit_mm),
            )
        )
    causes.append(_over_banded(case))
    return causes


def _over_banded(case):
    wall_mm = case.plan.mould.block.wall_mm
    return Cause(
        code="over-banded",
        text=tell("cause_mould.squeezed"),
        evidence=(fact(wall_mm, "mm", "computed", tell("cause_mould.rubber_wall")),),
        test=tell("cause_mould.squeezed_test"),
        weight=0.45 * over(15.0, limit=wall_mm),
    )


def mould_bubbles(case: Case) -> list[Cause]:
    """Bubbles in the rubber under its face, which pressure presses in."""
    pours = [p for p in case.log.pours if p.pour != "copy" and p.mould == case.pour.mould]
    made = [p.pressure_bar for p in pours if p.pressure_bar is not None]
    cast = case.pour.pressure_bar
    evidence, weight = [], 0.2
    if cast is not None:
        evidence.append(fact(cast, "bar", "measured", tell("cause_mould.pressure_copy")))
        weight = 0.5 if cast > 0 else 0.15
    if made:
        evidence.append(fact(min(made), "bar", "measured", tell("cause_mould.pressure_rubber")))
        if cast is not None:
            weight = 0.15 + 0.75 * over(max(cast - min(made), 0.0), limit=1.0)
    return [
        Cause(
            code="mould-bubbles",
            text=tell("cause_mould.rubber_bubbles"),
            evidence=(*evidence, *case.repeated()),
            test=tell("cause_mould.rubber_bubbles_test"),
            weight=min(0.95, weight * (1.3 if case.n_before else 1.0)),
        )
    ]


def silicone_air(case: Case) -> list[Cause]:
    """Air that a silicone pour caught under the part; of a half's own pour only that one."""
    causes = []
    for pour in case.plan.mould.pours.pours:
        if pour.half not in ("whole", case.pour.pour) and case.pour.pour != "copy":
            continue
        for caught in pour.caught[:8]:
            at = case.nearness(
                caught.place_mm,
                frame=case.plan.split.draw.frame,
                spread_mm=(caught.area_mm2 / np.pi) ** 0.5,
            )
            if at > 0.05:
                causes.append(
                    Cause(
                        code="silicone-air",
                        text=tell(f"cause_mould.caught_{pour.half}"),
                        evidence=(
                            fact(
                                caught.volume_mm3 / 1000,
                                "ml",
                                "computed",
                                tell("cause_mould.caught_there"),
                            ),
                            *case.repeated(),
                        ),
                        test=tell("cause_mould.caught_test"),
                        weight=0.8 * at,
                    )
                )
    return causes


def sink(case: Case) -> list[Cause]:
    """A thick place that draws its face in as it cures."""
    heat = case.plan.bench.heat
    # A face sinks where it is thick beside the rest, though the resin takes it.
    thick = heat.thickness_mm[heat.thickness_mm > 0]
    limit = 2 * float(np.median(thick)) if thick.size else heat.thickest_mm
    basis, words = "computed", tell("cause_mould.twice_middle")
    card_limit = case.card.max_section_mm
    if card_limit is not None and card_limit.value < limit:
        limit, basis = card_limit.value, card_limit.basis
        words = tell("cause_mould.thickness_limit")
    here = case.defect.where_mm
    at = case.unplaced(heat.thickest_at_mm, weight=0.4)
    if here is not None:
        away = float(np.linalg.norm(np.subtract(here, heat.thickest_at_mm)))
        at = near(max(0.0, away - heat.thickest_mm), reach_mm=case.reach_mm)
    return [
        Cause(
            code="sink",
            text=tell("cause_mould.sink"),
            evidence=(
                fact(heat.thickest_mm, "mm", "computed", tell("cause_mould.thickest")),
                fact(limit, "mm", basis, words),
            ),
            test=tell("cause_mould.sink_test"),
            weight=0.7 * at * over(heat.thickest_mm, limit=limit),
        )
    ]


def mixing_air(case: Case) -> list[Cause]:
    """Air that mixing beat into the silicone."""
    was = case.pour.is_degassed
    text = tell("cause_mould.mixing")
    if was is not None:
        text = together([text, case.vacuum_sentence])
    return [
        Cause(
            code="mixing-air",
            text=text,
            evidence=(
                fact(
                    case.pot_life_min[0],
                    "min",
                    "computed",
                    tell("cause_mould.time_to_rise"),
                ),
                case.temperature,
            ),
            test=tell("cause_mould.mixing_test"),
            weight={None: 0.4, True: 0.2, False: 0.6}[was],
        )
    ]
