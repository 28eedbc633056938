"""The room of the air, stage by stage: how the mould stands, where air stays and resin enters."""

from dataclasses import replace
from functools import partial

import numpy as np

from castplan.air.along import spread_gates
from castplan.air.attitude import (
    DrawnBox,
    TriedStands,
    UpTable,
    find_attitude,
    list_options,
    map_ups,
    try_stands,
)
from castplan.air.even_findings import list_even_findings
from castplan.air.feed import plan_gate
from castplan.air.high_points import GateAt, PourView, find_air
from castplan.air.long_part import long_part
from castplan.air.open_pour import open_feed, open_top
from castplan.air.records import Air
from castplan.air.rocking import find_rocking
from castplan.air.site import GateSite
from castplan.air.stand_findings import list_stand_findings
from castplan.air.trade import Standing, choose_draw, rank_combinations, stand_draws
from castplan.geometry.channels import touches_in_draw, touches_level
from castplan.part.study import Study
from castplan.record import Finding, record
from castplan.split.records import DrawResult, Split


@record
class Pairs:
    """Every draw with its ways to stand, and the draw of the cheapest pair."""

    draw: DrawResult
    standings: tuple[Standing, ...]  # the draw best by itself first
    table: UpTable
    tried: TriedStands  # of the chosen draw


def pair_draws(study: Study, draw: DrawResult, *, level_height_mm, progress) -> Pairs:
    """Choose the draw together with the way its box stands at the pour.

    Parameters
    ----------
    study : Study
    draw : DrawResult
        The draws to pair, the best by itself first.
    level_height_mm : callable
        ``level_height_mm(frame, pitch_mm=...)`` gives the height of the best level
        split along a draw: the parting is taken for that here.
    progress : callable
        Called as ``progress(stage, fraction)``.

    Returns
    -------
    Pairs
    """
    part, job = study.part, study.job
    progress("attitudes", 0.0)
    table = map_ups(part, job, progress=lambda fraction: progress("attitudes", fraction))

    def stand(frame, box_mm):
        height_mm = level_height_mm(frame, pitch_mm=table.grid.pitch_mm)
        on_parting = partial(touches_level, frame, height_mm=height_mm)
        box = DrawnBox(frame=frame, box_mm=box_mm, on_parting=on_parting)
        tried = try_stands(box, job, table)
        return tried, list_options(tried, job, box)

    standings = stand_draws(part, draw, job, stand=stand)
    draw, standing = choose_draw(draw, standings, job)
    return Pairs(draw=draw, standings=standings, table=table, tried=standing.tried)


def plan_air(study: Study, split: Split, pairs: Pairs, *, progress) -> tuple[Air, Study]:
    """Stand the mould up, and open it where air stays and resin comes in.

    Parameters
    ----------
    study : Study
    split : Split
    pairs : Pairs
        Of `pair_draws`.
    progress : callable
        Called as ``progress(stage, fraction)``.

    Returns
    -------
    Air
    Study
        With the part as it was sampled for the pour.
    """
    part, job, seen = study.part, study.job, study.seen
    progress("air", 0.0)
    box = DrawnBox(
        frame=split.draw.frame,
        box_mm=np.subtract(split.box.high_mm, split.box.low_mm),
        on_parting=partial(touches_in_draw, split.line.surface, split.draw.frame),
    )
    attitude = find_attitude(box, job, pairs.table, pairs.tried)
    # The box as it rests, and the tilt in which it is poured.
    rested = _sample_again(study, attitude.rest, seen.pockets.field)
    poured = _sample_again(study, attitude.frame, rested)
    view = PourView(rest=attitude.rest, vertices_mm=part.vertices_mm, guard=study.guard)
    if split.is_open:
        openings = open_top(find_air(poured, job, view))
        feed = open_feed(openings, split.draw.frame)
    else:
        site = GateSite(
            rested=rested,
            drawn=seen.pockets.field,
            draw_frame=split.draw.frame,
            line=split.line,
            box=split.box,
            part_mm3=seen.part_mm3,
            long=long_part(part),
            guard=study.guard,
            pieces=split.pieces,
        )
        openings, feed = _open_and_feed(site, poured, job, view)
    air = Air(
        attitude=attitude,
        openings=openings,
        feed=feed,
        rocking=find_rocking(part, attitude, openings, job),
        trade=rank_combinations(split.draw, pairs.standings, attitude.options, job),
    )
    return air, replace(study, seen=replace(seen, rested=rested))


def _open_and_feed(site, poured, job, view):
    """The openings, and the gate; where that stands on another point than first, vents anew."""
    openings = find_air(poured, job, view)
    feed = spread_gates(plan_gate(site, openings, job), site, openings, job)
    gate = feed.chosen
    if gate.peak != openings.gate or gate.further:
        along = gate.further if gate.peak is not None else (gate, *gate.further)
        places_mm = tuple(each.place_mm for each in along)
        fed_at = GateAt(peak=gate.peak, places_mm=places_mm)
        openings = find_air(poured, job, view, fed_at=fed_at)
    return openings, feed


def list_findings(study: Study, split: Split, air: Air) -> tuple[Finding, ...]:
    """Choices that are as good as even, and other ways to stand or to part that cost less."""
    if split.is_open:
        return ()  # the back decides
    return (
        *list_even_findings(split, air.attitude, tie_mm3=study.tie_mm3),
        *list_stand_findings(air),
    )


def _sample_again(study, frame, field):
    """The field of another frame; the one at hand where the frames are the same."""
    return field if np.array_equal(frame.rotation, field.rotation) else study.along(frame)
