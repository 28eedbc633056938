"""The kinds of mould side by side: bodies whose answer is plain, and what must not happen.

A half-ball on its flat, a dumb-bell and a plate with a cross hole are the cases that a mould
maker would name at sight (common practice, no source); solids are closed forms.
"""

import re
from dataclasses import replace
from types import SimpleNamespace

import kind_bodies
import manifold3d
import pytest
import shapes

from castplan import planning
from castplan.geometry.guard import Guard
from castplan.offers import Draft, make_offer
from castplan.plan_record import WHY_NOT, kind_name
from castplan.planning import build_plan
from castplan.records import Job
from castplan.split.records import MOULD_KINDS
from castplan.words.kinds import answer_cards, kind_rows, kind_sentence

COARSE = {"n_directions": 60, "n_attitudes": 60, "pitch_mm": 0.8}


def part_of(name):
    make, _ = kind_bodies.BODIES[name]
    return shapes.part_of(*kind_bodies.mesh_of(make()))


def half_ball():
    return part_of("half ball on its flat")


@pytest.fixture(scope="module")
def plans():
    made = {
        "half ball": half_ball(),
        "dumb-bell": part_of("dumb-bell"),
        "pinned plate": part_of("plate with crossing holes"),
    }
    return {name: build_plan(part, Job(**COARSE)) for name, part in made.items()}


@pytest.mark.parametrize(
    ("name", "kind"), [("half ball", "open"), ("dumb-bell", "two-part"), ("pinned plate", "loose")]
)
def test_the_plain_answer_is_found(plans, name, kind):
    plan = plans[name]
    assert plan.split.kind == kind
    (chosen,) = [each for each in plan.offers if each.is_chosen]
    assert chosen.kind == kind and not chosen.why_not


def test_every_kind_stands_in_the_table_with_its_numbers_or_its_reason(plans):
    for plan in plans.values():
        assert {each.kind for each in plan.offers} == set(MOULD_KINDS)
        for each in plan.offers:
            assert each.why_not in ("", *WHY_NOT)
            assert (each.silicone_g > 0) == (not each.why_not)
        rows = kind_rows(plan)
        assert len(rows) == len(MOULD_KINDS) and "(this plan)" in rows[0][0]
        assert all(row[-1] for row in rows)


def test_where_every_kind_stays_locked_the_sentence_says_so(plans):
    plan = plans["dumb-bell"]
    locked = tuple(
        each if each.why_not else replace(each, rubber="locked", locked_ml=1.0)
        for each in plan.offers
    )
    sentence = kind_sentence(replace(plan, offers=locked))
    assert "No kind of mould lets go" in sentence and "next best" not in sentence
    assert "lets go" not in kind_sentence(plan)


@pytest.fixture(scope="module")
def alone():
    return build_plan(half_ball(), Job(**COARSE, mould="two-part"))


def test_a_kind_asked_for_is_planned_as_it_was_offered(plans, alone):
    """What the table says of a kind is what its own plan weighs out and takes."""
    offers = {each.kind: each for each in plans["half ball"].offers}
    assert alone.offers == ()
    assert alone.bench.amounts.silicone_g == pytest.approx(offers["two-part"].silicone_g)
    assert alone.bench.schedule.hands_on_min == pytest.approx(offers["two-part"].hands_on_min)
    assert "as you chose" in kind_sentence(alone)


def test_a_kind_is_compared_with_the_hands_and_silicone_of_all_its_moulds(alone):
    bench, guard = alone.bench, Guard(alone.part, alone.job)

    def offer_of(bench):
        study = SimpleNamespace(guard=guard)
        draft = Draft(study=study, split=alone.split, air=alone.air, mould=alone.mould, bench=bench)
        return make_offer(draft, alone.job)

    one = offer_of(bench)
    three = offer_of(replace(bench, buy=replace(bench.buy, n_moulds=3)))
    # Two moulds more, without what is done once a job.
    assert three.hands_on_min - one.hands_on_min == pytest.approx(2 * bench.buy.mould_hands_on_min)
    assert three.silicone_g == pytest.approx(3 * one.silicone_g)
    volume_ml = sum(mix.volume_ml for mix in bench.amounts.mixes if mix.half)
    more_min = 2 * alone.job.draw_weights.silicone_min_per_ml * volume_ml
    more_min += 2 * bench.buy.mould_hands_on_min
    assert three.effort_min - one.effort_min == pytest.approx(more_min)


def test_the_next_best_is_told_by_what_it_takes_more(plans):
    plan = plans["half ball"]
    sentence = kind_sentence(plan)
    (chosen,) = [each for each in plan.offers if each.is_chosen]
    (other,) = [each for each in plan.offers if f"best is {kind_name(each.kind)}" in sentence]
    more_g = other.silicone_g - chosen.silicone_g
    said = re.search(r"([\d.]+) g more silicone", sentence)
    # Told in three digits.
    assert float(said[1]) == pytest.approx(more_g, rel=5e-3)


def test_the_side_that_is_seen_is_asked_for_where_it_decides(plans):
    codes = {finding.code for finding in plans["half ball"].findings}
    assert "show-face-decides" in codes
    told = build_plan(half_ball(), Job(**COARSE, show_face=(0, 0, 1)))
    assert "show-face-decides" not in {finding.code for finding in told.findings}
    # Where the flat side is the one that is seen, nothing is poured in there.
    back = build_plan(half_ball(), Job(**COARSE, show_face=(0, 0, -1)))
    assert back.split.kind != "open" or back.split.back.direction[2] < 0


def test_either_answer_to_what_is_seen_stands_beside_the_other(plans):
    """The half-ball's flat is poured into, unless it is seen; then two halves leave it whole."""
    hidden, seen = plans["half ball"].answers
    assert (hidden.is_seen, hidden.offer.kind) == (False, "open")
    assert seen.is_seen and seen.offer.kind != "open"
    assert hidden.side == seen.side == pytest.approx((0, 0, -1))
    first, second = answer_cards(plans["half ball"])
    assert "will not be seen" in first["title"] and "(this plan)" in first["kind"]
    assert "flat back" in second["title"] and "(this plan)" not in second["kind"]
    assert f"{seen.offer.silicone_g:.0f} g" in second["lines"][0]
    # Told, there is nothing to ask; of a dumb-bell no side decides.
    assert build_plan(half_ball(), Job(**COARSE, show_face=(0, 0, 1))).answers == ()
    assert plans["dumb-bell"].answers == ()


def test_a_side_that_was_guessed_to_be_seen_is_asked_for_where_it_forbids_an_open_mould():
    """A cup: from its hollow its bottom is taken for the side that shows."""
    plan = build_plan(part_of("deep cup"), Job(**COARSE))
    assert plan.show.basis == "guessed" and plan.split.kind != "open"
    seen, hidden = plan.answers
    assert seen.is_seen and seen.offer.kind == plan.split.kind
    assert not hidden.is_seen and hidden.offer.kind == "open"
    told = build_plan(part_of("deep cup"), Job(**COARSE, show_face=(0, 0, 1)))
    assert told.split.kind == "open" and told.answers == ()
    # What was told beside the other plan is what its own plan takes.
    assert told.bench.amounts.silicone_g == pytest.approx(hidden.offer.silicone_g, rel=1e-3)


def test_a_bar_is_not_stood_on_its_end():
    """60 mm over 10: only its ends are flat, and none of them is a back to lie on."""
    bar = manifold3d.Manifold.cylinder(60.0, 5.0, 5.0, 96)
    plan = build_plan(shapes.part_of(*kind_bodies.mesh_of(bar)), Job(**COARSE))
    offers = {each.kind: each for each in plan.offers}
    assert offers["open"].why_not == "shape" and plan.split.kind == "two-part"
    stub = manifold3d.Manifold.cylinder(9.0, 5.0, 5.0, 96)
    lying = build_plan(shapes.part_of(*kind_bodies.mesh_of(stub)), Job(**COARSE))
    assert lying.split.kind == "open"


def test_a_small_round_part_is_cut_open_and_a_long_one_is_not(plans):
    """A ball as long as it is wide, and the dumb-bell three times as long."""
    ball = build_plan(part_of("ball"), Job(**COARSE))
    assert ball.split.kind == "cut"
    (cut,) = [each for each in plans["dumb-bell"].offers if each.kind == "cut"]
    assert cut.is_knife_risk and cut.effort_min < plans["dumb-bell"].offers[0].effort_min


def test_what_holds_silicone_is_no_answer_beside_what_releases_it(plans):
    plan = plans["pinned plate"]
    offers = {each.kind: each for each in plan.offers}
    assert offers["open"].why_not == "locked" and offers["two-part"].rubber == "locked"
    assert offers["two-part"].locked_ml > 0 == offers["loose"].locked_ml
    assert "No other kind works" in kind_sentence(plan)


def test_a_kind_that_nobody_asked_for_cannot_cost_the_plan(monkeypatch):
    made = planning.draft_mould

    def failing(study, draw, **named):
        if study.job.mould == "open":
            raise ZeroDivisionError("a fault")
        return made(study, draw, **named)

    monkeypatch.setattr(planning, "draft_mould", failing)
    plan = build_plan(half_ball(), Job(**COARSE))
    assert {each.kind: each.why_not for each in plan.offers}["open"] == "fault"
    assert any("fault of its own" in row[-1] for row in kind_rows(plan))
    with pytest.raises(ZeroDivisionError):
        build_plan(half_ball(), Job(**COARSE, mould="open"))
