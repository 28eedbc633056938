"""Weighing out a mould: volumes to grams, checked by hand arithmetic."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from output.neutral import filled

from castplan.bench.amounts import weigh_out
from castplan.bench.job_findings import list_amount_findings
from castplan.errors import InputError
from castplan.materials.cards import get_card
from castplan.materials.waste import resin_waste, silicone_waste
from castplan.records import BASES, Bedding, Job, MouldResult


def mould(**changes):
    """A 100 x 60 x 50 mm box (300 ml) round a 40 ml part split unevenly; invented."""
    values = {
        "is_open": False,
        "low_mm": (0.0, 0.0, 0.0),
        "high_mm": (100.0, 60.0, 50.0),
        "wall_mm": 12.0,
        "over_mm": 12.0,
        "under_mm": 12.0,
        "box_ml": 300.0,
        "part_ml": 40.0,
        "lower_ml": 100.0,
        "upper_ml": 160.0,
        "bounding_box_ml": 228.8,
        "sampling_fraction": 0.01,
        "bedding": filled(Bedding, kind="clay"),
        "ports": (),
        "datum_mm": (0.0, 0.0),
        "box_view_mm": np.array([(0, 0), (100, 0), (100, 60), (0, 60)]),
        "ports_ml": 2.0,
    }
    return MouldResult(**(values | changes))


def test_grams_by_hand():
    amounts = weigh_out(mould(), Job(copies=3))
    first, second, resin = amounts.mixes
    # 160 ml * 1.07 * 1.08 g/ml, 20:1; 42 ml * 1.12 * 1.05 g/ml, 100:90. Arithmetic only.
    assert first.mass_g == pytest.approx(184.896, rel=1e-12)
    assert (first.a_g, first.b_g) == pytest.approx((184.896 * 20 / 21, 184.896 / 21), rel=1e-12)
    assert second.mass_g == pytest.approx(115.56, rel=1e-12)
    assert resin.mass_g == pytest.approx(49.392, rel=1e-12)
    assert (resin.a_g, resin.b_g) == pytest.approx((49.392 / 1.9, 49.392 * 0.9 / 1.9), rel=1e-12)
    assert amounts.silicone_g == pytest.approx(300.456, rel=1e-12)
    assert amounts.resin_g == pytest.approx(3 * 49.392, rel=1e-12)
    assert amounts.bounding_box_g == pytest.approx(228.8 * 1.07 * 1.08, rel=1e-12)


def test_mixes_are_named_and_ordered_as_poured():
    amounts = weigh_out(mould(), Job(copies=3))
    assert [mix.name for mix in amounts.mixes] == ["First half", "Second half", "Resin, one copy"]
    assert [mix.half for mix in amounts.mixes] == ["upper", "lower", None]
    assert [mix.times for mix in amounts.mixes] == [1, 1, 3]
    assert [mix.net_ml for mix in amounts.mixes] == [160.0, 100.0, 42.0]


@pytest.mark.parametrize(
    ("changes", "half"), [({"lower_ml": 0.0}, "upper"), ({"upper_ml": 0.0}, "lower")]
)
def test_empty_half_has_no_mix(changes, half):
    amounts = weigh_out(mould(**changes), Job())
    assert [mix.half for mix in amounts.mixes] == [half, None]
    assert amounts.mixes[0].name == "First half"
    assert amounts.silicone_g == amounts.mixes[0].mass_g


def test_pour_within_half_the_pot_life_of_the_shop():
    # Common practice: pour within half the quoted pot life, which halves per 10 C.
    cool = weigh_out(mould(), Job(shop_temperature_c=23.0)).mixes
    warm = weigh_out(mould(), Job(shop_temperature_c=33.0)).mixes
    assert (cool[0].pot_life_min, cool[0].pour_by_min) == (45.0, 22.5)
    assert (cool[2].pot_life_min, cool[2].pour_by_min) == (3.0, 1.5)
    for one, other in zip(cool, warm, strict=True):
        assert other.pour_by_min == pytest.approx(one.pour_by_min / 2)
        assert other.mass_g == one.mass_g


def test_every_assumption_is_sourced():
    amounts = weigh_out(mould(), Job())
    texts = [str(number.source) for number in amounts.assumptions]
    for number in amounts.assumptions:
        assert number.basis in BASES
        if number.low is not None:
            assert number.low <= number.value <= number.high
    for card_id in (Job().silicone, Job().resin):
        for what in ("density of", "part A of", "part B of", "pot life of", "demould time of"):
            assert any(text.startswith(f"{what} {card_id}") for text in texts), what
    assert texts[:2] == [str(silicone_waste().source), str(resin_waste().source)]


def test_unknown_card_and_cold_shop_are_refused():
    with pytest.raises(InputError, match="silicone card"):
        weigh_out(mould(), Job(silicone="latex"))
    with pytest.raises(InputError, match="resin card"):
        weigh_out(mould(), Job(resin="plaster"))
    with pytest.raises(InputError, match="shop_temperature_c: found 5, need at least 10 C"):
        Job(shop_temperature_c=5.0)


@given(
    upper_ml=st.floats(1, 5000),
    lower_ml=st.floats(1, 5000),
    part_ml=st.floats(0.1, 3000),
    copies=st.integers(1, 50),
    silicone=st.sampled_from(["silicone-tin-25a", "silicone-platinum-20a"]),
    resin=st.sampled_from(["polyurethane-fast-70d", "epoxy-slow-80d", "polyester-casting"]),
)
def test_parts_make_the_mix_and_mixes_make_the_total(
    upper_ml, lower_ml, part_ml, copies, silicone, resin
):
    job = Job(silicone=silicone, resin=resin, copies=copies)
    amounts = weigh_out(mould(upper_ml=upper_ml, lower_ml=lower_ml, part_ml=part_ml), job)
    for mix in amounts.mixes:
        assert mix.a_g + mix.b_g == pytest.approx(mix.mass_g, rel=1e-12)
        assert mix.mass_g > mix.net_ml * mix.density_g_ml
    weighed_g = sum(mix.mass_g * mix.times for mix in amounts.mixes)
    assert amounts.silicone_g + amounts.resin_g == pytest.approx(weighed_g, rel=1e-12)
    # The silicone that stays in the mould is the void: grams back to millilitres.
    density = get_card(silicone, kind="silicone").density_g_ml.value
    kept_ml = amounts.silicone_g / density / (1 + silicone_waste().value)
    assert kept_ml == pytest.approx(upper_ml + lower_ml, rel=1e-12)


def test_small_mix_keeps_its_need():
    # The card says what is too small; the mix is sized by need all the same.
    amounts = weigh_out(mould(part_ml=10.0, ports_ml=0.0), Job())
    smallest = get_card(Job().resin, kind="resin").smallest_mix_g
    assert amounts.mixes[-1].mass_g == pytest.approx(11.76, rel=1e-12)
    # 85 to 100 g: from memory.
    assert amounts.mixes[-1].mass_g < smallest.value == 85


def test_a_density_that_its_filler_leaves_open_is_told_with_what_it_weighs():
    """The card's own range: 1.07 with fumed silica alone, 1.34 with heavy fillers (from memory)."""
    job = Job(silicone="silicone-tin-20a")
    amounts = weigh_out(mould(), job)
    (found,) = (f for f in list_amount_findings(job, amounts) if f.code == "density-open")
    # 260 ml with 7 % waste: 278.2 ml at 1.07, 1.10 and 1.34 g/ml.
    assert "takes 298 g to 373 g instead of 306 g" in str(found.message)
    assert "have 66.8 g more" in str(found.do)
    assert [f.code for f in list_amount_findings(Job(), weigh_out(mould(), Job()))] == ["small-mix"]


def test_a_mix_is_small_by_its_resin_and_told_with_its_filler():
    # 42 ml with 12 % waste: 47.04 ml, at 0.5 of aluminium to 1.05 g/ml 41.4 g and 20.7 g.
    job = Job(filler="aluminium", filler_fraction=0.5)
    (small, *_) = list_amount_findings(job, weigh_out(mould(), job))
    assert "needs only 62.0 g of resin" in str(small.message)
    assert "mixes 128 g" in str(small.message)  # 85 g and half of it
