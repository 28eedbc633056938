"""Material cards, cautions and how weights are written.

Counts are of the files as they stand, by hand.
"""

import dataclasses
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from castplan.errors import InputError
from castplan.materials.cards import demould_at, get_card, load_cards, pot_life_at, split_by_weight
from castplan.materials.cautions import load_cautions
from castplan.materials.wording import (
    limit_text,
    mix_text,
    scale_step_g,
    volume_text,
    wait_text,
    weight_text,
)
from castplan.records import BASES, Job

CARDS = list(load_cards().values())
every_card = pytest.mark.parametrize("card", CARDS, ids=lambda card: card.card_id)
# Warmth speeds up a cure, but neither plaster nor wax, by the rule (from memory).
CURED = [card for card in CARDS if card.chemistry not in ("plaster", "wax")]
every_cured_card = pytest.mark.parametrize("card", CURED, ids=lambda card: card.card_id)


@every_card
def test_every_number_has_basis_source_and_lies_in_its_range(card):
    assert len(card.numbers) >= 12
    for name, number in card.numbers.items():
        assert number.basis in BASES, name
        assert number.source, name
        assert (number.low is None) == (number.high is None), name
        if number.low is not None:
            assert number.low <= number.value <= number.high, name


@every_card
def test_unit_of_every_number_matches_its_name(card):
    endings = {
        "_g_ml": "g/ml",
        "_mpa_s": "mPa s",
        "_min": "min",
        "_c": "C",
        "_h": "h",
        "_fraction": "1",
        "_mm": "mm",
        "_g": "g",
        "_casts": "casts",
        "ratio_a": "parts by weight",
        "ratio_b": "parts by weight",
        "ratio_b_by_volume": "parts by volume to 100 of A",
        "_n_mm": "N/mm",
        "_kj_kg": "kJ/kg",
        "_j_kg_k": "J/(kg K)",
        "_mpa": "MPa",
        "_per_k": "1/K",
    }
    for name, number in card.numbers.items():
        if name == "shore":
            assert number.unit in ("Shore A", "Shore D")
            continue
        ending = max((end for end in endings if name.endswith(end)), key=len)
        assert number.unit == endings[ending], name


@every_card
def test_card_ids_kinds_and_hazards(card):
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", card.card_id)
    assert card.kind in ("silicone", "resin")
    assert card.hazards
    assert set(card.hazards) <= set(load_cautions())
    assert card.incompatible
    assert card.full_cure_h.value >= card.demould_h.value
    assert card.demould_h.value * 60 > card.pot_life_min.value
    if card.kind == "silicone":
        assert card.shore.unit == "Shore A"
        assert card.mould_life_casts is not None


@every_card
def test_parts_densities_give_the_mixed_density(card):
    """Volumes of the parts add up, so the mixed density follows from them.

    Ideal mixing, a closed form; 1 % because the classes' densities are given
    to three digits at best, and 1.10 with 0.99 gives 1.045 for a stated 1.05.
    """
    if card.density_a_g_ml is None:
        assert card.density_b_g_ml is None
        return
    parts = card.ratio_a.value, card.ratio_b.value
    volume = parts[0] / card.density_a_g_ml.value + parts[1] / card.density_b_g_ml.value
    assert sum(parts) / volume == pytest.approx(card.density_g_ml.value, rel=0.01)


@every_card
def test_ratio_by_volume_follows_from_the_one_by_weight(card):
    """Grams over densities, a closed form; the cards round to four digits, 1:1 to 1 %."""
    by_volume = 100 * (card.ratio_b.value / card.density_b_g_ml.value)
    by_volume /= card.ratio_a.value / card.density_a_g_ml.value
    assert card.ratio_b_by_volume.value == pytest.approx(by_volume, rel=2e-3)


def test_each_chemistry_has_several_grades():
    grades = {}
    for card in CARDS:
        grades.setdefault(card.chemistry, []).append((card.shore.value, card.pot_life_min.value))
    several = {"tin-cure", "platinum-cure", "polyurethane", "epoxy", "polyester"}
    assert set(grades) == several | {"plaster", "wax"}
    for chemistry, found in grades.items():
        assert len(found) == len(set(found)) >= (2 if chemistry in several else 1)


@every_card
def test_every_card_says_what_a_plan_needs(card):
    assert card.ratio_tolerance_fraction is not None
    if card.kind == "silicone":
        assert card.tear_n_mm is not None and card.tensile_mpa is not None
    elif card.pour_at_c is None:  # what is poured molten gives off no heat of a reaction
        assert card.reaction_heat_kj_kg is not None
        assert card.specific_heat_j_kg_k is not None


@every_cured_card
def test_demould_follows_the_pot_life_rule(card):
    cold = demould_at(card, temperature_c=card.pot_life_at_c.value - 10)
    assert cold[0] == pytest.approx(2 * card.demould_h.value)
    assert cold[1] <= cold[0] <= cold[2]


def test_fast_polyurethane_is_one_to_one_by_volume():
    # 100:90 by weight and 1:1 by volume are both usual (from memory); closed form.
    card = get_card("polyurethane-fast-70d", kind="resin")
    a_g, b_g = split_by_weight(190.0, ratio_a=card.ratio_a.value, ratio_b=card.ratio_b.value)
    a_ml = a_g / card.density_a_g_ml.value
    b_ml = b_g / card.density_b_g_ml.value
    assert a_ml == pytest.approx(b_ml, rel=1e-12)  # exact: 100/1.10 = 90/0.99
    assert a_g != pytest.approx(b_g, rel=0.05)  # and so 1:1 by weight would be wrong


def test_epoxy_shrinkage_by_length_from_volume():
    # Closed form 1 - (1 - v)^(1/3) for 2 % and 5 % by volume.
    shrinkage = get_card("epoxy-slow-80d", kind="resin").shrinkage_fraction
    assert shrinkage.low == pytest.approx(1 - 0.98 ** (1 / 3), abs=5e-5)
    assert shrinkage.high == pytest.approx(1 - 0.95 ** (1 / 3), abs=1e-4)


def test_default_job_names_existing_cards():
    job = Job()
    assert get_card(job.silicone, kind="silicone").kind == "silicone"
    assert get_card(job.resin, kind="resin").kind == "resin"


def test_unknown_card_lists_ids_and_suggests():
    with pytest.raises(InputError) as caught:
        get_card("silicone-tin-25", kind="silicone")
    assert "silicone-platinum-30a" in str(caught.value)
    assert "Did you mean 'silicone-tin-" in str(caught.value)
    assert "polyurethane" not in str(caught.value)


def test_card_of_the_wrong_kind_is_refused():
    with pytest.raises(InputError, match="resin card: found 'silicone-tin-25a'"):
        get_card("silicone-tin-25a", kind="resin")


@every_cured_card
def test_pot_life_halves_for_ten_degrees(card):
    # Halves per 10 C: common practice, no source.
    at_c = card.pot_life_at_c.value
    nominal_min, low_min, high_min = pot_life_at(card, temperature_c=at_c)
    assert nominal_min == card.pot_life_min.value
    assert low_min == (card.pot_life_min.low or nominal_min)
    assert high_min == (card.pot_life_min.high or nominal_min)
    assert pot_life_at(card, temperature_c=at_c + 10)[0] == pytest.approx(nominal_min / 2)
    assert pot_life_at(card, temperature_c=at_c - 10)[0] == pytest.approx(nominal_min * 2)


@pytest.mark.parametrize("name", ["plaster-casting", "wax-casting"])
def test_what_does_not_cure_keeps_its_times(name):
    card = get_card(name, kind="resin")
    for temperature_c in (10.0, 35.0):
        assert pot_life_at(card, temperature_c=temperature_c)[0] == card.pot_life_min.value
        assert demould_at(card, temperature_c=temperature_c)[0] == card.demould_h.value


@given(temperature_c=st.floats(10, 35))
def test_pot_life_interval_holds_its_nominal(temperature_c):
    for card in CARDS:
        nominal_min, low_min, high_min = pot_life_at(card, temperature_c=temperature_c)
        assert 0 < low_min <= nominal_min <= high_min


def test_warm_shop_shortens_by_one_and_a_half_at_least():
    # 1.5 per 10 C is the low end of what is found in practice (from memory).
    card = get_card("polyurethane-fast-70d", kind="resin")  # 3 min, no range
    _, low_min, high_min = pot_life_at(card, temperature_c=33.0)
    assert high_min == pytest.approx(3 / 1.5)
    assert low_min < 3 / 2.5  # 2.5, the high end, lies inside (from memory)


@pytest.mark.parametrize("temperature_c", [9.99, 35.01, -5.0, math.nan])
def test_pot_life_is_refused_outside_the_rule(temperature_c):
    with pytest.raises(InputError, match="need 10 to 35 C"):
        pot_life_at(CARDS[0], temperature_c=temperature_c)


@given(
    mass_g=st.floats(0.1, 1e5),
    ratio_a=st.floats(0.5, 200),
    ratio_b=st.floats(0.5, 200),
)
def test_parts_add_up_and_keep_the_ratio(mass_g, ratio_a, ratio_b):
    a_g, b_g = split_by_weight(mass_g, ratio_a=ratio_a, ratio_b=ratio_b)
    assert a_g > 0 and b_g > 0
    assert a_g + b_g == pytest.approx(mass_g, rel=1e-12)  # float rounding
    assert a_g * ratio_b == pytest.approx(b_g * ratio_a, rel=1e-9)


@given(a_g=st.floats(1, 2e4), b_g=st.floats(1, 2e4))
def test_written_weights_keep_the_ratio_to_one_percent(a_g, b_g):
    """Half a scale step on each: h_A/m_A + h_B/m_B, to first order."""
    written = [float(weight_text(mass).removesuffix(" g")) for mass in (a_g, b_g)]
    error = abs(written[0] / written[1] / (a_g / b_g) - 1)
    assert error <= 0.0101  # second order of 0.5 % and 0.5 %
    for mass, text in zip((a_g, b_g), written, strict=True):
        assert abs(text - mass) <= scale_step_g(mass) / 2 + 1e-9


@pytest.mark.parametrize(
    ("mass_g", "text"),
    [
        (0.75, "0.75 g"),
        (9.994, "9.99 g"),
        (9.996, "10.0 g"),
        (33.52, "33.5 g"),
        (99.94, "99.9 g"),
        (99.96, "100 g"),
        (1234.4, "1234 g"),
    ],
)
def test_weight_text(mass_g, text):
    assert weight_text(mass_g) == text


def test_mix_text_sums_what_it_wrote():
    assert str(mix_text(a_g=63.94, b_g=57.54)) == (
        "A 63.9 g and B 57.5 g, 121.4 g together, on a scale that reads 0.1 g"
    )
    assert str(mix_text(a_g=593.758, b_g=29.688, step_g=0.1)) == (
        "A 593.8 g and B 29.7 g, 623.5 g together, on a scale that reads 0.1 g"
    )
    assert "on a scale that reads 0.01 g" in str(mix_text(a_g=150.0, b_g=2.25))
    assert str(mix_text(a_g=400.4, b_g=300.4)).endswith("700 g together, on a scale that reads 1 g")


def test_times_and_volumes():
    assert volume_text(539.6) == "540 ml"
    assert volume_text(4.93) == "4.9 ml"
    assert wait_text(0.5) == "30 min"
    assert wait_text(0.17) == "11 min"
    assert wait_text(16) == "16 h"
    assert wait_text(1.5) == "1.5 h"
    assert limit_text(22.9) == "22 min"
    assert limit_text(1.5) == "1 min 30 s"
    assert limit_text(1.49) == "1 min 25 s"
    assert limit_text(3.0) == "3 min"
    assert limit_text(0.75) == "45 s"


def test_cautions_are_short_and_sourced():
    cautions = load_cautions()
    for key, caution in cautions.items():
        assert caution.key == key
        assert caution.title and caution.source
        assert 40 < len(str(caution.text)) < 330, key
        assert all(re.fullmatch(r"H[2-4]\d\d[A-Za-z]*|EUH\d{3}", c) for c in caution.h_codes)
    assert len(cautions) == 23


def test_isocyanate_codes_are_the_harmonised_ones():
    # EU CLP Annex VI index 615-005-00-9, 4,4'-MDI, from memory.
    assert load_cautions()["isocyanate"].substances[0].h_codes == (
        "H315", "H317", "H319", "H332", "H334", "H335", "H351", "H373",
    )  # fmt: skip


def test_card_is_frozen():
    with pytest.raises(dataclasses.FrozenInstanceError):
        CARDS[0].title = "x"
