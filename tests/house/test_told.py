"""Whoever plans says nothing: sentences are made where they are shown, never before.

Two rules. No module below the outputs takes the functions that say a text; and no
text of a record is said while a part is planned, which an f-string would do unseen.
"""

import ast

import bodies
import pytest
import shapes
from house.test_layers import RANK, imports_of, layer_of, read_package

from castplan.files.record import plan_json
from castplan.planning import build_plan
from castplan.records import Job
from castplan.texts.told import Told, tell

# What gives a sentence, or takes one apart; the rest of `texts` gives keys.
SAYS = {"say", "say_data", "entry_of"}


def is_below_outputs(name):
    """Whether a module makes records: it stands below the outputs, the catalogue aside."""
    top = layer_of(name)
    return RANK.get(top, -1) > RANK["words"] and top not in ("texts", "view.records", "__init__")


def who_says(sources):
    """``module: name`` of every function that says, taken by a module that plans."""
    bad = []
    for name, source in sources.items():
        if not is_below_outputs(name):
            continue
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(
                "castplan.texts"
            ):
                bad += [f"{name}: {one.name}" for one in node.names if one.name in SAYS]
            if isinstance(node, ast.ImportFrom) and node.module == "castplan":
                bad += [f"{name}: {one.name}" for one in node.names if one.name == "texts"]
    return bad


def test_who_plans_takes_nothing_that_says():
    sources = read_package()
    tells = [
        name
        for name, source in sources.items()
        if is_below_outputs(name) and "texts.told" in imports_of(name, source, sources)
    ]
    assert len(tells) > 40
    assert who_says(sources) == []


def test_the_search_for_who_says_can_fail():
    sources = {
        "split.draw": "from castplan.texts import code_key, say",
        "air.feed": "def f():\n    from castplan.texts import say_data",
        "after.mend": "from castplan import texts",
        "bench.steps": "from castplan.texts.told import tell",
        "words.plan": "from castplan.texts import say",
    }
    assert who_says(sources) == ["split.draw: say", "air.feed: say_data", "after.mend: texts"]


@pytest.fixture
def silent(monkeypatch):
    """Whatever says a text of a record fails."""

    def refuse(told, *_):
        raise AssertionError(f"said while planning: {told.key}")

    monkeypatch.setattr(Told, "__str__", refuse)
    monkeypatch.setattr(Told, "__format__", refuse)


JOBS = (
    Job(copies=30, brush_mm=1.0, bed="printed", water_ml=40.0, place="indoors", feed="riser"),
    Job(parting="following", box="round", max_vents=1, pigment_fraction=0.05, scale_max_g=200.0),
    Job(silicone="silicone-platinum-20a", resin="epoxy-slow-80d", pot_mm=(120.0, 100.0)),
)


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("body", [bodies.posts(), bodies.slot_block()], ids=["posts", "slot"])
def test_planning_says_nothing(silent, body, job):
    plan = build_plan(shapes.part_of(body.vertices_mm, body.faces), job)
    assert plan.findings and plan_json(plan).count(b'"key"') > 50


def test_the_search_for_what_is_said_can_fail(silent):
    with pytest.raises(AssertionError, match=r"said while planning: foot\.page"):
        f"{tell('foot.page', page=1, pages=2)}."
