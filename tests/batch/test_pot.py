"""Moulds in the pressure pot: none over the edge, none over another, none left out."""

import math
from dataclasses import replace

import batch_parts
import numpy as np
import pytest
import shapely

from castplan.batch import pot
from castplan.batch.pot import ACROSS, GAP_MM, Block, fill_pot, pack_loads
from castplan.batch.summary import load_sentence
from castplan.batch.totals import add_up
from castplan.records import Shop


def block(name, wide, deep, *, resin="r", resin_g=10.0, largest_cup_g=1000.0):
    return Block(
        name=name,
        base_mm=(wide, deep),
        resin=resin,
        resin_g=resin_g,
        largest_cup_g=largest_cup_g,
    )


def square_of(place):
    half_x, half_y = place.wide_mm / 2, place.deep_mm / 2
    return shapely.box(
        place.x_mm - half_x, place.y_mm - half_y, place.x_mm + half_x, place.y_mm + half_y
    )


def check_loads(loads, blocks, *, diameter_mm):
    """Every block once, inside, and its fingers' room from every other (by shapely)."""
    circle = shapely.Point(0, 0).buffer(diameter_mm / 2 + 1e-6, quad_segs=2048)
    names = [place.name for load in loads for place in load.places]
    assert sorted(names) == sorted(one.name for one in blocks)
    sides = {one.name: sorted(one.base_mm) for one in blocks}
    for load in loads:
        shapes = [square_of(place) for place in load.places]
        for place, shape in zip(load.places, shapes, strict=True):
            assert circle.contains(shape)
            assert sorted((place.wide_mm, place.deep_mm)) == sides[place.name]
        for k, shape in enumerate(shapes):
            # Beside or behind: square distance, so across a corner it is more.
            assert all(shape.distance(other) >= GAP_MM - 1e-9 for other in shapes[:k])


@pytest.mark.parametrize("seed", range(6))
def test_nothing_overlaps_and_nothing_is_left_out(seed):
    rng = np.random.default_rng(seed)
    blocks = [
        block(
            f"b{k}",
            *rng.uniform(20, 140, 2),
            resin=rng.choice(["r", "s"]),
            resin_g=rng.uniform(5, 90),
            largest_cup_g=200.0,
        )
        for k in range(25)
    ]
    loads = pack_loads(blocks, diameter_mm=240.0)
    check_loads(loads, blocks, diameter_mm=240.0)
    grams = {one.name: one.resin_g for one in blocks}
    resins = {one.name: one.resin for one in blocks}
    for load in loads:
        names = [place.name for place in load.places]
        assert {resins[name] for name in names} == {load.resin}
        assert load.resin_g == pytest.approx(sum(grams[name] for name in names))
        assert load.resin_g <= 200.0
    assert len(loads) < len(blocks)


def test_four_squares_go_into_the_circle_round_them():
    # Closed form: four squares of side s, gap g apart, fill a square of 2 s + g;
    # the circle round it is sqrt(2) (2 s + g) wide. The lattice gives away its
    # step of 1/80 on each side, so 4 % more are given.
    side = 60.0
    exact = math.sqrt(2) * (2 * side + GAP_MM)
    assert 4 / ACROSS >= 0.04
    blocks = [block(f"b{k}", side, side) for k in range(4)]
    assert len(pack_loads(blocks, diameter_mm=1.04 * exact)) == 1
    # And into a smaller one than the exact they cannot go.
    assert len(pack_loads(blocks, diameter_mm=0.99 * exact)) > 1


def test_one_that_just_fits_stands_on_the_axis():
    # The corner is on the pot's wall: only one place is free, on the lattice or not.
    loads = pack_loads([block("b", 60.0, 80.0)], diameter_mm=100.0)
    check_loads(loads, [block("b", 60.0, 80.0)], diameter_mm=100.0)


def test_resin_with_another_filler_is_another_cup():
    plain, less, more, again = (
        replace(block(name, 40, 40), filler=filler)
        for name, filler in (
            ("plain", ("", 0.0)),
            ("less", ("chalk", 0.2)),
            ("more", ("chalk", 0.5)),
            ("again", ("chalk", 0.2)),
        )
    )
    loads = pack_loads([plain, less, more, again], diameter_mm=200.0)
    told = {load.filler: sorted(place.name for place in load.places) for load in loads}
    assert told == {
        ("", 0.0): ["plain"],
        ("chalk", 0.2): ["again", "less"],
        ("chalk", 0.5): ["more"],
    }
    (said,) = (load_sentence(load) for load in loads if load.filler == ("chalk", 0.5))
    assert "(A and B, 50 % of chalk on top)" in said


def test_a_part_that_needs_more_than_a_cup_is_on_its_own():
    blocks = [block("big", 50, 50, resin_g=300.0, largest_cup_g=200.0), block("small", 40, 40)]
    assert [len(load.places) for load in pack_loads(blocks, diameter_mm=240.0)] == [1, 1]


@pytest.mark.parametrize(
    ("least", "mixed_g"),
    # The card's least is 85 g. A scale of 0.1 g weighs 100:90 within 2 % from 15 g on
    # (by hand: 0.05 / (m 100 / 190) + 0.1 / (m 90 / 190) = 0.02 gives m = 15.3).
    [("card", 85.0), ("scale", 60.0), ("none", 60.0)],
)
def test_a_shared_cup_is_made_up_as_the_shop_makes_small_cups_up(least, mixed_g):
    shop = Shop(least_mix=least, scale_step_g=0.1)
    entries = [pot_entry(name, resin_g=30.0) for name in "ab"]
    entries = [replace(one, digest=one.digest | {"n_moulds": 1}) for one in entries]
    (load,) = fill_pot(entries, (240.0, 300.0), shop).loads
    assert (load.resin_g, load.mixed_g) == (60.0, mixed_g)
    told = load_sentence(load)
    assert ("Mix 85.0 g" in told) is (least == "card") and "60.0 g" in told
    three = fill_pot([*entries, replace(entries[0], name="c")], (240.0, 300.0), shop).loads
    assert [one.mixed_g for one in three] == [90.0]


def test_a_load_is_mixed_as_often_as_its_moulds_give_castings():
    # By hand: one part of 30 g five times, one of 40 g twice, a trial shot each: three
    # cups of 70 g and three of 30 g; each is made up to 85 g.
    digests = ((30.0, 5), (40.0, 2))
    entries = [
        pot_entry(f"p{copies}", resin_g=resin_g).digest | {"copies": copies, "n_moulds": 1}
        for resin_g, copies in digests
    ]
    entries = [batch_parts.entry(f"p{k}", digest=told) for k, told in enumerate(entries)]
    for least, all_g in (("card", 6 * 85.0), ("none", 3 * 70.0 + 3 * 30.0)):
        pot_loads = fill_pot(entries, (240.0, 300.0), Shop(least_mix=least))
        (load,) = pot_loads.loads
        assert load.all_mixed_g == pytest.approx(all_g)
        # And so much is bought of both parts together, instead of 2 x 85 g as planned apart.
        resin = add_up(entries, Shop(least_mix=least), pot_loads).lines[1]
        assert resin.need_a_g + resin.need_b_g == pytest.approx(all_g)
        assert resin.need_b_g / resin.need_a_g == pytest.approx(0.9)
    # Two moulds of one part share its castings; the trial shot is the first one's.
    (digest,) = [entries[0].digest | {"copies": 25, "n_moulds": 2}]
    both = fill_pot([batch_parts.entry("p", digest=digest)], (240.0, 300.0), Shop())
    casts = [place.n_casts for load in both.loads for place in load.places]
    assert casts == [14, 12]


def pot_entry(name, **changes):
    place = {
        "inner_mm": [240.0, 300.0],
        "is_fitting": True,
        "way": "x",
        "need_mm": [100.0, 112.0],
        "base_mm": [70.0, 83.0],
        "height_mm": 112.0,
        "resin_g": 34.0,
        "filler": "",
        "filler_fraction": 0.0,
        "largest_cup_g": 236.0,
    }
    return batch_parts.entry(name, digest={"pot": place | changes, "n_moulds": 2})


def test_parts_for_another_pot_and_too_large_ones_are_told():
    entries = [
        pot_entry("fits"),
        pot_entry("large", is_fitting=False),
        pot_entry("elsewhere", inner_mm=[300.0, 300.0]),
        batch_parts.entry("none"),
        batch_parts.entry("lost", status="lost", error="gone"),
    ]
    filled = fill_pot(entries, (240.0, 300.0), Shop())
    moulds = [(place.name, place.mould) for load in filled.loads for place in load.places]
    assert moulds == [("fits", 1), ("fits", 2)]
    assert filled.too_large == ("large",)


def test_the_check_can_fail(monkeypatch):
    blocks = [block("a", 60, 60), block("b", 60, 60)]
    monkeypatch.setattr(pot, "GAP_MM", -30.0)
    with pytest.raises(AssertionError):
        check_loads(pack_loads(blocks, diameter_mm=240.0), blocks, diameter_mm=240.0)
