"""The steps: their order, their hold points and the numbers inside them.

Minutes of handwork are assumed; heights and volumes are worked by hand.
"""

from dataclasses import replace

import numpy as np
import pytest
from bench_steps import DOWN, SIDEWAYS, UP, is_in, place, pocket, port, steps_of
from output.neutral import filled

from castplan.materials.cautions import load_cautions
from castplan.records import HolePlug, Job, PartingLine, PartingSurface, RimLoop


def test_steps_come_in_the_order_of_the_work():
    result = steps_of()
    order = [
        place(result, "Photograph", "agree to the risk"),
        place(result, "seal it with"),
        place(result, "put a dab as thick as a coin"),
        place(result, "Mark parting line"),
        place(result, "clay up to the parting line"),
        place(result, "Stand the box"),
        place(result, "fill it to the mark with water"),
        place(result, "Press 4 round hollows"),
        place(result, "stick on the mark"),
        place(result, "light coat of release agent on the original and on the inside"),
        place(result, "Weigh the silicone for the first half"),
        place(result, "Brush a first coat", "first half"),
        place(result, "turn the box over"),
        place(result, "3 light coats of release agent"),
        place(result, "Weigh the silicone for the second half"),
        place(result, "Work silicone into every detail", "second half"),
        place(result, "peel them", "Pull the sticks"),
        place(result, "Leave the open mould in air"),
        place(result, "between stiff boards"),
        place(result, "Weigh the resin"),
        place(result, "Pour into gate G"),
        place(result, "Take the casting out"),
        place(result, "trim the flash"),
        place(result, "Measure the three lengths"),
    ]
    assert order == sorted(order)
    assert [step.number for step in result.steps] == list(range(1, len(result.steps) + 1))


def test_hold_points_guard_the_silent_failures():
    result = steps_of()
    holds = [str(step.text) for step in result.steps if step.is_hold]
    assert len(holds) == 3
    assert holds[0].startswith("Test the box")
    assert holds[1].startswith("Peel off the dabs")
    assert "Sign when the last coat is dry" in holds[2]
    last_hold = max(i for i, step in enumerate(result.steps) if step.is_hold)
    assert last_hold < place(result, "Weigh the silicone for the second half")


def test_heights_and_volumes_stand_in_the_text():
    result = steps_of(parting_mm=10.25)
    bed = str(result.steps[place(result, "clay up to the parting line")].text)
    assert "lowest point 12 mm above the base board" in bed
    assert "22.2 mm above the board" in bed  # 12 under the part and 10.25 up it
    assert "100 x 60 mm inside, walls 50 mm high" in str(
        result.steps[place(result, "Stand the box")].text
    )
    assert "160 ml" in str(result.steps[place(result, "fill it to the mark with water")].text)
    assert "100 ml" in str(result.steps[place(result, "Photograph")].text)


def test_weights_and_limits_stand_in_the_text():
    result = steps_of()
    # 160 ml * 1.07 * 1.08 g/ml = 184.9 g at 20:1, together as both are read off the scale;
    # cup five times 171.2 ml.
    first = str(result.steps[place(result, "Weigh the silicone for the first half")].text)
    assert "A 176.09 g and B 8.80 g, 184.89 g together" in first
    assert "900 ml or more" in first
    poured = str(result.steps[place(result, "pour the first half")].text)
    assert "within 22 min of the first touch of A and B" in poured
    pour = str(result.steps[place(result, "Pour into gate G")].text)
    assert "within 1 min 30 s of the first touch" in pour
    assert "Leave it 30 min" in pour


def test_flat_back_needs_no_clay():
    result = steps_of(parting_mm=0.05)
    assert not is_in(result, "clay up to the parting")
    assert is_in(result, "Stick the original to the base board")
    # The original is 26 mm high under 12 mm of silicone, and 12 mm follow under it.
    assert "walls 50 mm high" in str(result.steps[place(result, "Stand the box")].text)
    assert is_in(result, "Mark the second pour at 50 mm above that board")
    assert is_in(result, "Take out the keys")
    assert is_in(result, "Stick 4 half-round keys on the board")
    poured = str(result.steps[place(result, "let the second half run in")].text)
    assert "until it stands at the mark" in poured
    assert is_in(steps_of(parting_mm=0.2), "clay up to the parting")


@pytest.mark.parametrize(
    ("pour", "before", "after"),
    [
        (UP, "Press 4 round hollows", "Weigh the silicone for the first half"),
        (SIDEWAYS, "Press 4 round hollows", "Weigh the silicone for the first half"),
        (DOWN, "3 light coats", "Weigh the silicone for the second half"),
    ],
)
def test_sticks_stand_before_the_half_they_run_through(pour, before, after):
    result = steps_of(pour=pour)
    sticks = place(result, "stick on the mark")
    assert place(result, before) < sticks < place(result, after)
    text = str(result.steps[sticks].text)
    # Upright ones stand 20 mm out, to be held (assumed).
    long = "40 mm long" if pour is SIDEWAYS else "60 mm long, 40 mm of it in the silicone"
    assert f"gate G, 8 mm thick, {long}; vent 1, 2.5 mm thick, {long}" in text
    assert ("wall that will be up when resin is poured" in text) == (pour is SIDEWAYS)


def test_one_half_is_not_turned_over():
    result = steps_of(parting_mm=0.0, lower_ml=0.0)
    assert not is_in(result, "turn the box over")
    assert not is_in(result, "second half")
    assert not is_in(result, "keys")
    assert sum(step.is_hold for step in result.steps) == 2


def test_lower_half_alone_stands_on_its_face():
    result = steps_of(parting_mm=26.0, upper_ml=0.0)
    assert not is_in(result, "clay up to the parting")
    assert "walls 50 mm high" in str(result.steps[place(result, "Stand the box")].text)


def test_undercuts_are_named():
    pockets = (
        pocket(1, "pocket", 9.6),
        pocket(2, "bridge"),
        pocket(3, "pocket"),
        pocket(4, "sealed"),
    )
    result = steps_of(pockets=pockets)
    assert is_in(result, "Plug hole 2 across the draw")
    assert is_in(result, "out of undercuts 1 and 3 first, the deepest is 10 mm in")
    assert not is_in(steps_of(), "Plug hole")
    assert not is_in(steps_of(), "undercut")


def test_blocked_ports_get_no_stick():
    ports = (port("G", "gate", diameter_mm=8.0), port("1", "vent", is_blocked=True))
    result = steps_of(ports=ports)
    assert "Part of the original stands above vent 1" in str(
        result.steps[place(result, "Mark parting line")].text
    )
    rods, _, sticks = str(result.steps[place(result, "stick on the mark")].text).partition("Fix a")
    assert "into the clay to half" in rods and "vent 1, 2.5 mm thick." in rods
    assert "gate G" in sticks and "vent 1" not in sticks
    bare = steps_of(ports=())
    assert not is_in(bare, "stick on the mark")
    assert not is_in(bare, "Pull the sticks")
    assert is_in(bare, "Pour into the mould")


def test_copies_repeat_the_casting():
    one, four = steps_of(), steps_of(job=Job(copies=4))
    first = place(four, "between stiff boards")
    assert f"Do steps {first + 1} to {first + 4} for each of the 4 castings" in (
        str(four.steps[first].text)
    )
    assert not is_in(one, "copies")
    pour = place(one, "Pour into gate G")
    assert four.steps[pour].wait_min == 4 * one.steps[pour].wait_min
    assert four.steps[pour].hands_on_min == 4 * one.steps[pour].hands_on_min


def test_small_mix_is_made_up_to_what_the_resin_needs():
    # Less than 85 to 100 g warms too little and drifts off ratio: from memory.
    small = steps_of(part_ml=20.0)
    text = str(small.steps[place(small, "Weigh the resin")].text)
    assert "one casting: A 44.74 g and B 40.26 g" in text  # 85 g at 100:90
    assert text.index("85.00 g") < text.index("One casting needs only")
    assert not is_in(steps_of(), "One casting needs only")
    slow = Job(resin="epoxy-slow-80d")  # this class names no smallest mix
    assert not is_in(steps_of(part_ml=20.0, job=slow), "One casting needs only")


def test_waits_come_from_the_cards():
    result = steps_of(job=Job(silicone="silicone-tin-25a"))
    assert result.steps[place(result, "put a dab as thick as a coin")].wait_min == 16 * 60
    assert result.steps[place(result, "pour the first half")].wait_min == 16 * 60
    # A tin-cure mould rests 24 h in air before casting: from memory.
    assert result.steps[place(result, "Leave the open mould in air")].wait_min == 24 * 60
    assert result.hands_on_min == sum(step.hands_on_min for step in result.steps)
    assert result.wait_min == sum(step.wait_min for step in result.steps)
    assert "assumed" in result.basis
    # 10 C colder takes twice as long, cures and rests alike (the pot life's rule).
    cold = steps_of(job=Job(silicone="silicone-tin-25a", shop_temperature_c=13.0))
    for words in (
        "put a dab as thick as a coin",
        "pour the first half",
        "Leave the open mould",
        "Take the casting out",
    ):
        waits = [each.steps[place(each, words)].wait_min for each in (cold, result)]
        assert waits[0] == pytest.approx(2 * waits[1])


@pytest.mark.parametrize(
    "job",
    [
        Job(),
        Job(silicone="silicone-platinum-10a", resin="epoxy-slow-80d"),
        Job(silicone="silicone-platinum-30a", resin="polyester-casting"),
    ],
    ids=lambda job: job.resin,
)
def test_cautions_exist_and_stand_beside_the_mixing(job):
    result = steps_of(job=job)
    known = load_cautions()
    for step in result.steps:
        assert set(step.cautions) <= set(known), str(step.text)
        assert len(set(step.cautions)) == len(step.cautions)
    mixing = result.steps[place(result, "Weigh the resin")].cautions
    expected = {
        "polyurethane-fast-70d": "isocyanate",
        "epoxy-slow-80d": "amine-hardener",
        "polyester-casting": "peroxide",
    }
    assert expected[job.resin] in mixing
    assert "pressure-pot" in result.steps[place(result, "Pour into gate G")].cautions
    assert "dust" in result.steps[place(result, "trim the flash")].cautions


def test_texts_read_as_sentences():
    for result in (steps_of(), steps_of(job=Job(copies=2), ports=()), steps_of(parting_mm=0.0)):
        for step in result.steps:
            assert str(step.text)[0].isupper() and str(step.text).endswith("."), str(step.text)
            assert "  " not in str(step.text) and "\n" not in str(step.text)
            assert (
                "{" not in str(step.text)
                and " ." not in str(step.text)
                and ".." not in str(step.text)
            )


def rim(heights_mm):
    return filled(RimLoop, points_mm=np.zeros((3, 2)), line_mm=np.array(heights_mm), length_mm=3.0)


def line_of(kind, heights_mm, *, corners_mm=((10.0, 10.0), (10.0, 10.0)), plugs=()):
    """A split whose box floor is at -12 mm; corners by rows of y, then x."""
    surface = filled(PartingSurface, heights_mm=np.array(corners_mm))
    return filled(
        PartingLine,
        kind=kind,
        box_height_mm=10.0,
        outlines=(rim(heights_mm),),
        surface=surface,
        plugs=plugs,
    )


def test_a_tilted_bed_is_given_by_the_corners_of_the_box():
    line = line_of("tilted", (9.0, 13.0, 11.0), corners_mm=((8.0, 10.0), (12.0, 14.0)))
    text = str(steps_of(line=line).steps[place(steps_of(line=line), "tilted plane")].text)
    # Each is 12 mm more over the floor, anticlockwise from the corner 0, 0.
    assert "20.0, 22.0, 26.0, 24.0 mm above the board" in text


@pytest.mark.parametrize("kind", ["stepped", "following"])
def test_clay_follows_the_strip(kind):
    result = steps_of(line=line_of(kind, (9.0, 13.0, 11.0)))
    step = result.steps[place(result, "Cut out the clay strip")]
    assert "21.0 to 25.0 mm above the board" in str(step.text)
    assert "22.0 mm where the walls of the box will stand" in str(step.text)
    assert ("level stretches" in str(step.text)) is (kind == "stepped")
    # 60 min for a level bed; DrawWeights: 20 min, and 1.5 min for each of the 4 mm it climbs.
    assert step.hands_on_min == 60 + 20 + 6


def test_holes_through_the_part_are_filled_to_their_heights():
    def plug(number, height_mm, *, is_following=False):
        return filled(
            HolePlug,
            number=number,
            height_mm=height_mm,
            is_following=is_following,
            rim=rim((0.0, 0.0, 0.0)),
        )

    plugs = (plug(1, 3.0), plug(2, 3.0), plug(3, 7.0, is_following=True), plug(4, 0.0))
    result = steps_of(line=line_of("level", (10.0, 10.0, 10.0), plugs=plugs))
    text = str(result.steps[place(result, "holes through the original")].text)
    assert "H1 and H2 up to 15.0 mm above the board; H3 to the strip" in text
    assert "H4 up to 12.0 mm" in text
    # Flat on the board: the board is at the part's lowest point and shuts hole 4.
    flat = replace(line_of("level", (0.0, 0.0, 0.0), plugs=plugs), box_height_mm=0.0)
    result = steps_of(line=flat)
    text = str(result.steps[place(result, "holes through the original")].text)
    assert "H1 and H2 up to 3.0 mm above the board" in text
    assert "H4" not in text


def test_a_part_without_holes_has_no_step_for_them():
    assert not is_in(steps_of(), "holes through the original")
