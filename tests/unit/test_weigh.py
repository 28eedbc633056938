"""Cups at the scale: shares, readings, the error of the ratio, batches.

Weights and readings are closed forms of the cards' own numbers.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from output.neutral import filled

from castplan.bench import findings as bench_findings
from castplan.bench.amounts import Pour, size_mix, weigh_out
from castplan.bench.weigh import (
    LONGEST_MIX_MIN,
    MOST_CUPS,
    POUR_RATE_ML_MIN,
    ratio_error,
    rise,
    share_out,
    size_cups,
)
from castplan.materials.cards import get_card
from castplan.records import DrawResult, Frame, Job, MouldResult, Part, PartingResult, Shop, Split

# A cube of 20 mm, one facet a side and half: 2400 mm2 of surface.
CORNERS = np.array([[x, y, z] for x in (0, 20) for y in (0, 20) for z in (0, 20)], float)
FACES = np.array(
    [
        [0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
        [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3],
    ],
    np.int32,
)  # fmt: skip
CUBE = filled(Part, name="cube", vertices_mm=CORNERS, faces=FACES)
DRAW = filled(DrawResult, frame=Frame(rotation=np.eye(3)))


def cups_of(job, *, upper_ml=160.0, lower_ml=100.0, part_ml=40.0, height_mm=10.0):
    mould = filled(
        MouldResult,
        upper_ml=upper_ml,
        lower_ml=lower_ml,
        part_ml=part_ml,
        bounding_box_ml=228.8,
        ports_ml=2.0,
    )
    amounts = weigh_out(mould, job)
    parting = filled(PartingResult, height_mm=height_mm)
    return amounts, size_cups(amounts, CUBE, filled(Split, draw=DRAW, parting=parting), job)


def mix_of(card_id, kind, *, mass_g, job=None):
    job = job or Job()
    card = get_card(card_id, kind=kind)
    pour = Pour(name="Mix", net_ml=mass_g / card.density_g_ml.value, waste_fraction=0.0)
    mix = size_mix(card, pour, temperature_c=job.shop_temperature_c)
    return share_out(mix, card, job)


@pytest.mark.parametrize(
    ("a_g", "b_g", "step_g", "error"),
    [
        # Worst case h_A/m_A + h_B/m_B, half a step for A read once, a whole step for
        # B as the difference of two readings (GUM, JCGM 100:2008, F.2.2.1 on resolution).
        (50, 5, 1, 0.21),
        (50, 5, 0.1, 0.021),
        (20, 20, 1, 0.075),
        # 5 % of 15 g is 0.75 g: a 0.1 g step is 13 % of that (closed form).
        (15, 0.75, 0.1, 0.1 / 0.75 + 0.05 / 15),
    ],
)
def test_error_of_the_ratio(a_g, b_g, step_g, error):
    assert ratio_error(a_g=a_g, b_g=b_g, step_g=step_g) == pytest.approx(error, rel=1e-12)


@given(
    a_g=st.floats(5, 5000),
    b_g=st.floats(5, 5000),
    step_g=st.sampled_from([0.01, 0.1, 1.0]),
    tare_g=st.floats(0, 500),
)
def test_no_reading_of_the_scale_is_further_off(a_g, b_g, step_g, tare_g):
    """Whatever is poured up to the shown target, its true ratio keeps the bound to first order."""

    def shown(mass_g):
        return round(mass_g / step_g) * step_g

    # The scale shows the target as soon as the true weight rounds to it.
    first, second = shown(a_g), shown(a_g + b_g)
    for low_or_high in (-0.499999, 0.499999):
        true_a = first + low_or_high * step_g
        true_b = (second - low_or_high * step_g) - true_a
        ideal = (first, second - first)
        off = abs((true_b / true_a) / (ideal[1] / ideal[0]) - 1)
        bound = ratio_error(a_g=true_a, b_g=ideal[1], step_g=step_g)
        assert off <= bound * 1.2  # second order of errors up to 20 %


def test_readings_are_running_totals_with_the_tare():
    job = Job(pigment_fraction=0.02, shop=Shop(tare_g=12.0, scale_step_g=0.1))
    (cup,), _ = mix_of("polyurethane-fast-70d", "resin", mass_g=120.0, job=job)
    # 120 g at 100:90 is 63.158 and 56.842 g; 2 % of 120 is 2.4. Arithmetic only.
    assert (cup.a_g, cup.b_g, cup.pigment_g) == pytest.approx((63.158, 56.842, 2.4), abs=1e-3)
    assert cup.reading_a_g == pytest.approx(75.158, abs=1e-3)
    assert cup.reading_b_g == pytest.approx(132.0)
    assert cup.reading_pigment_g == pytest.approx(134.4)


def test_a_small_cup_is_made_up_to_the_smallest_sensible_mix():
    # Less than 85 to 100 g of polyurethane warms too little: from memory.
    (cup,), _ = mix_of("polyurethane-fast-70d", "resin", mass_g=31.0)
    assert (cup.mass_g, cup.made_up_g) == pytest.approx((85.0, 54.0))
    (cup,), _ = mix_of("polyurethane-fast-70d", "resin", mass_g=86.0)
    assert cup.made_up_g == 0.0


def test_batches_fit_into_half_the_pot_life():
    card = get_card("silicone-tin-25a", kind="silicone")
    cups, limit = mix_of(card.card_id, "silicone", mass_g=5000.0)
    # 22.5 min to pour less 3 min of mixing and 7.5 of degassing leave 12 min at 150 ml/min
    # of 1.08 g/ml.
    assert limit.largest_g == pytest.approx(12 * 150 * 1.08)
    assert len(cups) == 3 == -(-5000 // limit.largest_g)
    for cup in cups:
        assert cup.mass_g == pytest.approx(5000 / 3)
        assert cup.mix_and_pour_min <= cup.pour_by_min
    assert (LONGEST_MIX_MIN, POUR_RATE_ML_MIN["silicone"]) == (10, 150)


@pytest.mark.parametrize(
    ("card_id", "left_min"),
    [
        # Half of a pot life of 20 min is 10: 3 of mixing and 5 of degassing would leave 2.
        ("silicone-platinum-10a", 10 - 3),
        # Of 12.5 min a third stays for pouring: 5.3 min are left for degassing.
        ("silicone-tin-30a", 12.5 / 3),
        ("silicone-platinum-30a", 22.5 - 3 - 7.5),
    ],
)
def test_degassing_takes_its_time_or_is_left_out(card_id, left_min):
    # 5 to 10 min under vacuum: from memory of data sheets of moulding silicones.
    _, limit = mix_of(card_id, "silicone", mass_g=500.0)
    density = get_card(card_id, kind="silicone").density_g_ml.value
    assert limit.largest_g == pytest.approx(left_min * 150 * density)


def test_a_pot_is_closed_before_the_resin_sets():
    # Pot life 3 min at 23 C, halved per 10 C; the pot takes 1.5 min (assumed).
    for temperature_c, pour_by_min in ((23.0, 1.5), (28.0, 3 * 0.5**0.5 - 1.5)):
        job = Job(pot_mm=(240.0, 300.0), shop_temperature_c=temperature_c)
        amounts, weigh = cups_of(job)
        resin = amounts.mixes[-1]
        assert resin.pour_by_min == pytest.approx(pour_by_min)
        assert resin.pour_by_min + resin.closing_min <= resin.pot_life_min + 1e-9
        cup = next(cup for cup in weigh.cups if cup.pour == resin.name)
        assert cup.pour_by_min == resin.pour_by_min
        told = {found.code: found.severity for found in bench_findings._pot(amounts)}
        assert told == ({} if temperature_c == 23 else {"pot-late": "warn"})
    lost, _ = cups_of(Job(pot_mm=(240.0, 300.0), shop_temperature_c=33.0))
    assert [found.severity for found in bench_findings._pot(lost)] == ["stop"]
    # Without a pot, and for the silicone, half of the pot life.
    without, _ = cups_of(Job(shop_temperature_c=33.0))
    assert not list(bench_findings._pot(without))
    for mix in (*without.mixes, *lost.mixes[:-1]):
        assert mix.pour_by_min == pytest.approx(mix.pot_life_min / 2)


def test_heat_and_chamber_limit_a_cup_too():
    cups, limit = mix_of("epoxy-slow-80d", "resin", mass_g=2500.0)
    assert (limit.largest_g, len(cups)) == (1000, 3)
    assert "gets too hot" in str(limit.reason)
    job = Job(shop=Shop(largest_cup_ml=1000.0))
    cups, limit = mix_of("silicone-tin-25a", "silicone", mass_g=500.0, job=job)
    # Silicone rises to five times its volume (data sheets, evidence.toml): 200 ml fit.
    assert limit.largest_g == pytest.approx(200 * 1.08)
    assert all(cup.vacuum_cup_ml <= 1000 + 1e-9 for cup in cups)


def test_cup_for_vacuum_is_five_times_the_mix():
    (cup,), _ = mix_of("silicone-tin-25a", "silicone", mass_g=108.0)
    assert (rise().low, rise().value) == (3, 5)
    assert cup.vacuum_cup_ml == pytest.approx(500)
    (cup,), _ = mix_of("polyurethane-fast-70d", "resin", mass_g=108.0)
    assert cup.vacuum_cup_ml == 0


def test_brush_coat_is_taken_off_the_pour():
    amounts, plain = cups_of(Job())
    _, apart = cups_of(Job(brush_mm=1.0))
    # The cube's middles: top and the upper halves of its sides' facets lie above 10 mm.
    area = {name: grams / 1.08 / 1.07 for name, grams in apart.brush_g}
    assert sum(area.values()) == pytest.approx(2.4)  # 2400 mm2 by 1 mm
    assert plain.brush_g == apart.brush_g
    coats = [cup for cup in apart.cups if cup.is_brush_coat]
    assert [str(cup.name) for cup in coats] == ["First half, brush coat", "Second half, brush coat"]
    for mix in amounts.mixes[:2]:
        total = sum(cup.mass_g for cup in apart.cups if cup.pour == mix.name)
        assert total == pytest.approx(mix.mass_g, rel=1e-12)


@given(
    upper_ml=st.floats(1, 20_000),
    lower_ml=st.floats(1, 20_000),
    part_ml=st.floats(1, 3000),
    copies=st.integers(1, 20),
    brush_mm=st.floats(0, 3),
    temperature_c=st.floats(12, 33),
    resin=st.sampled_from(["polyurethane-fast-70d", "epoxy-slow-80d", "polyester-casting"]),
)
def test_cups_add_up_to_their_pours(
    upper_ml, lower_ml, part_ml, copies, brush_mm, temperature_c, resin
):
    job = Job(copies=copies, brush_mm=brush_mm, shop_temperature_c=temperature_c, resin=resin)
    amounts, weigh = cups_of(job, upper_ml=upper_ml, lower_ml=lower_ml, part_ml=part_ml)
    for mix in amounts.mixes:
        cups = [cup for cup in weigh.cups if cup.pour == mix.name]
        net = sum(cup.mass_g - cup.made_up_g for cup in cups)
        assert net == pytest.approx(mix.mass_g, rel=1e-9, abs=1e-3)  # a milligram is no cup
        for cup in cups:
            assert cup.a_g + cup.b_g == pytest.approx(cup.mass_g, rel=1e-12)
            assert cup.a_g * mix.b_g == pytest.approx(cup.b_g * mix.a_g, rel=1e-9)
            assert cup.times == mix.times
    limits = {limit.pour: limit.largest_g for limit in weigh.limits}
    assert all(
        cup.mass_g <= limits[cup.pour] * (1 + 1e-9) or cup.is_brush_coat or cup.made_up_g
        for cup in weigh.cups
    )


def test_no_pour_is_listed_in_more_cups_than_can_be_mixed():
    # 72 m of ship would take millions of cups; the list stops, the grams add up.
    cups, limit = mix_of("silicone-tin-25a", "silicone", mass_g=1e9)
    assert len(cups) == MOST_CUPS
    assert sum(cup.mass_g for cup in cups) == pytest.approx(1e9)
    assert cups[0].mass_g > limit.largest_g
    cups, limit = mix_of("silicone-tin-25a", "silicone", mass_g=MOST_CUPS * limit.largest_g)
    assert len(cups) == MOST_CUPS and cups[0].mass_g == pytest.approx(limit.largest_g)


def test_too_many_cups_are_one_finding():
    job = Job()
    _, weigh = cups_of(job, upper_ml=3e8, lower_ml=100.0)
    of_first = [f for f in bench_findings._weigh(job, weigh) if "First half" in str(f.message)]
    assert [(f.code, f.severity) for f in of_first] == [("too-many-cups", "stop")]
