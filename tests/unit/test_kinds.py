"""The kinds of mould side by side: bodies whose answer is plain, and what must not happen.

A half-ball on its flat, a dumb-bell and a plate with a cross hole are the cases that a mould
maker would name at sight (common practice, no source); solids are closed forms.
"""

import re

import manifold3d
import pytest
import shapes

from castplan import planning
from castplan.plan_record import WHY_NOT, kind_name
from castplan.planning import build_plan
from castplan.records import Job
from castplan.split.records import MOULD_KINDS
from castplan.words.kinds import kind_rows, kind_sentence

COARSE = {"n_directions": 60, "n_attitudes": 60, "pitch_mm": 0.8}


def part_of(body):
    mesh = body.to_mesh64()
    return shapes.part_of(mesh.vert_properties[:, :3], mesh.tri_verts.astype("int64"))


def half_ball():
    return part_of(manifold3d.Manifold.sphere(20.0, 48).trim_by_plane((0, 0, 1), 0.0))


def dumb_bell():
    ends = [manifold3d.Manifold.sphere(12.0, 48).translate((x, 0, 0)) for x in (-24.0, 24.0)]
    bar = manifold3d.Manifold.cylinder(48.0, 5.0, 5.0, 48).rotate((0, 90, 0))
    return part_of(ends[0] + ends[1] + bar.translate((-24, 0, 0)))


def pinned_plate():
    """With a hole across each way, or it could lie on its edge with the hole upright."""
    pin = manifold3d.Manifold.cylinder(200.0, 3.0, 3.0, 48)
    holes = pin.rotate((90, 0, 0)).translate((42.0, 100.0, 7.0))
    holes += pin.rotate((0, 90, 0)).translate((-100.0, 18.0, 7.0))
    return part_of(manifold3d.Manifold.cube((60.0, 36.0, 14.0)) - holes)


@pytest.fixture(scope="module")
def plans():
    made = {"half ball": half_ball(), "dumb-bell": dumb_bell(), "pinned plate": pinned_plate()}
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


def test_a_kind_asked_for_is_planned_as_it_was_offered(plans):
    """What the table says of a kind is what its own plan weighs out and takes."""
    offers = {each.kind: each for each in plans["half ball"].offers}
    alone = build_plan(half_ball(), Job(**COARSE, mould="two-part"))
    assert alone.offers == ()
    assert alone.bench.amounts.silicone_g == pytest.approx(offers["two-part"].silicone_g)
    assert alone.bench.schedule.hands_on_min == offers["two-part"].hands_on_min
    assert "as you chose" in kind_sentence(alone)


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
