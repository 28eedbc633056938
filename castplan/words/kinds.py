"""The kinds of mould side by side, in words."""

from castplan.materials.wording import listed, weight_text
from castplan.plan_record import DAY_MIN, MouldOffer, Plan, by_risk, kind_name, risk_of
from castplan.split.records import RUBBER_VERDICTS
from castplan.texts import code_key, say
from castplan.words import formats
from castplan.words.faces import side_words

KIND_HEADS = (
    ("kinds.kind", 30.0, True),
    ("kinds.silicone", 19.0),
    ("kinds.resin", 17.0),
    ("kinds.hands_on", 19.0),
    ("kinds.finish", 22.0),
    ("kinds.seam", 21.0),
    ("kinds.marks", 23.0),
    ("kinds.risk", None),
)
# A difference below these is none to choose by.
_LEAST_G, _LEAST_SHARE = 1.0, 0.02
_LEAST_MIN = 5.0


def kind_sentence(plan: Plan) -> str:
    """Which mould, and what the next best would cost."""
    works = sorted((each for each in plan.offers if not each.why_not), key=_place)
    if not works:
        return say("kinds.asked", kind=kind_name(plan.split.kind))
    best, *others = works
    # What holds silicone is no answer beside one that holds none.
    others = [each for each in others if not each.locked_ml or best.locked_ml]
    is_one = best.kind == "loose" and len(plan.split.pieces) == 1
    kind = say("kinds.loose_one") if is_one else kind_name(best.kind)
    if best.rubber == RUBBER_VERDICTS[-1]:
        return say("kinds.none_releases", kind=kind)
    if not others:
        return say("kinds.only", kind=kind)
    other = kind_name(others[0].kind)
    differs = listed(list(_differences(plan, best, others[0])))
    if not differs:
        return say("kinds.best_alike", kind=kind, other=other)
    return say("kinds.best", kind=kind, other=other, differs=differs)


def kind_rows(plan: Plan) -> list[tuple[str, ...]]:
    """A row for each kind, the planned one first; one that does not work says why."""
    return [_row(plan, each) for each in sorted(plan.offers, key=_place)]


def answer_cards(plan: Plan) -> list[dict]:
    """What to make for either answer to which side will be seen, where it decides.

    Returns
    -------
    list of dict
        None or two, the planned one first: ``title``, ``kind``, ``lines``, and for the page
        ``shown`` (the way that the side looks which is then seen) with ``tell``, its button.
    """
    return [_answer(plan, each) for each in plan.answers]


def _answer(plan, each):
    offer, seen = each.offer, "seen" if each.is_seen else "not_seen"
    kind = formats.capital(kind_name(offer.kind))
    lines = [
        say(
            "kinds.answer_takes",
            silicone=weight_text(offer.silicone_g),
            work=formats.time_text(offer.hands_on_min),
            day=day_of(plan, at_min=offer.finish_min),
        ),
        say("kinds.answer_marks", n=offer.n_marks)
        if offer.n_marks
        else say("kinds.answer_no_marks"),
    ]
    if risk_of(offer):
        lines.append(say(f"kinds.rubber_{code_key(offer.rubber)}"))
    return {
        "title": say(f"kinds.if_{seen}", side=side_words(plan, each.side)),
        "kind": say("kinds.answer_this", kind=kind) if offer.is_chosen else kind,
        "lines": lines,
        "shown": [v if each.is_seen else -v for v in each.side],
        "tell": say(f"kinds.tell_{seen}"),
    }


def weights_sentence() -> str:
    """What the order of the kinds rests on."""
    return say("kinds.weights", day=f"{DAY_MIN:.0f}")


def _place(each):
    return bool(each.why_not), not each.is_chosen, () if each.why_not else by_risk(each)


def _row(plan: Plan, each: MouldOffer) -> tuple[str, ...]:
    kind = formats.capital(kind_name(each.kind))
    if each.why_not:
        key = code_key(each.why_not if each.why_not in ("set", "locked", "fault") else each.kind)
        return (kind, *6 * ("",), say(f"kinds.not_{key}"))
    rubber = code_key(each.rubber)
    risks = [say(f"kinds.risk_{code_key(each.kind)}")]
    if risk_of(each):  # no longer the least of risks, if it was
        risks = [say(f"kinds.rubber_{rubber}"), *(risks if each.n_openings else ())]
    openings = say("kinds.no_openings")
    if each.n_openings:
        openings = say("kinds.openings_show", n_openings=each.n_openings, n_marks=each.n_marks)
    return (
        say("kinds.this_plan", kind=kind) if each.is_chosen else kind,
        weight_text(each.silicone_g),
        weight_text(each.resin_g),
        formats.time_text(each.hands_on_min),
        say("kinds.on_day", day=day_of(plan, at_min=each.finish_min)),
        f"{each.seam_mm:.0f} mm" if each.seam_mm else say("kinds.no_seam"),
        openings,
        " ".join(risks),
    )


def day_of(plan: Plan, *, at_min: float) -> int:
    """The day of the job on which a time from its start lies, the first being 1."""
    return int((60 * plan.bench.timeline.first_start_h + at_min) // (24 * 60)) + 1


def _differences(plan, best, other):
    """What another kind takes more or less than the best."""
    silicone_g = other.silicone_g - best.silicone_g
    if abs(silicone_g) >= max(_LEAST_G, _LEAST_SHARE * best.silicone_g):
        key = "kinds.more_silicone" if silicone_g > 0 else "kinds.less_silicone"
        yield say(key, amount=weight_text(abs(silicone_g)))
    hands_min = other.hands_on_min - best.hands_on_min
    if abs(hands_min) >= _LEAST_MIN:
        key = "kinds.more_hands" if hands_min > 0 else "kinds.less_hands"
        yield say(key, amount=formats.time_text(abs(hands_min)))
    days = day_of(plan, at_min=other.finish_min) - day_of(plan, at_min=best.finish_min)
    if days:
        yield say("kinds.later" if days > 0 else "kinds.sooner", n=abs(days))
    if risk_of(other) > risk_of(best):
        yield say(f"kinds.but_{code_key(other.rubber)}")
    if other.kind == "cut":
        yield say("kinds.but_cut")
    n_marks = other.n_marks - best.n_marks
    if n_marks:
        key = "kinds.more_marks" if n_marks > 0 else "kinds.fewer_marks"
        yield say(key, n=abs(n_marks))
