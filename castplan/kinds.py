"""Which mould: every kind that works, planned to the end and set side by side."""

from dataclasses import replace

from castplan.errors import InputError
from castplan.geometry.guard import Guard
from castplan.memory import at_hand
from castplan.mould.open_findings import list_other_mould
from castplan.offers import Draft, count_marks, make_offer, worst_of
from castplan.part.study import Study
from castplan.plan_record import MouldOffer, ShowAnswer, by_risk, kind_name, rubber_risk
from castplan.record import Finding, finding, record
from castplan.split.back import find_back, shows_back
from castplan.split.records import MOULD_KINDS, RUBBER_VERDICTS, DrawResult
from castplan.split.room import names_of_two

# Kinds ask for the same fields and maps; so many of each are kept meanwhile.
KEPT = 4
# Planned first: the others are held against it, and what it cannot do no kind can.
FIRST = "two-part"
# Then what may free all that it holds: a kind that holds some of it still is none beside that.
ORDER = (FIRST, "loose", *(kind for kind in MOULD_KINDS if kind not in (FIRST, "loose")))


@record
class Kinds:
    """The kinds of mould that were planned, and the one to make."""

    chosen: Draft
    offers: tuple[MouldOffer, ...]  # empty where the job names the kind
    answers: tuple[ShowAnswer, ...]  # two where the side that is seen decides, and is not given
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
        ``draft_of(study, draw, goes_on=...)`` plans the kind that the study's job names;
        nothing where ``goes_on`` of its split is false.

    Raises
    ------
    InputError
        The part does not suit the kind that the job names.
    """
    if study.job.mould != "auto":
        draft = draft_of(study, draw)
        other = list_other_mould(draft.split, draft.mould, study.job)
        return Kinds(chosen=draft, offers=(), answers=(), findings=other)
    with at_hand(KEPT):
        return _compare(study, draw, draft_of)


def _compare(study, draw, draft_of):
    drafts, offers = {}, {}
    for kind in ORDER:
        why_not, draft = _try(kind, drafts, study, draw, draft_of)
        offers[kind] = MouldOffer(kind=kind, is_chosen=False, why_not=why_not)
        if draft is not None:
            drafts[kind], offers[kind] = draft, make_offer(draft, study.job)
    works = sorted((each for each in offers.values() if not each.why_not), key=by_risk)
    works[0] = offers[works[0].kind] = replace(works[0], is_chosen=True)
    chosen = drafts[works[0].kind]
    answers = _ask_which_shows(study, draw, chosen, drafts, works, draft_of)
    return Kinds(
        chosen=chosen,
        offers=tuple(offers[kind] for kind in MOULD_KINDS),
        answers=answers,
        findings=tuple(_list_findings(answers)),
    )


def _try(kind, drafts, study, draw, draft_of):
    """One of `WHY_NOT` and nothing, or nothing and the kind planned to the end."""
    first = drafts.get(FIRST)
    if kind == "open" and not names_of_two(study.job) and _lying(find_back(study, draw)) is None:
        return "shape", None
    if kind == "loose" and rubber_risk(worst_of(first.split)) == 0:
        return "needless", None
    if kind == "cut" and first.split.line.plugs:
        return "shape", None  # what fills a hole through the part joins both lips
    releases = any(worst_of(each.split) != RUBBER_VERDICTS[-1] for each in drafts.values())

    def goes_on(split):
        if kind == "loose":
            return split.kind == kind
        return not releases or worst_of(split) != RUBBER_VERDICTS[-1]

    try:
        job = replace(study.job, mould=kind)
        draft = draft_of(replace(study, job=job), draw, goes_on=goes_on)
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
    if draft is None:
        # No piece is needed, or none was found; or it holds what others release.
        return ("needless" if kind == "loose" else "locked"), None
    if draft.split.is_cut and not draft.mould.slit.is_opening:
        return "shape", None
    return "", draft


def _ask_which_shows(study, draw, chosen, drafts, works, draft_of):
    """What to make for either answer, where the side that is seen decides and is not given."""
    if study.show.basis == "given":
        return ()
    best = works[0]
    if best.kind == "open":
        # Resin is poured in at the flat back: if that is seen, another kind is better.
        others = [each for each in works if each.kind != "open"]
        if not others:
            return ()
        way = chosen.split.back.direction
        return (
            _answer(best, way, is_seen=False),
            _answer(_as_seen(drafts[others[0].kind], study, others[0], way), way, is_seen=True),
        )
    offer = _open_where_hidden(study, draw, best, draft_of)
    if offer is None:
        return ()
    offer, way = offer
    return _answer(best, way, is_seen=True), _answer(offer, way, is_seen=False)


def _open_where_hidden(study, draw, best, draft_of):
    """An open mould on the flat side that was guessed to be seen, if it is not, and its way up.

    Nothing where the guess is not in its way, or another kind would be made all the same.
    """
    if study.show.direction is None or names_of_two(study.job):
        return None
    free = replace(study, job=replace(study.job, show_face=None))
    back = _lying(find_back(free, draw))
    if back is None or not shows_back(study.show.direction, back.direction):
        return None
    try:
        job = replace(free.job, mould="open")
        draft = draft_of(
            replace(free, job=job), draw, goes_on=lambda split: _is_no_worse(split, best)
        )
    except Exception:  # as of any kind that nobody asked for
        return None
    if draft is None:
        return None
    offer = replace(make_offer(draft, study.job), n_marks=0)
    return (offer, back.direction) if by_risk(offer) < by_risk(best) else None


def _lying(back):
    """The back, unless the part would stand on end on it."""
    return None if back is None or back.is_deep else back


def _is_no_worse(split, best):
    return rubber_risk(worst_of(split)) <= rubber_risk(best.rubber)


def _as_seen(draft, study, offer, way):
    """The offer with the openings that stand on the flat back as marks where it shows."""
    down = tuple(-v for v in way)
    guard = Guard(study.part, replace(study.job, show_face=down))
    return replace(offer, n_marks=count_marks(draft, guard))


def _answer(offer, way, *, is_seen):
    return ShowAnswer(side=tuple(-v for v in way), is_seen=is_seen, offer=offer)


def _list_findings(answers):
    """That the face that will be seen decides, where nobody has said which that is."""
    if not answers:
        return
    planned, other = (each.offer for each in answers)
    names = {"kind": kind_name(planned.kind), "other": kind_name(other.kind)}
    if answers[0].is_seen:
        yield finding("show-face-decides", "note", "kind", "kinds.show_decides_seen", **names)
    else:
        yield finding("show-face-decides", "note", "kind", "kinds.show_decides", **names)
