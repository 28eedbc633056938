"""Samples together in one box: no output contradicts another, and all number the parts alike.

The facts are read from what the outputs say; one output checks the other.
"""

import html
import re
from functools import cache
from pathlib import Path

import pytest
from agreement import contradictions, tell
from agreement_read import LABELS
from output.greek import greek_catalogue
from output.left_english import left_in

from castplan import texts
from castplan.door import plan_part
from castplan.part.load import load_part
from castplan.records import Job, Shop
from castplan.view.scene import build_scene

SAMPLES = Path(__file__).parents[2] / "sample_parts"
# Coarse: what is told is tested, not what is found.
COARSE = {"pitch_mm": 1.0, "n_directions": 40, "n_attitudes": 40}
MANY_CUPS = {"copies": 3, "brush_mm": 1.0, "shop": Shop(largest_cup_ml=300.0)}
BOXES = {
    "hook and catches": (("coat_hook", "sliding_catch", "sliding_catch"), {}),
    "printed bed": (
        ("coat_hook", "sliding_catch"),
        {"bed": "printed", "box": "outline", "feed": "riser", **MANY_CUPS},
    ),
    "open": (("sliding_catch", "louvre_grille"), {"mould": "open", **MANY_CUPS}),
}


# That every box agrees with itself takes a while; one of them shows it at once.
EACH = [
    pytest.param(name, marks=() if name == "hook and catches" else pytest.mark.long)
    for name in BOXES
]


@cache
def part_of(name):
    return load_part(SAMPLES / f"{name}.stl", unit="mm")


@cache
def planned(name):
    names, choices = BOXES[name]
    first, *others = (part_of(part) for part in names)
    return plan_part(first, Job(**COARSE, **choices), others=others).record


@cache
def told_of(name):
    return tell(planned(name))


@pytest.mark.parametrize("name", EACH)
def test_no_output_contradicts_another(name):
    assert contradictions(told_of(name)) == []


def _on_the_card(told):
    """Openings by number of the part, as the mould card says."""
    found = re.findall(r"(\d+) \w+(?: \(\d+\))? \(openings ([^)]*)\)", told.sheets[LABELS])
    return {number: re.findall(r"G?\d+|G", labels) for number, labels in found}


def _in_the_view(told):
    found = re.findall(
        r"\b(\d+) +[a-z_]+(?: \(\d+\))? [^.]*faces up\..*?Openings: ([^.]*)\.", told.view
    )
    return {number: re.findall(r"G?\d+|G", labels) for number, labels in found}


def _on_the_job_sheet(told, n_parts):
    """Rows of the table of parts: number in bold, openings behind the fifth column."""
    page = next(page for page in told.pages if any(t.text == "openings" for t in page.texts))
    head = next(text for text in page.texts if text.text == "openings")
    cells = [text for text in page.texts if abs(text.x - head.x) < 1 and text.y < head.y - 1]
    rows = sorted(cells, key=lambda text: -text.y)[:n_parts]
    return {
        str(number): re.findall(r"G?\d+|G", cell.text) for number, cell in enumerate(rows, start=1)
    }


@pytest.mark.parametrize("name", EACH[:2])
def test_every_output_gives_a_part_the_same_openings(name):
    told, parts = told_of(name), BOXES[name][0]
    card = _on_the_card(told)
    assert set(card) == {str(n) for n in range(1, len(parts) + 1)}
    assert card == _in_the_view(told) == _on_the_job_sheet(told, len(parts))
    # Each opening once, as the steps pour them.
    gates = [label for labels in card.values() for label in labels if label.startswith("G")]
    (cast,) = (text for kind, text in told.steps if kind == "cast")
    assert all(re.search(rf"\b{label}\b", cast) for label in gates)
    assert len(gates) == len(parts)


@pytest.mark.parametrize("name", EACH)
def test_the_parts_are_named_where_the_work_begins(name):
    told, parts = told_of(name), BOXES[name][0]
    for number, part in enumerate(parts, start=1):
        assert f"{number} {part}" in told.summary
        assert f"{number} {part}" in told.sheets[LABELS]


def test_each_number_stands_on_the_drawings_at_true_size():
    told = told_of("hook and catches")
    for page in told.pages:
        if page.title.startswith(("First silicone pour", "Second silicone", "Pour sketch")):
            white = {text.text for text in page.texts if text.colour == "white"}
            assert {"1", "2", "3"} <= white, page.title


def test_casting_weights_add_up_to_the_shot():
    plan = planned("hook and catches")
    grams = [part.casting_g for part in plan.nest.parts]
    volume_ml = sum(part.volume_ml for part in plan.nest.parts)
    shot = plan.bench.amounts.mixes[-1]
    # The shot fills gates, cups and vents besides.
    assert sum(grams) == pytest.approx(volume_ml * shot.density_g_ml, rel=1e-9)
    assert shot.net_ml >= volume_ml


def test_a_box_of_several_holds_no_english_in_another_language():
    plan = planned("hook and catches")
    scene = build_scene(plan)
    texts.use(greek_catalogue())
    try:
        assert left_in(plan, scene) == []
    finally:
        texts.use({})


def test_the_view_shows_the_parts_as_marks():
    from castplan.view.page import page_json

    plan = planned("hook and catches")
    data = html.unescape(page_json(plan, build_scene(plan)))
    assert re.findall(r'"key":\s?"(part-\d)"', data) == ["part-1", "part-2", "part-3"]
