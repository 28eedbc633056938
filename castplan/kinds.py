"""Which mould: every kind that works, planned to the end and set side by side."""

from dataclasses import replace

import numpy as np

from castplan.air.records import Air
from castplan.bench.records import Bench
from castplan.errors import InputError
from castplan.geometry.guard import SHOWN_SHARE
from castplan.memory import at_hand
from castplan.mould.open_findings import list_other_mould
from castplan.mould.records import Mould
from castplan.part.study import Study
from castplan.plan_record import DAY_MIN, MouldOffer, kind_name, risk_of, rubber_risk
from castplan.record import Finding, finding, record
from castplan.split.back import find_back
from castplan.split.records import MOULD_KINDS, RUBBER_VERDICTS, DrawResult, Split
from castplan.split.room import names_of_two

# Kinds ask for the same fields and maps; so many of each are kept meanwhile.
KEPT = 3
MINUTES_PER_DAY = 24 * 60.0
# Planned first: the others are held against it, and what it cannot do no kind can.
FIRST = "two-part"
# Kinds that bring a knife near the original.
KNIFED = ("cut",)


@record
class Draft:
    """What the four rooms made of one kind of mould."""

    study: Study
    split: Split
    air: Air
    mould: Mould
    bench: Bench


@record
class Kinds:
    """The kinds of mould that were planned, and the one to make."""

    chosen: Draft
    offers: tuple[MouldOffer, ...]  # empty where the job names the kind
    findings: tuple[Finding, ...]


def compare_kinds(study: Study, draw: DrawResult, draft_of) -> Kinds:
    """Plan the kind of mould that the job names, or every kind, and choose.

    Of those with the least risk to the original the one of least effort is chosen.

    Parameters
    ----------
    study : Study
    draw : DrawResult
        The best draws of a mould in two.
    draft_of : callable
        ``draft_of(study, draw)`` plans the kind that the study's job names.

    Raises
    ------
    InputError
        The part does not suit the kind that the job names.
    """
    if study.job.mould != "auto":
        draft = draft_of(study, draw)
        other = list_other_mould(draft.split, draft.mould, study.job)
        return Kinds(chosen=draft, offers=(), findings=other)
    with at_hand(KEPT):
        return _compare(study, draw, draft_of)


def _compare(study, draw, draft_of):
    drafts, offers = {}, []
    for kind in (FIRST, *(kind for kind in MOULD_KINDS if kind != FIRST)):
        why_not, draft = _try(kind, drafts, study, draw, draft_of)
        if draft is None:
            offers.append(MouldOffer(kind=kind, is_chosen=False, why_not=why_not))
        else:
            drafts[kind] = draft
            offers.append(_offer(draft, study.job))
    order = sorted((each for each in offers if not each.why_not), key=_order)
    best = order[0].kind
    return Kinds(
        chosen=drafts[best],
        offers=tuple(replace(each, is_chosen=each.kind == best) for each in offers),
        findings=tuple(_list_findings(drafts, order, study)),
    )


def _try(kind, drafts, study, draw, draft_of):
    """One of `WHY_NOT` and nothing, or nothing and the kind planned to the end."""
    if kind == "open" and not names_of_two(study.job) and find_back(study, draw) is None:
        return "shape", None
    if kind == "loose" and not _asks_for_pieces(drafts[FIRST].split):
        return "needless", None
    if kind == "cut" and drafts[FIRST].split.line.plugs:
        return "shape", None  # what fills a hole through the part joins both lips
    try:
        draft = draft_of(replace(study, job=replace(study.job, mould=kind)), draw)
    except InputError:
        if kind == FIRST:  # a mould in two is refused for what no kind can do
            raise
        return "set", None
    except Exception:
        # Nobody asked for this kind: a fault in it must not cost the shop its plan. The
        # table says so, and asked for by name the kind fails with its traceback.
        if kind == FIRST:
            raise
        return "fault", None
    if kind == "loose" and draft.split.kind != kind:
        return "needless", None  # no piece is needed, or none was found
    if draft.split.is_cut and not draft.mould.slit.is_opening:
        return "shape", None
    return "", draft


def _offer(draft, job):
    """What one kind of mould takes and leaves, and all of it weighed in minutes."""
    split, bench, weights = draft.split, draft.bench, job.air_weights
    n_marks = _n_marks(draft)
    seam_mm, seam_on_show_mm = _seam_mm(split, draft.mould.slit)
    left_ml = (draft.air.openings.left_mm3 + draft.air.openings.small_mm3) / 1000
    silicone_ml = sum(mix.volume_ml * mix.times for mix in bench.amounts.mixes if mix.half)
    resin_ml = sum(mix.volume_ml for mix in bench.amounts.mixes if not mix.half)
    hands_on_min = bench.schedule.hands_on_min
    days = bench.timeline.finish_min / MINUTES_PER_DAY
    effort_min = (
        hands_on_min
        + DAY_MIN * days
        + job.draw_weights.silicone_min_per_ml * silicone_ml
        + weights.resin_min_per_ml * resin_ml
        + weights.show_port_min * n_marks
        + job.draw_weights.seam_min_per_mm * seam_mm
        + job.draw_weights.show_seam_min_per_mm * seam_on_show_mm
        + weights.left_min_per_ml * left_ml
    )
    return MouldOffer(
        kind=split.kind,
        is_chosen=False,
        why_not="",
        silicone_g=bench.amounts.silicone_g,
        resin_g=bench.amounts.resin_g,
        hands_on_min=hands_on_min,
        finish_min=bench.timeline.finish_min,
        seam_mm=seam_mm,
        n_openings=len(draft.mould.block.ports),
        n_marks=n_marks,
        air_left_ml=left_ml,
        rubber=_worst(split),
        effort_min=effort_min,
    )


def _list_findings(drafts, order, study):
    """That the face that will be seen decides, where nobody has said which that is."""
    best, *others = order
    if best.kind != "open" or not others or study.show.basis == "given":
        return
    yield finding(
        "show-face-decides",
        "note",
        "kind",
        "kinds.show_decides",
        other=kind_name(others[0].kind),
    )


def _order(each):
    """Least risk to the original first, by what the rubber does and by the knife; then effort."""
    return risk_of(each), each.kind in KNIFED, each.effort_min


def _asks_for_pieces(split):
    """Whether the rubber of two halves may tear, or stays, at an undercut."""
    return rubber_risk(_worst(split)) > 0


def _worst(split):
    """The rubber's worst verdict at any undercut."""
    told = [flex.verdict for flex in split.flex.pockets if flex.verdict in RUBBER_VERDICTS]
    return max(told, key=RUBBER_VERDICTS.index, default=RUBBER_VERDICTS[0])


def _n_marks(draft):
    """How many openings leave a stub on the face that shows."""
    ports = draft.mould.block.ports
    if not ports:
        return 0
    places = draft.air.attitude.rest.to_part(np.array([port.place_mm for port in ports]))
    return int((draft.study.guard.show_share(places) > SHOWN_SHARE).sum())


def _seam_mm(split, slit):
    """Seam on the casting, and how much of it on the face that shows, mm."""
    if split.is_open:
        return 0.0, 0.0
    if split.is_cut:
        return slit.chosen.seam_mm, slit.chosen.seam_on_show_mm
    return split.seam.length_mm, split.seam.length_on_show_mm or 0.0
