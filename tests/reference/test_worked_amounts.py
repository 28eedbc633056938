"""Weights against examples worked by hand and published numbers (sources in amounts.json)."""

import dataclasses
import json
import math
from pathlib import Path

import pytest

from castplan.bench.amounts import Pour, size_mix
from castplan.materials.cards import POT_LIFE_FACTOR, POT_LIFE_FACTORS, get_card, split_by_weight
from castplan.materials.wording import scale_step_g, weight_text
from castplan.records import Sourced
from castplan.units import CM3_PER_IN3, G_PER_OUNCE

REFERENCE = json.loads(Path(__file__).with_name("amounts.json").read_text("utf-8"))
G_PER_LB = 16 * G_PER_OUNCE
GAS_CONSTANT_KJ = 8.31446261815324e-3  # exact since 2019 (SI), kJ/(mol K)


def add_up(terms):
    """The arithmetic of a published example, kept as published: a sum of products."""
    return sum(math.prod(factors) for factors in terms)


def by_name(entries):
    return pytest.mark.parametrize("entry", entries, ids=lambda entry: entry["name"])


def card_of_density(density_g_ml):
    number = Sourced(value=density_g_ml, unit="g/ml", basis="assumed", source="the example's own")
    card = get_card("silicone-tin-25a", kind="silicone")
    return dataclasses.replace(card, density_g_ml=number)


@by_name(REFERENCE["moulds"])
def test_mould_weighs_what_the_example_says(entry):
    net_in3 = add_up(entry["terms"])
    assert net_in3 == pytest.approx(entry["expected_net_in3"], rel=entry["tolerance"])
    g_per_in3 = entry.get("g_per_in3") or G_PER_LB / entry["in3_per_lb"]
    pour = Pour(name="example", net_ml=net_in3 * CM3_PER_IN3, waste_fraction=0.0)
    mix = size_mix(card_of_density(g_per_in3 / CM3_PER_IN3), pour, temperature_c=23.0)
    assert mix.mass_g == pytest.approx(entry["expected_g"], rel=entry["tolerance"])


@by_name(REFERENCE["splits"])
def test_parts_weigh_what_the_example_says(entry):
    ratio_a, ratio_b = entry["ratio"]
    mass_g = add_up(entry["terms"]) if "terms" in entry else G_PER_LB / entry["in3_per_lb"]
    parts = split_by_weight(mass_g, ratio_a=ratio_a, ratio_b=ratio_b)
    assert parts == pytest.approx(entry["expected_g"], rel=entry["tolerance"])


def worst_ratio_error(weights_g, steps_g):
    return sum(step / 2 / mass for mass, step in zip(weights_g, steps_g, strict=True))


@by_name(REFERENCE["scales"])
def test_worst_ratio_error_of_a_scale(entry):
    error = worst_ratio_error(entry["weights_g"], [entry["step_g"]] * 2)
    assert error == pytest.approx(entry["expected_fraction"], rel=entry["tolerance"])
    chosen = worst_ratio_error(entry["weights_g"], [scale_step_g(m) for m in entry["weights_g"]])
    # 1 % is the tighter of the polyurethane tolerances heard of (+-1 to 2 %, from memory).
    assert chosen <= 0.01


def test_small_catalyst_is_not_written_to_a_tenth_of_a_gram():
    entry = REFERENCE["smallest_weight"]
    ratio_a, ratio_b = entry["ratio"]
    mass_g = entry["base_g"] * (ratio_a + ratio_b) / ratio_a
    _, b_g = split_by_weight(mass_g, ratio_a=ratio_a, ratio_b=ratio_b)
    assert b_g == pytest.approx(entry["expected_b_g"], rel=1e-12)
    assert entry["step_g"] / b_g == pytest.approx(entry["expected_share"], rel=entry["tolerance"])
    assert weight_text(b_g) == "0.75 g"


def test_cubic_inches_per_pound():
    entry = REFERENCE["density"]
    in3_per_lb_of_water = G_PER_LB / CM3_PER_IN3
    assert in3_per_lb_of_water == pytest.approx(entry["expected"], rel=entry["tolerance"])


def arrhenius_factor(kj_mol, *, from_c, to_c):
    return math.exp(kj_mol / GAS_CONSTANT_KJ * (1 / (from_c + 273.15) - 1 / (to_c + 273.15)))


@by_name(REFERENCE["arrhenius"])
def test_published_activation_energies_lie_within_the_pot_life_rule(entry):
    factor = arrhenius_factor(entry["kj_mol"], from_c=20, to_c=30)
    assert factor == pytest.approx(entry["expected_factor"], rel=entry["tolerance"])
    low, high = POT_LIFE_FACTORS
    assert low < factor < high


def test_halving_is_an_activation_energy_of_51_kj_per_mol():
    # Closed form: Ea = R ln 2 / (1/293.15 - 1/303.15) = 51.2 kJ/mol.
    assert arrhenius_factor(51.2, from_c=20, to_c=30) == pytest.approx(POT_LIFE_FACTOR, rel=1e-3)
