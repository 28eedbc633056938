"""Powders stirred into a resin: volume, weight, flow, heat, and where the shop is told.

Volumes and heats are closed forms, worked out here from the parts; the law of flow is held to
its limits (Einstein 1906, and the packing) and to a published table.
"""

import math

import pytest
from bench_steps import place, steps_of

from castplan.bench.amounts import Pour, size_mix
from castplan.bench.material_findings import list_material_findings
from castplan.bench.weigh import share_out
from castplan.errors import InputError
from castplan.materials.cards import get_card
from castplan.materials.fillers import (
    FILLERS,
    MOST_VOLUME,
    PACKINGS,
    fill_card,
    resin_of,
    thickening,
)
from castplan.records import Job, Shop
from castplan.words.bench import cup_rows, parts_text, reading_texts

PLAIN = get_card("polyurethane-slow-75d", kind="resin")
NAMES = sorted(FILLERS)
# Sums of a few floats.
CLOSE = 1e-12


def filled(name, *, by_weight=0.25):
    return fill_card(PLAIN, FILLERS[name], by_weight=by_weight)


@pytest.mark.parametrize("name", NAMES)
def test_the_parts_fill_the_volume_that_was_asked(name):
    mix = size_mix(filled(name), Pour(name="x", net_ml=100.0, waste_fraction=0.0), temperature_c=23)
    resin_g = mix.a_g + mix.b_g
    assert mix.filler_g == pytest.approx(0.25 * resin_g, rel=CLOSE)
    room_ml = resin_g / PLAIN.density_g_ml.value + mix.filler_g / FILLERS[name].density_g_ml.value
    assert room_ml == pytest.approx(100.0, rel=CLOSE)
    assert mix.mass_g == pytest.approx(resin_g + mix.filler_g, rel=CLOSE)
    assert mix.resin_g_ml == pytest.approx(resin_g / 100.0, rel=CLOSE)
    assert mix.a_g / mix.b_g == pytest.approx(PLAIN.ratio_a.value / PLAIN.ratio_b.value, rel=CLOSE)


def test_hollow_beads_make_it_lighter_and_minerals_heavier():
    plain = PLAIN.density_g_ml.value
    weights = {name: filled(name).density_g_ml for name in NAMES}
    assert weights["hollow-glass"].high < plain
    assert all(weights[name].low > plain for name in NAMES if name != "hollow-glass")
    assert all(each.low <= each.value <= each.high for each in weights.values())


def test_thin_suspensions_follow_einstein_and_thick_ones_lock():
    # 1 + 2.5 v: the next term is of the order of 7 v^2 (Batchelor's 6.2 and the like).
    for v in (1e-4, 1e-3):
        for packing in PACKINGS.values():
            assert thickening(v, packing=packing) == pytest.approx(1 + 2.5 * v, abs=10 * v**2)
    assert thickening(0.6299999, packing=0.63) > 1e9
    # The law as printed (Entropy 23 (2021) 979, table 6, doi 10.3390/e23080979), by logarithms.
    for v in (0.1, 0.3, 0.45):
        printed = math.exp(2.5 * 0.63 * -math.log1p(-v / 0.63))
        assert thickening(v, packing=0.63) == pytest.approx(printed, rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_heat_shrinkage_and_growth_are_the_resins_share(name):
    card, by_weight = filled(name), 0.25
    share = by_weight / FILLERS[name].density_g_ml.value * card.density_g_ml.value / (1 + by_weight)
    # A kilogram holds 0.8 of resin: what it gives off, and what all of it takes to warm.
    assert card.reaction_heat_kj_kg.value == pytest.approx(0.8 * PLAIN.reaction_heat_kj_kg.value)
    takes = 0.8 * PLAIN.specific_heat_j_kg_k.value + 0.2 * FILLERS[name].specific_heat_j_kg_k
    assert card.specific_heat_j_kg_k.value == pytest.approx(takes)
    for number in ("shrinkage_fraction", "expansion_per_k"):
        plain = getattr(PLAIN, number).value
        assert getattr(card, number).value == pytest.approx((1 - share) * plain)
    thick = card.viscosity_mpa_s
    assert PLAIN.viscosity_mpa_s.low < thick.low < thick.value < thick.high


@pytest.mark.parametrize("name", NAMES)
def test_no_more_goes_in_than_can_be_stirred(name):
    filler = FILLERS[name].density_g_ml.value / PLAIN.density_g_ml.value
    most = MOST_VOLUME / (1 - MOST_VOLUME) * filler
    filled(name, by_weight=most * 0.999)
    with pytest.raises(InputError, match="cannot be poured"):
        filled(name, by_weight=most * 1.001)


def test_what_sets_without_curing_takes_no_filler():
    with pytest.raises(InputError, match="wax-casting"):
        resin_of(Job(resin="wax-casting", filler_fraction=0.1))


def test_without_a_share_nothing_changes():
    assert resin_of(Job(filler="quartz")) == get_card(Job().resin, kind="resin")
    assert list_material_findings(Job(filler="quartz")) == ()


def cup_of(job, *, net_ml=100.0):
    card = resin_of(job)
    mix = size_mix(card, Pour(name="x", net_ml=net_ml, waste_fraction=0.0), temperature_c=23)
    (cup,), _ = share_out(mix, card, job)
    return card, cup


def test_the_scale_shows_a_then_the_filler_then_b():
    job = Job(filler="chalk", filler_fraction=0.5, shop=Shop(scale_step_g=0.1, tare_g=12.0))
    card, cup = cup_of(job)
    a, filler, b, everything = cup_rows(card, cup)
    assert [row[0] for row in (a, filler, b, everything)] == ["A", "filler", "B", "all"]
    grams = [float(row[1].split()[0]) for row in (a, filler, b)]
    shown = [float(row[4].split()[0]) for row in (a, filler, b)]
    running = [12.0 + sum(grams[: k + 1]) for k in range(3)]
    assert shown == pytest.approx(running, abs=1e-9)
    # Rounded one by one, three at most half a step off each.
    assert float(everything[1].split()[0]) == pytest.approx(sum(grams), abs=0.15 + 1e-9)
    assert reading_texts(cup)[1] == b[4]
    assert parts_text(cup) == f"A {a[1]} + filler {filler[1]} + B {b[1]}"
    assert cup.reading_b_g == pytest.approx(12.0 + cup.mass_g, rel=CLOSE)


def test_a_small_cup_is_made_up_by_its_resin():
    # The least is what warms itself enough: filler does not.
    card, cup = cup_of(Job(filler="chalk", filler_fraction=0.5), net_ml=20.0)
    assert cup.a_g + cup.b_g == pytest.approx(card.smallest_mix_g.value, rel=CLOSE)
    assert cup.filler_g == pytest.approx(0.5 * card.smallest_mix_g.value, rel=CLOSE)


def test_steps_gear_and_findings_name_it():
    job = Job(filler="aluminium", filler_fraction=0.5, copies=2)
    result = steps_of(job=job)
    step = result.steps[place(result, "Weigh the resin")]
    assert "of filler and B" in str(step.text) and "Dry the aluminium powder" in str(step.text)
    assert "filler" in step.cautions
    plain = steps_of(job=Job(copies=2))
    more = step.hands_on_min - plain.steps[place(plain, "Weigh the resin")].hands_on_min
    assert more == 6.0  # 3 min a casting
    (found,) = list_material_findings(job)
    # 0.5 / 2.70 over 1 / 1.05 + 0.5 / 2.70: 16.3 % of the volume.
    assert found.code == "filled-resin" and "takes 16 % of the volume" in str(found.message)
