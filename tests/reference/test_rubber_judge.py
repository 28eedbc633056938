"""The judge of the rubber's rule against a library for hyperelastic solids.

FElupe (GPL-3.0-or-later, in tests alone) has its own elements, rubber, contact and
solver. Both judges have the same rubber in mind and differ by the softness of their
contact: by 1.5 times, or 0.06, as the rule does from either.
"""

import math

import pytest
from rubber_cases import UNDERCUTS, notch, rule_for
from rubber_judge import stretch_at_rest
from rubber_pull import largest_stretch


def test_a_ring_of_the_library_stretches_by_its_diameters():
    # Closed form: from 25 to 30 mm across is 0.2. A slim ring: 3 mm of rubber round it, so
    # it slips over whole; its edge rounds by what the grid and the patch average, 5 %.
    slim = notch(2.5, 10, 3, radius_mm=15)
    assert stretch_at_rest(slim) == pytest.approx(0.2, rel=0.05)
    # And 0.05 from 28.5 to 30.
    assert stretch_at_rest(notch(0.75, 10, 3, radius_mm=15)) == pytest.approx(1.5 / 28.5, rel=0.1)


@pytest.mark.parametrize(
    "name",
    [
        pytest.param("notch 0.6 x 2, wall 12", marks=pytest.mark.long),
        pytest.param("hook 1 x 4, wall 12", marks=pytest.mark.long),
        pytest.param("hook 2 x 4, wall 6", marks=pytest.mark.long),
        "hook 2 x 4, wall 12",
        pytest.param("hook 3 x 5, wall 12", marks=pytest.mark.long),
        pytest.param("slot 4 x 8, wall 12", marks=pytest.mark.long),
        pytest.param("lip 2.5 round 30, wall 12", marks=pytest.mark.long),
        pytest.param("cross slot 2 x 4, room 16", marks=pytest.mark.long),
    ],
)
def test_both_judges_and_the_rule_agree(name):
    shape = UNDERCUTS[name]
    library, own = stretch_at_rest(shape), largest_stretch(shape, is_aside=True)
    for one, other in ((library, own), (library, rule_for(shape)[0])):
        assert abs(math.log(one / other)) <= math.log(1.5) or abs(one - other) <= 0.06


@pytest.mark.parametrize("name", ["dovetail 4 x 8 to 12, wall 12", "cup mouth 30 over 32"])
def test_what_planes_do_not_describe_is_refused(name):
    with pytest.raises(ValueError, match="slanting sides, or a core"):
        stretch_at_rest(UNDERCUTS[name])
