"""Words and page of the air sheet, on the hand-made plan and on none at all."""

from dataclasses import replace

import numpy as np
import pytest
from output.neutral import filled
from output.plan_fixture import make_plan

from castplan import records
from castplan.paper.sheet_air import air_pages
from castplan.words import air as air_view


def texts_of(sheets):
    return [text.text for sheet in sheets for text in sheet.texts]


def test_page_says_how_to_stand_vent_and_fill():
    plan = make_plan()
    text = " ".join(texts_of(air_pages(plan)))
    assert "Pour with the back facing up" in text
    for row in (*air_view.option_rows(plan), *air_view.route_rows(plan)):
        assert row[0] in text
    # Six pictures of twelve frames, every second, the last with all of it.
    for share in (2, 4, 6, 8, 10, 12):
        assert f"{98.4 * share / 12:.3g} ml" in text
    assert "brush here first" in text
    assert "here" in text  # the plan's own pair among the trade's


def test_a_plan_without_air_records_still_has_its_page():
    plan = make_plan()
    bare = replace(
        plan,
        air=replace(
            plan.air,
            attitude=filled(records.AttitudeResult),
            feed=filled(records.GatePlan),
            rocking=filled(records.RockingResult),
            trade=filled(records.TradeResult),
        ),
        mould=replace(
            plan.mould,
            vents=filled(records.VentsResult),
            gate=filled(records.GateResult),
            fill=filled(records.FillResult),
            pours=filled(records.PoursResult),
        ),
    )
    text = " ".join(texts_of(air_pages(bare)))
    assert "Every pouring position" in text and "Rocking the mould saves no vent here." in text


@pytest.mark.parametrize(
    ("rest", "tilt_deg", "words"),
    [
        ("+z", 0.0, "the upper half facing up"),
        ("-x", 20.0, "the left side facing up, tilted 20 degrees"),
        ("", 0.0, "the mould held in a cradle"),
    ],
)
def test_stands_in_words(rest, tilt_deg, words):
    option = filled(records.AttitudeOption, rest=rest, tilt_deg=tilt_deg)
    assert air_view.stand_words(option) == words


def test_the_raised_side_goes_round_counter_clockwise():
    sides = [
        air_view.raise_words(filled(records.AttitudeOption, tilt_deg=15.0, toward_deg=angle))
        for angle in (0, 45, 90, 180, 270, 359)
    ]
    for text, side in zip(
        sides, ("right", "back right", "back", "left", "front", "right"), strict=True
    ):
        assert f"its {side} side" in text


def test_equal_areas_of_directions_take_equal_areas_of_the_map():
    # Lambert's projection: a cap of polar angle t lies within R sqrt(1 - cos t) of the middle.
    from castplan.paper.sheet_air import _DISC_MM, _Disc

    disc = _Disc(None, None, 0.0, 0.0, 1.0)
    for polar_deg in (10.0, 60.0, 90.0):
        polar = np.radians(polar_deg)
        place = disc.place(np.array([0.0, np.sin(polar), np.cos(polar)]))
        assert place == pytest.approx((0, _DISC_MM * np.sqrt(1 - np.cos(polar))), abs=1e-9)
