"""Every choice of the shop once: what a job may hold, and where that is told."""

import math
from dataclasses import fields, replace

import pytest

from castplan.choices import CHOICES
from castplan.errors import InputError
from castplan.records import Job


def test_every_choice_stands_in_the_table_once():
    assert {entry.name for entry in fields(Job)} == set(CHOICES)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("feed", "bottom", "feed: found 'bottom', need one of auto, top, riser."),
        ("box", "hexagon", "box: found 'hexagon', need one of rectangle, round, outline."),
        ("paper", "A3", "paper: found 'A3', need one of A4, Letter."),
        ("copies", 0, "copies: found 0, need at least 1 castings."),
        ("copies", 2.5, "copies: found 2.5, need a whole number."),
        ("shop_temperature_c", 50.0, "shop_temperature_c: found 50, need at most 35 C."),
        ("shop_temperature_c", math.nan, "shop_temperature_c: found nan, need a number."),
        ("copies", None, "copies: found None, need a whole number."),
        ("draw", (0, 0, 0), "draw: found (0, 0, 0), need three numbers that are not all zero"),
        ("vents_at", ((1, 2),), "vents_at: found ((1, 2),), need up to 200 places of 3 numbers."),
        ("keep_off", ((1, 2, 3, 0),), "need radii above 0."),
        ("printer_mm", (200.0, 200.0), "need 3 numbers."),
        ("wall_mm", True, "wall_mm: found True, need a number."),
        ("silicone", "", "need one line of 1 to 200 signs."),
    ],
)
def test_what_a_job_may_not_hold_is_told_when_it_is_made(name, value, said):
    for make in (lambda: Job(**{name: value}), lambda: replace(Job(), **{name: value})):
        with pytest.raises(InputError) as refused:
            make()
        assert said in str(refused.value)
        assert "\n" not in str(refused.value)


def test_limits_belong_to_the_range():
    for name, choice in CHOICES.items():
        for limit in (choice.least, choice.most):
            if choice.kind in ("number", "count") and limit is not None:
                assert getattr(Job(**{name: limit}), name) == limit
