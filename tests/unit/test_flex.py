"""Whether rubber leaves: sections, stretch and verdict of pockets with known shape.

Sections and stretches are closed forms of the bodies made here; what a hardness allows is
from memory, the factor of the working limit assumed.
"""

import math

import bodies
import bodies_split
import pytest
import shapes

from castplan.materials.cards import load_cards
from castplan.records import Job
from castplan.split.flex import Skin, judge_pockets

STEPS = ("leaves freely", "flexes out", "may tear", "locked")


def judged(body, rotation=bodies.ALONG["z"], **choices):
    """(pocket, flex) of the largest pocket."""
    made = bodies_split.split(bodies_split.part_of(body), rotation, job=Job(**choices))
    return made.undercuts.pockets[0], made.flex.pockets[0]


@pytest.mark.parametrize(
    ("lip_mm", "verdict"),
    [(15.75, "leaves freely"), (14.5, "flexes out"), (12.0, "may tear"), (5.0, "locked")],
)
def test_verdict_follows_the_stretch_over_the_lip(lip_mm, verdict):
    # A core of bore 16 through a mouth: (16 / lip)^2 - 1 is 3, 22, 78 and 924 %. At
    # 25 A an undercut of about 20 % of the neck is allowed, 1.2^2 - 1 of a core, a
    # quarter of it not felt; elongation 490 % over 3 is the working limit, 163 %.
    _, flex = judged(shapes.lipped_cup(bore_mm=16, lip_mm=lip_mm))
    assert flex.verdict == verdict
    assert flex.is_core and flex.allowed_fraction == pytest.approx(0.44)
    assert flex.limit_fraction == pytest.approx(4.9 / 3)
    assert f"{100 * flex.stretch_fraction:.0f} %" in str(flex.why)


def test_harder_rubber_is_never_kinder():
    cards = [(card.shore.value, key) for key, card in load_cards().items() if "silicone-" in key]
    assert len(cards) >= 3
    body = shapes.lipped_cup(bore_mm=16, lip_mm=13.5)  # 19 %
    found = [judged(body, silicone=key)[1] for _, key in sorted(cards)]
    steps = [STEPS.index(flex.verdict) for flex in found]
    assert steps == sorted(steps) and steps[0] < steps[-1]


def test_much_rubber_around_takes_the_verdict_one_step_down():
    body = shapes.lipped_cup(bore_mm=16, lip_mm=14.5)
    _, thin = judged(body)
    _, thick = judged(body, wall_mm=60.0, over_mm=60.0, under_mm=60.0)
    assert thin.around_mm < 40 < thick.around_mm
    assert STEPS.index(thick.verdict) == STEPS.index(thin.verdict) + 1
    assert "hardly bend" in str(thick.why)
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
    # Not less than the squeeze of its height, 14 over 6, at the judged rate.
    assert flex.stretch_fraction > 1.7 * (0.95 * 14 / 6 - 1)


def test_bridge_is_locked_and_sealed_void_asks_nothing():
    _, bridge = judged(shapes.cross_hole_plate())
    assert bridge.verdict == "locked" and "both ends" in str(bridge.why)
    body = bodies.hollow_box()
    pocket, sealed = judged(body)
    assert (pocket.kind, sealed.verdict) == ("sealed", "none")
    assert sealed.stretch_fraction == 0


def test_uncertainty_of_depth_and_of_modulus_is_stated():
    made = bodies_split.split(bodies_split.part_of(shapes.t_slot()))
    assert made.flex.depth_error_mm == made.field.pitch_mm
    assert 0 < made.flex.modulus_low_mpa < made.flex.modulus_high_mpa
    assert made.flex.safety_factor.value == 3.0
    for flex in made.flex.pockets:
        assert flex.stretch_low_fraction < flex.stretch_fraction < flex.stretch_high_fraction
    pair = made.flex.pockets
    # Mirror images ask the same.
    for name in ("stretch_fraction", "neck_mm2", "thick_mm"):
        assert getattr(pair[0], name) == pytest.approx(getattr(pair[1], name), rel=0.02)


def test_noise_widens_the_interval_of_depths():
    # Two independent walls and a column: sqrt(pitch^2 + 2 noise^2), closed form.
    split = bodies_split.split(bodies_split.part_of(shapes.t_slot()))
    quiet, noisy = (
        judge_pockets(
            split.pockets, split.job, Skin(thin=(), noise_mm=noise_mm), ends_mm=split.ends_mm
        ).depth_error_mm
        for noise_mm in (None, 0.3)
    )
    assert quiet == pytest.approx(split.field.pitch_mm, rel=1e-12)
    assert noisy == pytest.approx((quiet**2 + 2 * 0.3**2) ** 0.5, rel=1e-12)


def notched_block(depth_mm, high_mm, *, n=1, long_mm=30.0, length_mm=100.0, apart_mm=2.0):
    """A block drawn along z with like notches in its side at x = 40."""
    solid = bodies.cuboid((0, 40), (0, length_mm), (0, 24))
    for k in range(n):
        y0 = 5.0 + k * (long_mm + apart_mm)
        solid -= bodies.cuboid((40 - depth_mm, 41), (y0, y0 + long_mm), (8, 8 + high_mm))
    return shapes.Body(*bodies.arrays(solid), 0, None, {})


def flush(body, **choices):
    """Split at the block's foot, so that each notch is one half's and wholly held."""
    return bodies_split.split(
        bodies_split.part_of(body), job=Job(parting_height_mm=0.0, **choices), pitch_mm=0.15
    )


@pytest.mark.parametrize(
    ("depth_mm", "high_mm", "verdict"),
    [(0.6, 2, "flexes out"), (1.5, 4, "flexes out"), (4, 8, "may tear"), (14, 10, "locked")],
)
def test_verdict_is_in_proportion_to_the_undercut(depth_mm, high_mm, verdict):
    # 12 mm of 25 A round it. Finite elements (rubber_pull): 0.6 deep needs 8 %,
    # 4 deep 47 %; allowed are 20 %, four times that is beyond a hand.
    made = flush(notched_block(depth_mm, high_mm))
    (flex,) = made.flex.pockets
    assert flex.verdict == verdict
    assert flex.slope == pytest.approx(0, abs=0.05) and flex.room_mm is None
    assert flex.pulled_fraction > flex.stretch_fraction


def test_a_face_that_falls_away_lets_the_silicone_slip():
    # A V groove 3 deep, faces at 45 degrees: the holding face falls 1 mm a mm.
    solid = bodies.cuboid((0, 40), (0, 60), (0, 24))
    groove = bodies.cuboid((-3, 3), (10, 50), (-3, 3)).rotate((0, 45, 0))
    solid -= groove.translate((40 + 3 * (math.sqrt(2) - 1), 0, 12))
    body = shapes.Body(*bodies.arrays(solid), 0, None, {})
    (flex,) = flush(body).flex.pockets
    assert flex.slope == pytest.approx(1, abs=0.1)
    assert flex.verdict == "flexes out"


def test_silicone_between_two_walls_cannot_move_aside():
    # Two notches 3 deep face each other across a slot 10 wide: its core must lose
    # 3 of 5 mm on either side.
    solid = bodies.cuboid((0, 50), (0, 60), (0, 24)) - bodies.cuboid((20, 30), (-1, 61), (4, 25))
    solid -= bodies.cuboid((17, 33), (10, 50), (8, 14))
    made = flush(shapes.Body(*bodies.arrays(solid), 0, None, {}))
    pockets = made.flex.pockets
    assert len(pockets) == 2 and {flex.group for flex in pockets} == {1}
    for flex in pockets:
        # Along the lattice, which stands 17 degrees askew: 10 / cos 17.
        assert flex.room_mm == pytest.approx(10 / math.cos(math.radians(17)), abs=0.5)
        assert flex.stretch_fraction > (2.5 + 2.5) / 11
        assert "pressed" in str(flex.why)


def test_pockets_that_are_alike_are_one_group_and_one_verdict():
    # Nine tooth gaps of 1.1 x 2 x 6 mm and one twice as deep.
    body = notched_block(1.1, 2, n=9, long_mm=6.0)
    solid = bodies.solid_of(body.vertices_mm, body.faces)
    solid -= bodies.cuboid((37.8, 41), (85, 91), (8, 10))
    made = flush(shapes.Body(*bodies.arrays(solid), 0, None, {}))
    deep, alike = made.flex.groups
    assert (len(deep.numbers), len(alike.numbers)) == (1, 9)
    assert alike.volume_mm3 == pytest.approx(9 * 1.1 * 2 * 6, rel=0.05)
    assert alike.depth_mm == pytest.approx(0.9 * 1.1, abs=made.field.pitch_mm)
    flexes = {flex.number: flex for flex in made.flex.pockets}
    assert {flexes[n].group for n in alike.numbers} == {alike.numbers[0]}
    assert len({flexes[n].verdict for n in alike.numbers}) == 1
    listed = sorted(n for group in made.flex.groups for n in group.numbers)
    assert listed == [pocket.number for pocket in made.undercuts.pockets]


def test_a_short_or_small_web_may_tear_and_a_pin_is_locked():
    # Holes across a wall that stands along the draw: 1.2 mm thick (a web of 8 mm),
    # and 10 mm thick.
    def walled(thick_mm):
        solid = bodies.cuboid((0, thick_mm), (0, 60), (0, 40))
        return (
            bodies.cuboid((-20, 30), (0, 60), (0, 5))
            + solid
            - bodies.cuboid((-1, thick_mm + 1), (26, 34), (16, 24))
        )

    for thick_mm, verdict in ((1.2, "may tear"), (10.0, "locked")):
        solid = walled(thick_mm)
        _, flex = judged(shapes.Body(*bodies.arrays(solid), 0, None, {}))
        assert flex.verdict == verdict
