"""The room of the air, stage by stage: how the mould stands, where air stays and resin enters."""

from dataclasses import replace
from functools import partial

import numpy as np

from castplan.air.attitude import (
    DrawnBox,
    TriedStands,
    UpTable,
    find_attitude,
    list_options,
    map_ups,
    try_stands,
)
from castplan.air.cut_stand import refuse_leaning
from castplan.air.each import Poured, in_the_way_min, open_each
from castplan.air.even_findings import list_even_findings
from castplan.air.high_points import PourView
from castplan.air.long_part import long_part
from castplan.air.open_pour import open_tops
from castplan.air.records import Air, AirResult, AttitudeResult, GatePlan
from castplan.air.rocking import find_rocking
from castplan.air.site import GateSite
from castplan.air.stand_findings import list_stand_findings
from castplan.air.trade import Standing, choose_draw, rank_combinations, stand_draws
from castplan.columns.field import ColumnField
from castplan.geometry.channels import touches_in_draw, touches_level
from castplan.memory import at_hand
from castplan.part.cavities import find_cavities
from castplan.part.study import Study
from castplan.record import Finding, record
from castplan.split.records import DrawResult, Split
from castplan.texts.told import clauses, tell

# Several stands of one box are ranked alike; so many answers are kept meanwhile.
KEPT = 2


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
        # Sticks stand straight on the board, in no groove.
        box = DrawnBox(
            frame=frame, box_mm=box_mm, on_parting=None if job.is_cut_open else on_parting
        )
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
    progress("air", 0.0)
    with at_hand(KEPT):
        tried = _try_stand(study, split, pairs, study.job)
        stands = [tried]
        for up, least_min in _other_ups(tried, split, study.job):
            if least_min >= tried.cost_min:
                continue
            job = replace(study.job, up=up)
            stand = _try_stand(study, split, pairs, job, most_min=tried.cost_min)
            if stand is None:
                continue
            stands.append(stand)
            if stand.cost_min < tried.cost_min:
                tried = stand
    attitude = replace(
        tried.attitude,
        options=tuple(_in_its_way(option, stands) for option in tried.attitude.options),
        is_asked_for=study.job.up is not None,
    )
    air = Air(
        attitude=attitude,
        openings=tried.openings,
        feed=tried.feed,
        rocking=find_rocking(study.part, attitude, tried.openings, study.job),
        trade=rank_combinations(split.draw, pairs.standings, attitude.options, study.job),
    )
    return air, replace(study, seen=replace(study.seen, rested=tried.rested))


@record
class _TriedStand:
    """A way to stand the box, with what it takes to fill it so."""

    attitude: AttitudeResult
    rested: ColumnField
    openings: AirResult
    feed: GatePlan
    in_the_way_min: float  # of several cavities: parts that stand over the gates of others

    @property
    def cost_min(self) -> float:
        """Of standing so."""
        return round(self.attitude.chosen.cost_min + self.in_the_way_min, 3)


def _try_stand(study, split, pairs, job, *, most_min=np.inf):
    """The box stood as the job asks or as is best; None where standing alone costs too much."""
    part, seen = study.part, study.seen
    on_parting = partial(touches_in_draw, split.line.surface, split.draw.frame)
    box = DrawnBox(
        frame=split.draw.frame,
        box_mm=np.subtract(split.box.high_mm, split.box.low_mm),
        on_parting=None if split.is_cut else on_parting,
    )
    attitude = find_attitude(box, job, pairs.table, pairs.tried)
    if attitude.chosen.cost_min >= most_min:
        return None
    if split.is_cut:
        refuse_leaning(attitude, job)
    # The box as it rests, and the tilt in which it is poured.
    rested = _sample_again(study, attitude.rest, seen.pockets.field)
    field = _sample_again(study, attitude.frame, rested)
    cavities = find_cavities(part, seen.pockets.field, least_mm3=1000 * job.vent_min_air_ml)
    view = PourView(rest=attitude.rest, vertices_mm=part.vertices_mm, guard=study.guard)
    poured = Poured(part=part, field=field, view=view, cavities=cavities)
    over_min = 0.0
    if split.is_open:
        openings, feed = open_tops(poured, job, split.draw.frame)
    else:
        site = GateSite(
            rested=rested,
            drawn=seen.pockets.field,
            draw_frame=split.draw.frame,
            line=split.line,
            box=split.box,
            part_mm3=seen.part_mm3,
            long=long_part(part) if cavities is None else None,
            guard=study.guard,
            is_parted=not split.is_cut,
            pieces=split.pieces,
        )
        openings, feed = open_each(site, poured, job)
        if cavities is not None:
            over_min = in_the_way_min(site, openings, feed, job)
    return _TriedStand(
        attitude=attitude, rested=rested, openings=openings, feed=feed, in_the_way_min=over_min
    )


def _in_its_way(option, stands):
    """A way to stand, dearer where it was tried and parts stood in each other's way."""
    for stand in stands:
        if stand.in_the_way_min and np.allclose(stand.attitude.chosen.up, option.up):
            return replace(
                option,
                cost_min=option.cost_min + stand.in_the_way_min,
                why=clauses([option.why, tell("attitude_why.in_the_way")]),
            )
    return option


def _other_ups(tried, split, job):
    """Ways up to try where parts stand in each other's way, and what each costs at least."""
    if job.up is not None or not tried.in_the_way_min:
        return ()
    draw = split.draw.frame.up
    listed = [(option.up, option.cost_min) for option in tried.attitude.options[1:]]
    # Along the draw every part stands free, so that is looked at whatever it costs.
    along = [(tuple(float(v) for v in sign * draw), 0.0) for sign in (1.0, -1.0)]
    return (*listed, *along)


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
