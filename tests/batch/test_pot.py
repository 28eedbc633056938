"""Moulds in the pressure pot: none over the edge, none over another, none left out."""

import math

import batch_parts
import numpy as np
import pytest
import shapely

from castplan.batch import pot
from castplan.batch.pot import ACROSS, GAP_MM, Block, fill_pot, pack_loads
from castplan.batch.summary import load_sentence


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


def test_a_part_that_needs_more_than_a_cup_is_on_its_own():
    blocks = [block("big", 50, 50, resin_g=300.0, largest_cup_g=200.0), block("small", 40, 40)]
    assert [len(load.places) for load in pack_loads(blocks, diameter_mm=240.0)] == [1, 1]


def test_a_shared_cup_under_the_smallest_mix_is_made_up():
    # The card's least is 85 g: two of 30 g share a cup that is made up, three fill one.
    resin = "polyurethane-fast-70d"
    for n_parts, is_made_up in ((2, True), (3, False)):
        blocks = [block(f"b{k}", 40, 40, resin=resin, resin_g=30.0) for k in range(n_parts)]
        (load,) = pack_loads(blocks, diameter_mm=240.0)
        told = load_sentence(load)
        assert ("Mix 85.0 g" in told) is is_made_up
        assert f"{30 * n_parts:.1f} g" in told


def pot_entry(name, **changes):
    place = {
        "inner_mm": [240.0, 300.0],
        "is_fitting": True,
        "way": "x",
        "need_mm": [100.0, 112.0],
        "base_mm": [70.0, 83.0],
        "height_mm": 112.0,
        "resin_g": 34.0,
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
    filled = fill_pot(entries, (240.0, 300.0))
    moulds = [(place.name, place.mould) for load in filled.loads for place in load.places]
    assert moulds == [("fits", 1), ("fits", 2)]
    assert filled.too_large == ("large",)


def test_the_check_can_fail(monkeypatch):
    blocks = [block("a", 60, 60), block("b", 60, 60)]
    monkeypatch.setattr(pot, "GAP_MM", -30.0)
    with pytest.raises(AssertionError):
        check_loads(pack_loads(blocks, diameter_mm=240.0), blocks, diameter_mm=240.0)
