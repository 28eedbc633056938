"""Causes that lie in the mould: its rubber, its seam, its age, its own bubbles."""

import numpy as np

from castplan.after.case import Case, fact, near, over
from castplan.materials.flow import G_M_S2
from castplan.model import Cause

# Of a seam line drawn on a copy by eye (assumed).
SEAM_MM = 3.0


def age(case: Case) -> list[Cause]:
    """Casts the mould has given, against the life of its card."""
    life = case.plan.buy.mould_life_casts
    if life is None or not case.turn:
        return []
    return [
        Cause(
            code="mould-age",
            text="The mould is worn: its rubber has lost strength and shape.",
            evidence=(
                fact(case.turn, "casts", "measured", "of this mould so far, by the log"),
                fact(life.value, "casts", life.basis, "planned life", low=life.low, high=life.high),
            ),
            test="Compare with the first copies of this mould; measure the same size on both.",
            weight=0.8 * over(case.turn, limit=life.value),
        )
    ]


def pulled_rubber(case: Case) -> list[Cause]:
    """Rubber that has to stretch out of an undercut, or a thin fin of it."""
    causes = []
    for flex in case.plan.flex.pockets:
        pocket = next(p for p in case.plan.undercuts.pockets if p.number == flex.number)
        at = _in_box(case, pocket.low_mm, pocket.high_mm)
        causes.append(
            Cause(
                code="undercut",
                text=f"Undercut {pocket.number} asks too much of the rubber when it is pulled.",
                evidence=(
                    fact(100 * flex.stretch_fraction, "%", "computed", "stretch to leave it"),
                    fact(
                        100 * flex.limit_fraction,
                        "%",
                        "computed",
                        "elongation at break over the safety factor",
                    ),
                    *_force(case),
                ),
                test="Pull this place by hand, slowly, with soap or release on it; watch where the "
                "rubber whitens.",
                weight=at * over(flex.stretch_fraction, limit=flex.limit_fraction),
            )
        )
    for thin in case.plan.flex.thin:
        if thin.kind == "rubber":
            at = case.nearness(
                thin.centre_mm, frame=case.plan.draw.frame, spread_mm=(thin.area_mm2 / np.pi) ** 0.5
            )
            causes.append(
                Cause(
                    code="thin-rubber",
                    text="The rubber is a thin fin here and tears at its root.",
                    evidence=(fact(thin.thickness_mm, "mm", "computed", "thick"), *_force(case)),
                    test="Look for a nick at the fin's root; mend it with the same silicone.",
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
    facts = [fact(case.pour.force_n, "N", "measured", "opened it, by the log")]
    if before:
        facts.append(
            fact(
                np.mean(before),
                "N",
                "measured",
                f"on the mean of {len(before)} copies before",
                low=min(before),
                high=max(before),
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
            text="The copy sticks: release is used up or was left out.",
            evidence=_force(case),
            test="Spray release, let it dry, cast again and weigh the pull.",
            weight=weight,
        )
    ]


def _in_box(case, low, high):
    where = case.where_draw_mm
    if where is None:
        return 0.4
    away = np.maximum(np.maximum(np.subtract(low, where), where - np.array(high)), 0.0)
    return near(float(np.linalg.norm(away)), reach_mm=case.reach_mm)


def seam_distance_mm(case: Case) -> float | None:
    """From the defect to the seam of the plan; None without a place or a seam."""
    where = case.where_draw_mm
    if where is None or not case.plan.seam.loops_mm:
        return None
    best = np.inf
    for loop in case.plan.seam.loops_mm:
        a, step = loop[:-1], np.diff(loop, axis=0)
        t = np.clip(
            ((where - a) * step).sum(axis=1) / np.maximum((step**2).sum(axis=1), 1e-12), 0, 1
        )
        best = min(best, float(np.linalg.norm(a + t[:, None] * step - where, axis=1).min()))
    return best


def parted_halves(case: Case) -> list[Cause]:
    """Halves that the resin or the pot pushed apart, or clay that left a round edge."""
    away = seam_distance_mm(case)
    at = 1.0 if away is None else near(away, reach_mm=max(SEAM_MM, case.reach_mm))
    plan, causes = case.plan, []
    area_mm2 = float((plan.heat.thickness_mm > 0).sum()) * plan.heat.cell_mm**2
    depth_mm = plan.gate.head_mm + max(plan.part.check.extent_mm) / 2
    push_n = case.card.density_g_ml.value * 1000 * G_M_S2 * depth_mm / 1000 * area_mm2 * 1e-6
    block_n = plan.build.equipment.block_g / 1000 * G_M_S2 / 2
    where = () if away is None else (fact(away, "mm", "computed", "from the seam of the plan"),)
    causes.append(
        Cause(
            code="pushed-apart",
            text="The halves were not held together evenly: the resin pushed them apart.",
            evidence=(
                fact(push_n, "N", "computed", "pushes the halves apart under the cup's head"),
                fact(block_n, "N", "computed", "is what one half weighs"),
                *where,
            ),
            test="Band the boards evenly, all round, and cast again; flash on one side only shows "
            "where it gaped.",
            weight=at * (0.35 + 0.3 * over(push_n, limit=block_n)),
        )
    )
    length_mm = sum(option.length_mm for option in plan.line.options[:1])
    level = plan.line.kind == "level"
    causes.append(
        Cause(
            code="round-edge",
            text="The clay met the part in a rounded edge, which every copy repeats as flash.",
            evidence=(
                fact(length_mm, "mm", "computed", f"of seam, {plan.line.kind}"),
                *where,
                *case.repeated(),
            ),
            test="Look at the edge of the rubber under a lamp: rounded all along is clay, torn at "
            "one place is not.",
            weight=at * (0.3 if level else 0.45) * (1.4 if case.n_before else 1.0),
        )
    )
    if away is not None and away > 2 * SEAM_MM:
        causes.append(
            Cause(
                code="torn-rubber",
                text="It is not on the seam: resin ran into a tear or under a flap of rubber.",
                evidence=where,
                test="Bend the mould open at this place and look for a cut.",
                weight=0.7 * (1 - near(away, reach_mm=max(SEAM_MM, case.reach_mm))),
            )
        )
    return causes


def shifted_halves(case: Case) -> list[Cause]:
    """Halves that do not find their place: keys too few or too loose, or closed wrongly."""
    keys, boards = case.plan.build.keys, case.plan.build.boards
    n_keys = len(keys.places_mm)
    causes = [
        Cause(
            code="keys",
            text="The keys do not hold the halves in place.",
            evidence=(
                fact(n_keys, "keys", "computed", "in the parting"),
                fact(keys.diameter_mm, "mm", "computed", "across each"),
            ),
            test="Close the empty mould and push the halves sideways: what moves by hand moves "
            "under the band.",
            weight=0.45 if n_keys >= 4 else 0.7,
        )
    ]
    if keys.misfit_mm is not None:
        causes.append(
            Cause(
                code="turned",
                text="The halves were closed the wrong way round.",
                evidence=(
                    fact(
                        keys.misfit_mm,
                        "mm",
                        "computed",
                        "is all that the worst key misses its hole by when they are",
                    ),
                ),
                test="Mark both halves with an arrow across the seam and close them by it.",
                weight=0.5 * over(1.0, limit=keys.misfit_mm),
            )
        )
    if boards.bulge_mm is not None:
        causes.append(
            Cause(
                code="bulge",
                text="The box bulged while the rubber was poured, so the halves differ.",
                evidence=(
                    fact(boards.bulge_mm, "mm", "computed", "that the longest board bends out"),
                    fact(boards.bulge_limit_mm, "mm", "assumed", "bend to stay under"),
                ),
                test="Lay a straight edge along the mould's outside.",
                weight=0.7 * over(boards.bulge_mm, limit=boards.bulge_limit_mm),
            )
        )
    causes.append(
        Cause(
            code="over-banded",
            text="Bands or clamps squeezed the mould out of shape.",
            evidence=(
                fact(case.plan.mould.wall_mm, "mm", "computed", "of rubber beside the part"),
            ),
            test="Cast once between rigid boards with bands only just tight.",
            weight=0.45 * over(15.0, limit=case.plan.mould.wall_mm),
        )
    )
    return causes


def mould_bubbles(case: Case) -> list[Cause]:
    """Bubbles in the rubber under its face, which pressure presses in."""
    pours = [p for p in case.log.pours if p.pour != "copy" and p.mould == case.pour.mould]
    made = [p.pressure_bar for p in pours if p.pressure_bar is not None]
    cast = case.pour.pressure_bar
    evidence, weight = [], 0.2
    if cast is not None:
        evidence.append(fact(cast, "bar", "measured", "over the copy while it cured, by the log"))
        weight = 0.5 if cast > 0 else 0.15
    if made:
        evidence.append(fact(min(made), "bar", "measured", "over the rubber while it cured"))
        if cast is not None:
            weight = 0.15 + 0.75 * over(max(cast - min(made), 0.0), limit=1.0)
    return [
        Cause(
            code="mould-bubbles",
            text="Bubbles in the rubber behind its face give way under pressure.",
            evidence=(*evidence, *case.repeated()),
            test="Press the mould's face with a blunt pin beside the place: a bubble is soft. Cast "
            "once without pressure.",
            weight=min(0.95, weight * (1.3 if case.n_before else 1.0)),
        )
    ]


def silicone_air(case: Case) -> list[Cause]:
    """Air that a silicone pour caught under the part; of a half's own pour only that one."""
    causes = []
    for pour in case.plan.pours.pours:
        if case.pour.pour not in ("copy", pour.half):
            continue
        for caught in pour.caught[:8]:
            at = case.nearness(
                caught.place_mm,
                frame=case.plan.draw.frame,
                spread_mm=(caught.area_mm2 / np.pi) ** 0.5,
            )
            if at > 0.05:
                causes.append(
                    Cause(
                        code="silicone-air",
                        text=f"The {pour.half} half's silicone caught air under the part here.",
                        evidence=(
                            fact(caught.volume_mm3 / 1000, "ml", "computed", "caught in that pour"),
                            *case.repeated(),
                        ),
                        test="Look at the rubber here for a hole or a soft spot; fill it with the "
                        "same silicone.",
                        weight=0.8 * at,
                    )
                )
    return causes


def sink(case: Case) -> list[Cause]:
    """A thick place that draws its face in as it cures."""
    heat = case.plan.heat
    limit = heat.limit_mm
    if limit is None:
        thick = heat.thickness_mm[heat.thickness_mm > 0]
        limit = 2 * float(np.median(thick)) if thick.size else heat.thickest_mm
        basis, words = "computed", "twice the middle thickness of the part"
    else:
        basis, words = "data sheet", "greatest thickness by the card"
    here = case.defect.where_mm
    at = 0.4
    if here is not None:
        away = float(np.linalg.norm(np.subtract(here, heat.thickest_at_mm)))
        at = near(max(0.0, away - heat.thickest_mm), reach_mm=case.reach_mm)
    return [
        Cause(
            code="sink",
            text="The part is thick here: it heats, shrinks late and draws its face in.",
            evidence=(
                fact(heat.thickest_mm, "mm", "computed", "where it is thickest"),
                fact(limit, "mm", basis, words),
            ),
            test="Cast once in two pours, or with a core in the thick part, and compare.",
            weight=0.7 * at * over(heat.thickest_mm, limit=limit),
        )
    ]


def mixing_air(case: Case) -> list[Cause]:
    """Air that mixing beat into the silicone."""
    was = case.pour.is_degassed
    text = "Air from mixing stayed in the silicone."
    if was is not None:
        text += f" The mix {'was' if was else 'was not'} put under vacuum."
    return [
        Cause(
            code="mixing-air",
            text=text,
            evidence=(
                fact(
                    case.pot_life_min[0],
                    "min",
                    "computed",
                    "pot life at this temperature: time for bubbles to rise",
                ),
                case.temperature,
            ),
            test="Put a small cup under vacuum until it has risen and fallen, pour it beside one "
            "that was not, and cut both.",
            weight={None: 0.4, True: 0.2, False: 0.6}[was],
        )
    ]
