"""Learnt numbers against closed forms; they change nothing until they are kept, and go back."""

import statistics
from dataclasses import replace

import pytest

from castplan.after.learn import keep_on, learn
from castplan.bench.amounts import weigh_out
from castplan.errors import InputError
from castplan.materials import folder
from castplan.materials.cards import any_card, class_cards
from castplan.materials.sheet import card_text
from castplan.records import CastLog, LoggedPour, Size
from castplan.words import learn as learn_view

RESIN, SILICONE = "polyurethane-fast-70d", "silicone-tin-25a"


def log_of(*pours):
    return CastLog(
        lines=tuple(
            LoggedPour(number=n, date="2026-12-01", **values)
            for n, values in enumerate(pours, start=1)
        )
    )


def by_name(found):
    return {one.name: one for one in found}


def test_shrinkage_is_what_is_left_once_the_silicones_is_taken_off(hook):
    # The hook is 30 x 96 x 46 mm. A copy made by shrinking it by the silicone's
    # card and then by known shares: those shares must come back.
    silicone = class_cards()[SILICONE].shrinkage_fraction.value
    shares = (0.001, 0.003, 0.002)
    pours = [
        {
            "sizes": tuple(
                Size(name=k, length_mm=side * (1 - silicone) * (1 - share), error_mm=0.05)
                for k, side in (("x", 30.0), ("y", 96.0))
            )
        }
        for share in shares
    ]
    one = by_name(learn([(hook, log_of(*pours))]))["shrinkage_fraction"]
    assert one.card == RESIN and one.values == pytest.approx(shares)
    assert one.mean == pytest.approx(0.002)
    assert one.sd == pytest.approx(statistics.stdev(shares))
    assert one.offered.basis == "measured" and "3 pours" in str(one.offered.source)
    assert (one.offered.low, one.offered.high) == pytest.approx((0.0, 0.004), abs=1e-5)  # 4 digits


def test_a_pot_life_is_brought_to_the_cards_temperature(hook):
    # Halves per 10 C warmer (common practice, no source): 2 min at 33 C are 4 min at 23 C.
    pours = [{"thick_min": 2.0, "temperature_c": 33.0}, {"thick_min": 9.0}]
    one = by_name(learn([(hook, log_of(*pours))]))["pot_life_min"]
    assert one.values == (4.0,) and one.sd is None
    # A single value keeps the card's range.
    card = class_cards()[RESIN].pot_life_min
    assert one.offered.low <= card.value <= one.offered.high


def test_waste_is_what_was_mixed_over_what_came_out(hook):
    small = class_cards()[RESIN].smallest_mix_g.value
    pours = [
        {"a_g": 60.0, "b_g": 54.0, "shot_g": 100.0},
        {"a_g": small / 2, "b_g": small / 2, "shot_g": 30.0},  # made up: tells nothing
        {"a_g": 60.0, "b_g": 54.0},
    ]
    one = by_name(learn([(hook, log_of(*pours))]))["waste_fraction"]
    assert one.values == pytest.approx((0.14,))


def test_a_life_counts_moulds_that_are_done_and_tells_those_in_use(hook):
    pours = [{"mould": "1"}] * 11 + [{"mould": "1", "is_mould_done": True}] + [{"mould": "2"}] * 5
    one = by_name(learn([(hook, log_of(*pours))]))["mould_life_casts"]
    assert one.values == (12.0,) and one.at_least == (5.0,)
    assert "still in use after 5" in learn_view.learnt_lines([one])[1]
    unfinished = by_name(learn([(hook, log_of({}))]))["mould_life_casts"]
    assert unfinished.values == () and unfinished.offered is None


def test_a_pull_is_shown_and_goes_on_no_card(hook):
    one = by_name(learn([(hook, log_of({"force_n": 20.0}, {"force_n": 30.0}))]))["demould_force_n"]
    assert one.mean == 25.0 and one.offered is None
    with pytest.raises(InputError, match="no number of it"):
        keep_on(any_card(SILICONE), [one], card_id="ours")


def test_numbers_of_several_plans_count_together(hook):
    one = log_of({"force_n": 20.0})
    assert by_name(learn([(hook, one), (hook, one)]))["demould_force_n"].values == (20.0, 20.0)


def test_kept_waste_is_weighed_out(hook, shop_folder):
    pours = [{"a_g": 75.0, "b_g": 67.5, "shot_g": 95.0}] * 3
    card = keep_on(any_card(RESIN), learn([(hook, log_of(*pours))]), card_id="our-resin")
    assert card.waste_fraction.value == pytest.approx(0.5)
    folder.keep(folder.card_file("our-resin"), card_text(card))
    job = replace(hook.job, resin="our-resin")
    mix = weigh_out(hook.mould.block, job).mixes[-1]
    assert mix.volume_ml == pytest.approx(1.5 * mix.net_ml)
    assert hook.bench.amounts.mixes[-1].volume_ml < mix.volume_ml
