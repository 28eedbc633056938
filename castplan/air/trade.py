"""Draw, attitude, gate, vents and seam together: whole combinations, by what they cost the shop."""

from dataclasses import dataclass, replace

import numpy as np

from castplan.air.records import AttitudeOption, Combination, TradeResult
from castplan.geometry import boxes, frames
from castplan.job import Job
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.record import Frame
from castplan.split.records import DrawCandidate, DrawResult
from castplan.texts.told import tell

N_LISTED = 6
# The draw that is best by itself is kept unless another pair saves more than
# this: below it the assumed weights say nothing (assumed).
MARGIN_MIN = 10.0


@dataclass(frozen=True, eq=False)
class Standing:
    """A draw with the ways to stand its box."""

    candidate: DrawCandidate
    frame: Frame
    tried: object  # what was judged for it, to be looked at more closely
    options: tuple[AttitudeOption, ...]  # cheapest first


def stand_draws(part: Part, draw: DrawResult, job: Job, *, stand) -> tuple[Standing, ...]:
    """Every draw of the list with its best ways to stand, all judged alike.

    Parameters
    ----------
    part : Part
    draw : DrawResult
        Its candidates are the draws to pair.
    job : Job
    stand : callable
        ``stand(frame, box_mm)`` gives what was tried for a draw frame, and the
        best `AttitudeOption` of it.

    Returns
    -------
    tuple of Standing
        In the order of the candidates.
    """
    hull_mm = frames.hull_points(part)
    found = []
    for candidate in draw.candidates:
        is_own = np.allclose(candidate.direction, draw.direction)
        frame = draw.frame if is_own else frames.frame_along(candidate.direction, hull_mm)
        found.append(Standing(candidate, frame, *stand(frame, _box_mm(part, frame, job))))
    return tuple(found)


def choose_draw(
    draw: DrawResult, standings: tuple[Standing, ...], job: Job
) -> tuple[DrawResult, Standing]:
    """The draw of the cheapest combination, where the job names neither draw nor way up.

    Parameters
    ----------
    draw : DrawResult
    standings : tuple of Standing
        The draw's own first.
    job : Job

    Returns
    -------
    draw : DrawResult
        Its own choice unless another pair saves more than `MARGIN_MIN`; the
        chosen candidate first.
    standing : Standing
        Of that draw.
    """
    own = standings[0]
    best = min(standings, key=lambda entry: round(_least_min(entry, job), 6))
    saved_min = _least_min(own, job) - _least_min(best, job)
    if job.draw is not None or job.up is not None or saved_min <= MARGIN_MIN:
        return draw, own
    others = [entry.candidate for entry in standings if entry is not best]
    moved = replace(
        draw,
        frame=best.frame,
        direction=best.candidate.direction,
        candidates=(best.candidate, *others),
    )
    return moved, best


def rank_combinations(
    draw: DrawResult,
    standings: tuple[Standing, ...],
    options: tuple[AttitudeOption, ...],
    job: Job,
) -> TradeResult:
    """Every draw with its ways to stand, ranked by what the pair costs.

    What the draw costs by itself (rubber to free, line, silicone), its seam,
    what the attitude does (tilt, cradle, show face), gate, vents, and the air
    that stays.

    Parameters
    ----------
    draw : DrawResult
        As chosen.
    standings : tuple of Standing
        Of `stand_draws`: the draw best by itself first.
    options : tuple of AttitudeOption
        Of the chosen draw after a closer look, the plan's own first.
    job : Job

    Returns
    -------
    TradeResult
    """
    found = []
    for entry in standings:
        is_own = np.allclose(entry.candidate.direction, draw.direction)
        for option in options if is_own else entry.options:
            is_chosen = is_own and option is options[0]
            found.append(_pair(entry.candidate, option, job, is_chosen=is_chosen))
    found.sort(key=lambda pair: (round(pair.cost_min, 6), not pair.is_chosen))
    chosen = next(pair for pair in found if pair.is_chosen)
    listed = found[:N_LISTED]
    listed += [pair for pair in found[N_LISTED:] if pair.is_chosen]
    return TradeResult(
        combinations=tuple(listed),
        why=_why(draw, standings, found, chosen, job),
    )


def _why(draw, standings, found, chosen, job):
    if job.draw is not None and job.up is not None:
        return tell("trade_why.both_as_asked")
    if job.draw is not None:
        return tell("trade_why.draw_as_asked")
    if job.up is not None:
        return tell("trade_why.way_up_as_asked")
    own = standings[0]
    if not np.allclose(own.candidate.direction, draw.direction):
        more_min = _least_min(own, job) - chosen.cost_min
        return tell("trade_why.draw_moved", more=f"{more_min:.0f}")
    saved_min = chosen.cost_min - found[0].cost_min
    if saved_min < 0.5:
        return tell("trade_why.cheapest")
    saved = f"{saved_min:.0f}"
    if saved_min <= MARGIN_MIN:
        return tell("trade_why.within_margin", saved=saved, margin=f"{MARGIN_MIN:.0f}")
    return tell("trade_why.closer_look", saved=saved)


def _least_min(entry, job):
    """What a draw costs with its cheapest way to stand."""
    return min(
        _pair(entry.candidate, option, job, is_chosen=False).cost_min for option in entry.options
    )


def _pair(candidate, option, job, *, is_chosen):
    weights = job.air_weights
    show_min = job.draw_weights.show_seam_min_per_mm * (candidate.seam_on_show_mm or 0.0)
    draw_min = candidate.cost_min - show_min
    seam_min = show_min + job.draw_weights.seam_min_per_mm * candidate.seam_mm
    left_mm3 = option.small_mm3
    if option.n_vents > job.max_vents:
        left_mm3 += option.left_mm3
    air_min = left_mm3 / 1000 * weights.left_min_per_ml
    return Combination(
        draw=candidate.direction,
        up=option.up,
        rest=option.rest,
        tilt_deg=option.tilt_deg,
        n_vents=option.n_vents,
        silicone_ml=candidate.silicone_ml,
        draw_min=draw_min,
        seam_min=seam_min,
        stand_min=max(option.cost_min - option.gate_min - option.vents_min - air_min, 0.0),
        gate_min=option.gate_min,
        vents_min=option.vents_min,
        air_min=air_min,
        cost_min=draw_min + seam_min + option.cost_min,
        is_chosen=is_chosen,
    )


@remembered
def _box_mm(part, frame: Frame, job):
    points = frame.to_frame(part.vertices_mm)
    low, high = boxes.box_inside(points.min(axis=0), points.max(axis=0), job)
    return high - low
