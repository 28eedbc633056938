"""Whether rubber leaves: sections, stretch and verdict of pockets with known shape."""

import math

import bodies
import bodies_split
import pytest
import shapes

from castplan.materials.cards import load_cards
from castplan.model import Job
from castplan.stages.flex import judge_pockets

STEPS = ("leaves freely", "flexes out", "may tear", "locked")


def judged(body, rotation=bodies.ALONG["z"], **choices):
    """(pocket, flex) of the largest pocket."""
    made = bodies_split.split(bodies_split.part_of(body), rotation, job=Job(**choices))
    return made.undercuts.pockets[0], made.flex.pockets[0]


@pytest.mark.parametrize(
    ("lip_mm", "verdict"),
    [(15.6, "leaves freely"), (14.5, "flexes out"), (12.0, "may tear"), (5.0, "locked")],
)
def test_verdict_follows_the_stretch_over_the_lip(lip_mm, verdict):
    # Bore 16: 2.6, 10, 33 and 220 %. At 25 A about 20 % is forgiven, a quarter of
    # it not felt; elongation 490 % over 3 is the working limit, 163 %.
    _, flex = judged(shapes.lipped_cup(bore_mm=16, lip_mm=lip_mm))
    assert flex.verdict == verdict
    assert flex.allowed_fraction == pytest.approx(0.20)
    assert flex.limit_fraction == pytest.approx(4.9 / 3)
    assert f"{100 * flex.stretch_fraction:.0f} %" in flex.why


def test_harder_rubber_is_never_kinder():
    cards = [(card.shore.value, key) for key, card in load_cards().items() if "silicone-" in key]
    assert len(cards) >= 3
    body = shapes.lipped_cup(bore_mm=16, lip_mm=13.5)  # 19 %
    found = [judged(body, silicone=key)[1] for _, key in sorted(cards)]
    steps = [STEPS.index(flex.verdict) for flex in found]
    assert steps == sorted(steps) and steps[0] < steps[-1]
    stress = [flex.stress_high_mpa for flex in found]
    assert stress[-1] > 2 * stress[0]


def test_much_rubber_around_takes_the_verdict_one_step_down():
    body = shapes.lipped_cup(bore_mm=16, lip_mm=14.5)
    _, thin = judged(body)
    _, thick = judged(body, wall_mm=60.0, over_mm=60.0, under_mm=60.0)
    assert thin.around_mm < 40 < thick.around_mm
    assert STEPS.index(thick.verdict) == STEPS.index(thin.verdict) + 1
    assert "hardly flexes" in thick.why
    # From the pocket under the lip to the box: wall 12 and the cup's own wall 4.
    assert thin.around_mm == pytest.approx(12 + 4, abs=1.0)


def test_bottle_needs_its_belly_through_its_neck():
    # Drilled from +x: neck 6 x 6, 12 long, belly 14 x 14, 14 long.
    solid = bodies.cuboid((0, 40), (0, 30), (0, 24)) - bodies.cuboid((28, 41), (12, 18), (9, 15))
    solid -= bodies.cuboid((14, 28.001), (8, 22), (5, 19))
    pocket, flex = judged(shapes.Body(*bodies.arrays(solid), 0, None, {}))
    assert pocket.kind == "pocket"
    assert flex.neck_mm2 == pytest.approx(36, rel=0.05)
    # Way out is counted in arcs round the neck's end, up to half longer than a
    # straight section of 14.
    assert 0.95 * 196 < flex.belly_mm2 < 1.5 * 196
    assert flex.stretch_fraction > math.sqrt(0.95 * 196 / 36) - 1
    assert flex.pull_n == pytest.approx(flex.stress_high_mpa * flex.neck_mm2)


def test_bridge_is_locked_and_sealed_void_asks_nothing():
    _, bridge = judged(shapes.cross_hole_plate())
    assert bridge.verdict == "locked" and "both ends" in bridge.why
    body = bodies.hollow_box()
    pocket, sealed = judged(body)
    assert (pocket.kind, sealed.verdict) == ("sealed", "none")
    assert sealed.stretch_fraction == sealed.stress_high_mpa == sealed.pull_n == 0


def test_uncertainty_of_depth_and_of_modulus_is_stated():
    made = bodies_split.split(bodies_split.part_of(shapes.t_slot()))
    assert made.flex.depth_error_mm == made.field.pitch_mm
    assert 0 < made.flex.modulus_low_mpa < made.flex.modulus_high_mpa
    assert made.flex.safety_factor.value == 3.0
    pair = made.flex.pockets
    # Mirror images ask the same.
    for name in ("stretch_fraction", "neck_mm2", "thick_mm"):
        assert getattr(pair[0], name) == pytest.approx(getattr(pair[1], name), rel=0.02)


def test_noise_widens_the_interval_of_depths():
    # Two independent walls and a column: sqrt(pitch^2 + 2 noise^2), closed form.
    split = bodies_split.split(bodies_split.part_of(shapes.t_slot()))
    quiet, noisy = (
        judge_pockets(
            split.field,
            split.gaps,
            split.undercuts,
            split.pocket_of_gap,
            split.job,
            box_low_mm=split.box.low_mm,
            box_high_mm=split.box.high_mm,
            thin=(),
            noise_mm=noise_mm,
        ).depth_error_mm
        for noise_mm in (None, 0.3)
    )
    assert quiet == pytest.approx(split.field.pitch_mm, rel=1e-12)
    assert noisy == pytest.approx((quiet**2 + 2 * 0.3**2) ** 0.5, rel=1e-12)
