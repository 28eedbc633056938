"""Causes that lie in the cut of a mould that was poured in one."""

import numpy as np

from castplan.after.case import Case, fact, near, over, told_distance
from castplan.after.mould_causes import SEAM_MM, push_n, seam_distance_mm
from castplan.after.records import Cause
from castplan.texts.told import tell

# From which the resin's push is felt on lips that are strapped loosely (assumed).
FELT_N = 10.0


def opened_lips(case: Case) -> list[Cause]:
    """Lips that gaped, a knife that slipped, or a cut that tore on past its end."""
    slit = case.plan.mould.slit
    if slit is None:
        return []
    away = seam_distance_mm(case)
    reach_mm = max(SEAM_MM, case.reach_mm)
    at = 1.0 if away is None else near(away, reach_mm=reach_mm)
    where = () if away is None else (told_distance(away, tell("cause_cut.from_cut")),)
    pushes_n = push_n(case)
    causes = [
        Cause(
            code="lips-open",
            text=tell("cause_cut.gaped"),
            evidence=(fact(pushes_n, "N", "computed", tell("cause_cut.push")), *where),
            test=tell("cause_cut.gaped_test"),
            weight=at * (0.4 + 0.3 * over(pushes_n, limit=FELT_N)),
        ),
        Cause(
            code="knife-slipped",
            text=tell("cause_cut.slipped"),
            evidence=(*where, *case.repeated()),
            test=tell("cause_cut.slipped_test"),
            weight=at * 0.35 * (1.4 if case.n_before else 1.0),
        ),
    ]
    ends = [path[k] for path in slit.seams_mm for k in (0, -1)]
    if case.where_draw_mm is not None and ends and slit.outline_fraction < 1.0:
        past_mm = float(np.linalg.norm(np.array(ends) - case.where_draw_mm, axis=1).min())
        causes.append(
            Cause(
                code="cut-torn-on",
                text=tell("cause_cut.torn"),
                evidence=(told_distance(past_mm, tell("cause_cut.from_end")), *case.repeated()),
                test=tell("cause_cut.torn_test"),
                weight=0.75 * near(past_mm, reach_mm=reach_mm),
            )
        )
    return causes


def unmeshed_lips(case: Case) -> list[Cause]:
    """Lips whose zig-zag was closed one tooth off, or with something between."""
    slit = case.plan.mould.slit
    if slit is None:
        return []
    return [
        Cause(
            code="lips-off",
            text=tell("cause_cut.off"),
            evidence=(fact(slit.amplitude_mm, "mm", "assumed", tell("cause_cut.teeth")),),
            test=tell("cause_cut.off_test"),
            weight=0.6,
        )
    ]
