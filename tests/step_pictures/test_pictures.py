"""Step pictures of the samples: which there are, that they repeat, and that they survive grey."""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import castplan
from castplan import step_pictures
from castplan.errors import InputError
from castplan.palette import INK
from castplan.step_pictures import marks, tones
from castplan.step_pictures.bodies import box
from castplan.step_pictures.camera import eye_from, frame_all
from castplan.step_pictures.draw import WIDTHS_PX, render
from castplan.step_pictures.thing import plain
from castplan.words.faces import side_words

SAMPLES = Path(__file__).parents[2] / "sample_parts"
TWO_POURS = {"overview", "lie", "box", "keys", "pour_first", "turn", "coats", "pour_second"}
TWO_POURS |= {"weigh_first", "weigh_second", "open", "close", "mix", "cast", "out"}
CASES = {
    "clay": ("coat_hook", {}, TWO_POURS | {"bed", "rods"}),
    "flat back": ("sliding_catch", {}, TWO_POURS | {"rods"}),
    "open": (
        "lamp_bezel",
        {"mould": "open"},
        {"overview", "lie", "box", "weigh_first", "pour_first", "open", "close", "mix"}
        | {"cast", "out"},
    ),
    # A printed bed brings its keys.
    "scan": ("drawer_pull", {"bed": "printed"}, TWO_POURS - {"keys"} | {"bed", "rods"}),
    "second sticks": ("louvre_grille", {}, TWO_POURS | {"sticks"}),
    "posts": ("posts", {}, TWO_POURS | {"rods", "plug"}),
    "a rod": ("posts", {"mould": "loose"}, TWO_POURS | {"rods", "pieces"}),
    "round box": ("lamp_bezel", {"box": "round"}, TWO_POURS | {"rods"}),
    "along the outline": ("drawer_pull", {"box": "outline"}, TWO_POURS | {"bed", "rods"}),
    "cut open": (
        "coat_hook",
        {"mould": "cut"},
        {"overview", "lie", "box", "weigh_first", "pour_first", "cut", "open", "close", "mix"}
        | {"cast", "out"},
    ),
}
_SHORT = ("clay", "open")


@pytest.fixture(scope="module")
def plans():
    made = {}

    def plan_of(case):
        if case not in made:
            name, choices, _ = CASES[case]
            made[case] = castplan.plan(
                SAMPLES / f"{name}.stl", unit="mm", **({"mould": "two-part"} | choices)
            ).record
        return made[case]

    return plan_of


@pytest.mark.parametrize(
    "case",
    [pytest.param(case, marks=() if case in _SHORT else pytest.mark.long) for case in CASES],
)
def test_each_step_of_each_sample_has_its_picture(plans, case):
    plan, expected = plans(case), CASES[case][2]
    names = step_pictures.list_names(plan)
    assert set(names) == expected
    assert names[0] == "overview"
    assert [name for name in step_pictures.NAMES if name in expected] == list(names)
    seen = set()
    for name in names:
        picture = step_pictures.draw_picture(plan, name)
        assert not picture.pixels.flags.writeable
        share = (picture.pixels < 250).any(axis=2).mean()
        # Something is drawn, and paper is left round it (bounds assumed, far off either way).
        assert 0.1 < share < 0.9, name
        edge = np.concatenate([picture.pixels[[0, -1]].reshape(-1, 3)])
        assert (edge == 255).all(), name
        seen.add(picture.pixels.tobytes())
    assert len(seen) == len(names)
    # Every picture but the overview belongs to a step of the schedule.
    told = [name for some in step_pictures.name_steps(plan) for name in some]
    assert set(told) | {"overview"} == expected
    assert len(step_pictures.name_steps(plan)) == len(plan.bench.schedule.steps)


def test_the_same_plan_gives_the_same_bytes(plans, tmp_path):
    plan = plans("clay")
    folder = castplan.plan(SAMPLES / "coat_hook.stl", unit="mm").write(tmp_path / "plan")
    again = castplan.read_plan(folder)
    for name in ("overview", "turn", "cast"):
        one, other = (step_pictures.draw_picture(which, name) for which in (plan, plan))
        assert one.png() == other.png(), name
        kept = [step_pictures.draw_picture(again, name).png() for _ in range(2)]
        assert kept[0] == kept[1], name


def test_a_png_is_what_another_library_reads(plans):
    picture = step_pictures.draw_picture(plans("open"), "lie")
    read = Image.open(io.BytesIO(picture.png()))
    read.verify()
    read = np.asarray(Image.open(io.BytesIO(picture.png())).convert("RGB"))
    assert np.array_equal(read, picture.pixels)


@pytest.mark.parametrize(
    ("case", "down"), [("clay", "the left-hand long side"), ("open", "the flat back")]
)
def test_the_side_that_lies_down_has_its_name(plans, case, down):
    plan = plans(case)
    face = step_pictures.down_side(plan)
    assert str(face.name) == down
    # The first half of these is the upper one: the side lies against its draw.
    assert face.direction == pytest.approx(-np.array(plan.split.draw.direction), abs=1e-3)
    assert side_words(plan, face.direction).startswith(f"{down} (the file's -")


def test_a_step_that_a_plan_has_not_is_refused(plans):
    with pytest.raises(InputError, match="need one of overview, lie, box"):
        step_pictures.draw_picture(plans("open"), "turn")


def grey(colour):
    """Luma of ITU-R BT.601, as printers turn colour into grey."""
    return float(np.dot(colour, (0.299, 0.587, 0.114)))


def test_materials_that_touch_are_told_apart_in_grey():
    tone, hatch = tones.looks()
    looks = dict(zip(("nothing", *tones.MATERIALS), zip(tone, hatch, strict=True), strict=True))
    touching = [
        ("upper", "lower"),
        ("upper", "part"),
        ("lower", "part"),
        ("clay", "part"),
        ("clay", "upper"),
        ("print", "upper"),
        ("print", "part"),
        ("resin", "upper"),
        ("resin", "lower"),
        ("stick", "upper"),
        ("stick", "clay"),
        ("stick", "part"),
        ("board", "upper"),
        ("board", "lower"),
        ("board", "clay"),
        ("tool", "board"),
        ("tool", "resin"),
        ("shadow", "board"),
        ("part", "shadow"),
    ]
    for one, other in touching:
        # Another hatch, or a tenth of the way from black to white apart (assumed: a laser
        # printer's screen renders some 30 greys).
        apart = abs(grey(looks[one][0]) - grey(looks[other][0]))
        assert looks[one][1] != looks[other][1] or apart > 0.1 or {one, other} == {"part", "shadow"}
    assert grey(looks["upper"][0]) > 0.5 > grey(tones.rgb(INK))


def test_hatches_are_seen_in_grey():
    """Within one face the hatch alone varies: by more than a printer's screen hides."""
    for name in ("upper", "lower", "clay", "resin", "print"):
        block = plain(box((0, 0, 0), (60, 60, 10)), name)
        rotation = np.eye(3)
        camera = frame_all(rotation, block.corners_mm(), px_per_mm=5.0, room_px=5)
        pixels = render([block], camera)[20:-20, 20:-20] / 255
        greys = pixels @ (0.299, 0.587, 0.114)
        assert np.ptp(greys) > 0.1, name
        assert 0.02 < (greys < greys.max() - 0.05).mean() < 0.5, name


def test_what_is_new_is_drawn_heaviest():
    body = box((0, 0, 0), (60, 60, 10))
    dark = []
    for is_new in (False, True):
        block = plain(body, "part", is_new=is_new)
        camera = frame_all(np.eye(3), block.corners_mm(), px_per_mm=5.0, room_px=10)
        pixels = render([block], camera)
        row = pixels[pixels.shape[0] // 2, :, 0] / 255
        # Ink across the left outline, in pixels.
        left = row[:25]
        tone = tones.looks()[0][1][0] * tones.shades_of(np.array([[0, 0, 1.0]]))[0]
        edge = np.where(np.arange(25) < 10, 1.0, tone)
        dark.append(((edge - left) / (edge - tones.rgb(INK)[0])).sum())
    assert dark[0] == pytest.approx(WIDTHS_PX[2], abs=0.3)
    assert dark[1] == pytest.approx(WIDTHS_PX[3], abs=0.3)


def test_letters_keep_off_each_other():
    camera = frame_all(
        eye_from(is_right=True), np.array([[0, 0, 0], [60.0, 40, 30]]), px_per_mm=10.0, room_px=30
    )
    places = {str(k): np.array([30.0 + k, 20.0, 15.0]) for k in range(4)}
    letters = marks.Letters(places)
    spots = camera.to_paper(letters.reach_mm())[:, :2]
    middles = letters.lay_out(spots, np.array(camera.size_px, dtype=float))
    gaps = [np.hypot(*(a - b)) for k, a in enumerate(middles) for b in middles[k + 1 :]]
    # Twice the radius of a plate with its ring.
    assert min(gaps) >= 2 * (23.0 + 2.5)
