"""A choice of the shop is written once: its limits and words in the table, its default in Job.

Counts and values are invented here.
"""

import ast
import re
from pathlib import Path

import pytest
import typer

from castplan import cli
from castplan.bench.heat import PLACES
from castplan.choices import CHOICES
from castplan.cli import batch_list
from castplan.cli.job_options import ARGUMENTS, default_words, read_options
from castplan.errors import InputError
from castplan.job import Job
from castplan.materials import cards
from castplan.page import choices as page
from castplan.paper.paper import PAPER_MM

PACKAGE = Path(__file__).parents[2] / "castplan"
# A default written out in a help, and a limit or a choice's word in the page's script.
DEFAULT = re.compile(r"Default (?:is )?[\w.+-]+")
LIMIT = re.compile(r"\b(?:least|most|min|max|blank|placeholder): \"?-?\d[\d.]*\"?")
# Options that are no choice of a job have their default where they stand.
OWN = {"batch.py", "cast.py", "clearance.py", "__init__.py", "job_options.py"}
WORDS = {word for choice in CHOICES.values() for word in choice.words}
# Three words of choices are names that a script has for things of its own too.
PASSED = {
    "level",  # a level split by the slider
    "rectangle",  # what stands without a choice
    "stepped",  # a way to go through the view
}


def defaults(source):
    """Texts of a module that write a default out, docstrings passed over."""
    return [
        found
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        for found in DEFAULT.findall(node.value)
    ]


def limits(script):
    """Limits and defaults as numbers, and words of choices, in a script of the page."""
    quoted = re.findall(r"\"([^\"\n]*)\"", script)
    words = sorted(set(quoted) & WORDS - PASSED)
    return [each for each in LIMIT.findall(script) if not re.search(r": 0$", each)] + words


def test_no_help_writes_a_default_out():
    modules = [path for path in sorted((PACKAGE / "cli").glob("*.py")) if path.name not in OWN]
    assert len(modules) > 15
    found = {path.name: defaults(path.read_text("utf-8")) for path in modules}
    assert {name: each for name, each in found.items() if each} == {}
    assert [name for name, choice in CHOICES.items() if DEFAULT.search(choice.help)] == []


def test_the_controls_script_writes_no_limit_and_no_word_out():
    assert limits((PACKAGE / "page" / "controls.js").read_text("utf-8")) == []


def test_the_search_for_what_is_written_twice_can_fail():
    assert defaults('x = Option(help="Silicone above the part. Default 12.")') == ["Default 12."]
    assert limits('number("a", v, { least: -20, most: 60, blank: "23", step: 1 })') == [
        "least: -20",
        "most: 60",
        'blank: "23"',
    ]
    assert limits('select("a", "", [["printed", say("b")]])') == ["printed"]


@pytest.fixture(scope="module")
def commands():
    """The commands of the terminal by name."""
    return typer.main.get_command(cli.app).commands


@pytest.mark.parametrize("name", ["plan", "batch"])
def test_every_option_says_the_jobs_own_default(commands, name):
    told = {option.name: option for option in commands[name].params}
    for choice, argument in ARGUMENTS.items():
        option, default = told[argument], getattr(Job, choice)
        assert option.opts == [f"--{CHOICES[choice].option}"]
        assert option.default is None
        said = re.search(r"Default (.+)\.$", option.help)
        if default in (None, ()):
            assert said is None
        elif isinstance(default, str):
            assert said[1] == default
        else:
            numbers = default if isinstance(default, tuple) else (default,)
            assert tuple(map(float, said[1].split(","))) == numbers


def test_a_default_that_changes_is_said_everywhere(monkeypatch):
    monkeypatch.setattr(Job, "over_mm", 14.5)
    assert default_words("over_mm") == " Default 14.5."
    assert page.controls()["over_mm"]["default"] == 14.5


def test_batch_lists_command_page_and_cards_take_their_choices_from_the_table():
    assert set(ARGUMENTS.values()) < set(batch_list.options())
    for name, choice in CHOICES.items():
        for word in choice.words:
            assert read_options(batch_list.read_choices({choice.option: word}, where="w")) == {
                name: word
            }
        if choice.words:
            with pytest.raises(InputError, match=f"--{choice.option}"):
                batch_list.read_choices({choice.option: "another"}, where="w")
        if choice.is_offered:
            assert page.CHOICES[name] is choice
    for name, control in page.controls().items():
        if control["kind"] in ("number", "count"):
            assert (control["least"], control["most"]) == (CHOICES[name].least, CHOICES[name].most)
        if control["kind"] == "word":
            assert tuple(word for word, _ in control["words"]) == CHOICES[name].words
    assert tuple(PLACES) == CHOICES["place"].words
    assert set(PAPER_MM) == set(CHOICES["paper"].words)
    warm = CHOICES["shop_temperature_c"]
    assert (warm.least, warm.most) == (cards.SHOP_LOW_C, cards.SHOP_HIGH_C)
