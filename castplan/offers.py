"""One kind of mould planned to the end, and what of it is set beside the others."""

import numpy as np

from castplan.air.records import Air
from castplan.bench.records import Bench
from castplan.geometry import directions
from castplan.geometry.guard import SHOWN_SHARE, Guard
from castplan.job import Job
from castplan.mould.records import SLIT_VERDICTS, Mould
from castplan.part.study import Study
from castplan.plan_record import DAY_MIN, MouldOffer
from castplan.record import record
from castplan.split.records import RUBBER_VERDICTS, Split

MINUTES_PER_DAY = 24 * 60.0
# Kinds that bring a knife near the original.
KNIFED = ("cut",)
# A part that is no longer than this and about as wide is usually poured round whole and cut
# open: its block is easily bent, and a bed of clay for it is fiddly (common practice; both
# from memory, no source).
SMALL_MM, ROUND_RATIO = 60.0, 1.5


@record
class Draft:
    """What the four rooms made of one kind of mould."""

    study: Study
    split: Split
    air: Air
    mould: Mould
    bench: Bench


def make_offer(draft: Draft, job: Job) -> MouldOffer:
    """What one kind of mould takes and leaves, and all of it weighed in minutes.

    Parameters
    ----------
    draft : Draft
    job : Job
        Its weights.
    """
    split, bench, weights = draft.split, draft.bench, job.air_weights
    n_marks = count_marks(draft, draft.study.guard)
    seam_mm, seam_on_show_mm = _seam_mm(split, draft.mould.slit)
    left_ml = (draft.air.openings.left_mm3 + draft.air.openings.small_mm3) / 1000
    # Bubbles that the silicone leaves against the part are lumps on every casting.
    under_ml = sum(min(pour.caught_mm3, pour.tilted_mm3) for pour in draft.mould.pours.pours) / 1000
    # Of all moulds and castings, as the hands and the days are.
    n_moulds = bench.buy.n_moulds
    silicone_ml = n_moulds * sum(m.volume_ml * m.times for m in bench.amounts.mixes if m.half)
    resin_ml = sum(mix.volume_ml * mix.times for mix in bench.amounts.mixes if not mix.half)
    hands_on_min = bench.buy.hands_on_min
    days = bench.timeline.finish_min / MINUTES_PER_DAY
    effort_min = (
        hands_on_min
        + DAY_MIN * days
        + job.draw_weights.silicone_min_per_ml * silicone_ml
        + weights.resin_min_per_ml * resin_ml
        + weights.show_port_min * n_marks
        + job.draw_weights.seam_min_per_mm * seam_mm
        + job.draw_weights.show_seam_min_per_mm * seam_on_show_mm
        + weights.left_min_per_ml * (left_ml + under_ml)
    )
    return MouldOffer(
        kind=split.kind,
        is_chosen=False,
        why_not="",
        silicone_g=n_moulds * bench.amounts.silicone_g,
        resin_g=bench.amounts.resin_g,
        hands_on_min=hands_on_min,
        finish_min=bench.timeline.finish_min,
        seam_mm=seam_mm,
        n_openings=len(draft.mould.block.ports),
        n_marks=n_marks,
        air_left_ml=left_ml,
        silicone_air_ml=under_ml,
        rubber=worst_of(split),
        locked_ml=_locked_ml(split),
        is_knife_risk=_is_knife_risk(draft),
        effort_min=effort_min,
    )


def worst_of(split: Split) -> str:
    """The rubber's worst verdict at any undercut, one of `RUBBER_VERDICTS`."""
    told = [flex.verdict for flex in split.flex.pockets if flex.verdict in RUBBER_VERDICTS]
    return max(told, key=RUBBER_VERDICTS.index, default=RUBBER_VERDICTS[0])


def _locked_ml(split):
    held = {flex.number for flex in split.flex.pockets if flex.verdict == RUBBER_VERDICTS[-1]}
    pockets = split.undercuts.pockets
    return sum(pocket.volume_mm3 for pocket in pockets if pocket.number in held) / 1000


def count_marks(draft: Draft, guard: Guard) -> int:
    """How many openings leave a stub on the face that a guard takes for the one that shows."""
    ports = draft.mould.block.ports
    if not ports:
        return 0
    places = draft.air.attitude.rest.to_part(np.array([port.place_mm for port in ports]))
    return int((guard.show_share(places) > SHOWN_SHARE).sum())


def _is_knife_risk(draft):
    """Whether a knife comes near a part for which a block is not usually cut open."""
    if draft.split.kind not in KNIFED:
        return False
    sides = directions.own_extent_mm(draft.study.part)
    is_usual = max(sides) <= SMALL_MM and max(sides) <= ROUND_RATIO * min(sides)
    return not is_usual or draft.mould.slit.chosen.verdict != SLIT_VERDICTS[0]


def _seam_mm(split, slit):
    """Seam on the casting, and how much of it on the face that shows, mm."""
    if split.is_open:
        return 0.0, 0.0
    if split.is_cut:
        return slit.chosen.seam_mm, slit.chosen.seam_on_show_mm
    return split.seam.length_mm, split.seam.length_on_show_mm or 0.0
