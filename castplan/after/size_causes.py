"""Causes of a copy of the wrong shape or size; drift of a size over a mould's life."""

import numpy as np
import shapely
from scipy import stats

from castplan.after.boxed import numbered
from castplan.after.case import Case, fact, over
from castplan.after.records import CastLog, Cause, Drift
from castplan.plan_record import Plan
from castplan.texts.told import tell

# Sizes that came out along the draw this much longer than across it point at the seam.
ALONG_COS = 0.8


def planned_sizes(plan: Plan) -> dict:
    """The plan's lines for every size that a log may name, by that name."""
    axes = ("x", "y", "z") if plan.nest is None else ()  # several parts have gauges for theirs
    names = (*axes, *(gauge.name for gauge in plan.job.gauges))
    return dict(zip(names, plan.bench.fit.lines, strict=True))


def shrunk(case: Case) -> list[Cause]:
    """The same share off everywhere: shrinkage, inside or beyond the plan's interval."""
    lines = planned_sizes(case.plan)
    known = case.plan.bench.fit.shrinkage
    interval = fact(
        (100 * known.value, 100 * known.low, 100 * known.high),
        "%",
        "computed",
        tell("cause_size.planned"),
    )
    told = [
        (size, lines[size.name])
        for size in case.pour.sizes
        if size.name in lines and _is_of(case, size.part)
    ]
    if not told:
        return [
            Cause(
                code="shrinkage",
                text=tell("cause_size.unmeasured"),
                evidence=(interval,),
                test=tell("cause_size.unmeasured_test"),
                weight=0.3,
            )
        ]
    shares = np.array([1 - size.length_mm / line.original_mm for size, line in told])
    errors = np.array([size.error_mm / line.original_mm for size, line in told])
    mean = float(np.average(shares, weights=1 / errors**2))
    spread = float(np.max(np.abs(shares - mean) / errors)) if len(told) > 1 else 0.0
    is_inside = known.low - errors.min() <= mean <= known.high + errors.min()
    observed = fact(
        (100 * mean, 100 * shares.min(), 100 * shares.max()),
        "%",
        "measured",
        tell("cause_size.observed", n=len(told)),
    )
    even = 1 - over(spread, limit=4.0)
    causes = [
        Cause(
            code="shrinkage" if is_inside else "scale",
            text=tell("cause_size.inside") if is_inside else tell("cause_size.beyond"),
            evidence=(observed, interval),
            test=tell("cause_size.scale_test"),
            weight=0.8 * even,
        )
    ]
    along = _along_draw(case, told, shares, errors)
    return causes + ([along] if along else [])


def _along_draw(case, told, shares, errors):
    """Longer across the seam than beside it: halves that did not close."""
    ways = [_along(case.plan, size) for size, _ in told]
    is_along = np.array([way is not None and way > ALONG_COS for way in ways])
    is_beside = np.array([way is not None and way < 1 - ALONG_COS for way in ways])
    if not is_along.any() or not is_beside.any():
        return None
    originals = np.array([line.original_mm for _, line in told])
    gap_mm = float(((shares[is_beside].mean() - shares[is_along]) * originals[is_along]).mean())
    error_mm = float((errors * originals)[is_along].max())
    return Cause(
        code="not-closed",
        text=tell("cause_size.not_closed"),
        evidence=(fact(gap_mm, "mm", "measured", tell("cause_size.longer")),),
        test=tell("cause_size.not_closed_test"),
        weight=0.95 * over(max(gap_mm, 0.0), limit=4 * error_mm),
    )


def _along(plan, size):
    """How far a measured axis of the file lies along the draw, 0 to 1; None for a gauge."""
    names, draw = ["x", "y", "z"], plan.split.draw.frame.up
    if plan.nest is not None:
        parts = plan.nest.parts if size.part is None else [numbered(plan.nest, number=size.part)]
        part = next((part for part in parts if size.name.startswith(f"{part.name} ")), None)
        if part is None:
            return None
        names, draw = [f"{part.name} {name}" for name in names], part.draw
    return float(abs(draw[names.index(size.name)])) if size.name in names else None


def _is_of(case, part):
    """Whether what was measured may be on the part of the box that the defect is on."""
    return None in (part, case.defect.part) or part == case.defect.part


def drifting(case: Case) -> list[Cause]:
    """A size that goes with the count of casts."""
    found = []
    for drift in drifts(case.plan, case.log, case.pour.mould):
        if not drift.is_drifting or not _is_of(case, drift.part):
            continue
        found.append(
            Cause(
                code="drift",
                text=tell("cause_size.drift", name=drift.name),
                evidence=(
                    fact(
                        (1000 * drift.per_cast_mm, 1000 * drift.low_mm, 1000 * drift.high_mm),
                        "um",
                        "measured",
                        tell("cause_size.per_cast", n=drift.n),
                    ),
                ),
                test=tell("cause_size.drift_test"),
                weight=0.85,
            )
        )
    return found


def hot(case: Case) -> list[Cause]:
    """Shrinkage that heat adds."""
    peak = case.plan.bench.heat.peak_c
    if peak is None:
        return []
    limit = case.card.heat_limit_c
    # The peak is that of the thickest part in the box.
    is_elsewhere = case.is_elsewhere(case.plan.bench.heat.thickest_at_mm)
    return [
        Cause(
            code="hot-cure",
            text=tell("cause_size.hot"),
            evidence=(
                fact(peak.value, "C", "computed", tell("cause_size.ceiling")),
                fact(limit.value, "C", limit.basis, tell("cause_size.heat_limit")),
                case.temperature,
            ),
            test=tell("cause_size.hot_test"),
            weight=(0.15 if is_elsewhere else 0.35) * over(peak.value, limit=limit.value),
        )
    ]


def uneven(case: Case) -> list[Cause]:
    """Thick and thin side by side, which shrink at different times."""
    thick = _thick_mm(case)
    if not thick.size:
        return []
    middle, thickest_mm = float(np.median(thick)), float(thick.max())
    return [
        Cause(
            code="uneven",
            text=tell("cause_size.uneven"),
            evidence=(
                fact(thickest_mm, "mm", "computed", tell("cause_size.thickest")),
                fact(middle, "mm", "computed", tell("cause_size.middle")),
            ),
            test=tell("cause_size.uneven_test"),
            weight=0.6 * over(thickest_mm / middle, limit=3.0),
        )
    ]


def _thick_mm(case):
    """Thicknesses where the part is; of several in a box of the one that the defect is on."""
    heat, nest = case.plan.bench.heat, case.plan.nest
    is_part = heat.thickness_mm > 0
    if nest is not None and case.defect.part is not None:
        rows, columns = np.indices(heat.thickness_mm.shape)
        flat = np.add(heat.low_mm, (np.stack([columns, rows], axis=-1) + 0.5) * heat.cell_mm)
        frame = case.plan.split.draw.frame
        outline = numbered(nest, number=case.defect.part).outline_mm
        level = np.column_stack([outline, np.zeros(len(outline))])
        is_part &= shapely.contains_xy(shapely.Polygon(frame.to_frame(level)[:, :2]), *flat.T).T
    return heat.thickness_mm[is_part]


def drifts(plan: Plan, log: CastLog, mould: str) -> tuple[Drift, ...]:
    """Trend of each logged size over the casts of one mould.

    A straight line by least squares. Its interval is 95 %, by Student's t from
    the scatter of the sizes, but never narrower than the errors told with them
    allow. A size drifts where the interval leaves out zero.

    Parameters
    ----------
    plan : Plan
    log : CastLog
    mould : str

    Returns
    -------
    tuple of Drift
        For sizes measured on three casts or more, in the plan's order.
    """
    found = []
    copies = log.copies_of(mould)
    for name, line in planned_sizes(plan).items():
        rows = [
            (size.part, turn, size)
            for turn, copy in enumerate(copies, start=1)
            for size in copy.sizes
            if size.name == name
        ]
        # Every cavity of a box of several wears by itself.
        for part in sorted({part for part, _, _ in rows}, key=lambda part: part or 0):
            own = [(turn, size) for owner, turn, size in rows if owner == part]
            if len({turn for turn, _ in own}) >= 3:
                found.append(_drift(name, part, line, own))
    return tuple(found)


def _drift(name, part, line, measured):
    n = len(measured)
    turns, lengths, errors = np.array(
        [(turn, size.length_mm, size.error_mm) for turn, size in measured], dtype=float
    ).T
    away = turns - turns.mean()
    spread = float((away**2).sum())
    slope = float((away * lengths).sum() / spread)
    rest = lengths - lengths.mean() - slope * away
    scatter = float(np.sqrt((rest**2).sum() / (n - 2)))
    by_scatter = stats.t.ppf(0.975, n - 2) * scatter / spread**0.5
    # Told errors count as half-widths of even chances: sd = error / sqrt(3).
    told = 1.96 * float(np.sqrt((away**2 * errors**2 / 3).sum())) / spread
    half = max(float(by_scatter), told)
    start = float(lengths.mean() - slope * (turns.mean() - 1))
    tolerance = line.tolerance_mm
    allowed = None
    if tolerance is not None and slope != 0:
        edge = line.original_mm + np.sign(slope) * tolerance
        left = 1 + (edge - start) / slope
        allowed = int(np.floor(left)) if left >= 1 else 0
    return Drift(
        name=name,
        part=part,
        n=n,
        per_cast_mm=slope,
        low_mm=slope - half,
        high_mm=slope + half,
        is_drifting=abs(slope) > half,
        tolerance_mm=tolerance,
        leaves_at_cast=allowed,
    )
