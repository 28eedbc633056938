"""How far a silicone may stretch in work, by its elongation or its strength at break.

Neo-Hookean rubber pulled one way, E/3 (s - 1/s^2): a closed form, solved here by scipy's
bracketing. Strengths of the cards are from memory or of data sheets (evidence.toml).
"""

from dataclasses import replace

import pytest
from scipy.optimize import brentq

from castplan.materials.cards import class_cards
from castplan.materials.rubber import (
    modulus_range_mpa,
    safety_factor,
    stretch_at_fraction,
    working_limit_fraction,
)

SILICONES = [card for card in class_cards().values() if card.kind == "silicone"]


@pytest.mark.parametrize("stress_mpa", [0.01, 0.3, 1.0, 5.0])
@pytest.mark.parametrize("modulus_mpa", [0.3, 1.2])
def test_stretch_under_a_stress(stress_mpa, modulus_mpa):
    found = stretch_at_fraction(stress_mpa=stress_mpa, modulus_mpa=modulus_mpa)
    wanted = brentq(lambda s: modulus_mpa / 3 * (s - 1 / s**2) - stress_mpa, 1.0, 100.0)
    assert found == pytest.approx(wanted - 1, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("card", SILICONES, ids=lambda card: card.card_id)
def test_a_silicone_of_little_strength_may_stretch_less(card):
    usual = card.elongation_fraction.value / safety_factor().value
    none = replace(card, tensile_mpa=None)
    assert working_limit_fraction(none) == pytest.approx(usual, rel=1e-12)
    assert working_limit_fraction(card) <= usual
    weak = replace(card, tensile_mpa=replace(card.tensile_mpa, value=0.1, low=None, high=None))
    stress_mpa = 0.1 / safety_factor().value
    assert working_limit_fraction(weak) < usual
    # At a few percent rubber is linear: stress over modulus, and s^-2 bends it by 3 % here.
    linear = stress_mpa / modulus_range_mpa(card)[1]
    assert working_limit_fraction(weak) == pytest.approx(linear, rel=0.15)


def test_strengths_of_the_classes_break_no_sooner_than_their_elongation():
    """Both are of one tensile test, ISO 37: neither may contradict the other."""
    for card in SILICONES:
        usual = card.elongation_fraction.value / safety_factor().value
        assert working_limit_fraction(card) == pytest.approx(usual, rel=1e-12), card.card_id
