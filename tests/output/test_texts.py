"""Every word on the sheets comes out of the catalogue, the plan or the shop.

A catalogue in which every letter is Greek is spoken; a Latin word that is
then left on a sheet is one that no translation could reach.
"""

import ast
import re
from pathlib import Path

import pytest
from output.greek import GREEK, greek_catalogue, told_in_greek
from output.left_english import latin
from output.plan_variants import VARIANTS

from castplan import texts
from castplan.materials.cards import load_cards
from castplan.paper.paper import Sheet
from castplan.paper.sheet_wall import wall_pages
from castplan.paper.sheets import build_sheets
from castplan.words import page_texts

PACKAGE = Path(__file__).parents[2] / "castplan"


def own_words(plan):
    """Single words that the shop or a stage gave as names."""
    named = [plan.bench.heat.place or "", plan.bench.buy.currency]
    named += [line.name for line in plan.bench.fit.lines]
    named += [pack.name for line in plan.bench.buy.lines for pack, _ in line.packs]
    named += [str(line.used) for line in plan.bench.compat.lines]
    return {word for name in named for word in re.findall(r"[A-Za-z]{2,}", name)}


def latin_words(sheets, own=frozenset()):
    """(sheet, word) of what no translation could reach."""
    found = set()
    for sheet in sheets:
        told = " ".join([sheet.title, *(text.text for text in sheet.texts)])
        found |= {(sheet.title.translate(GREEK), word) for word in latin(told, own)}
    return sorted(found)


@pytest.fixture
def greek():
    texts.use(greek_catalogue())
    yield
    texts.use({})


NAMES = ["as made", "Letter", "one vent", "nothing to open, nothing found", "many tiles"]
NAMES += ["tilted split", "stepped split", "following split", "40 copies", "no steps"]


@pytest.mark.parametrize("name", NAMES)
def test_every_word_of_the_sheets_can_be_translated(greek, name):
    plan = told_in_greek(VARIANTS[name])
    assert latin_words(build_sheets(plan), own_words(VARIANTS[name])) == []


def test_every_word_of_the_wall_sheets_can_be_translated(greek):
    cards = list(load_cards().values())
    pages = wall_pages(cards, paper_name="A4")
    assert latin_words(pages) == []


def test_the_search_for_latin_words_can_fail(greek):
    assert latin_words([]) == []
    sheet = Sheet("A4", title="Τιτλε")
    sheet.text(20, 100, "Στεπ 3: turn it over, 12 mm")
    assert [word for _, word in latin_words([sheet])] == ["it", "over", "turn"]


# -- the catalogue --------------------------------------------------------------


def keys_in(source):
    """Keys that a module names, and patterns of those that it puts together."""
    keys, patterns = set(), []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            keys.add(node.value)
        if isinstance(node, ast.JoinedStr):
            parts = (
                re.escape(v.value) if isinstance(v, ast.Constant) else "[a-z0-9_]*"
                for v in node.values
            )
            patterns.append("".join(parts))
        if is_finding(node):
            found, made = keys_in(ast.unparse(node.args[3]))
            keys |= {f"{key}_do" for key in found}
            patterns += [f"{pattern}_do" for pattern in made]
    return keys, [pattern for pattern in patterns if re.match(r"[a-z_]+\\\.", pattern)]


def is_finding(node):
    """Whether a call makes a finding of its key, and of that with ``_do`` behind it."""
    is_made = isinstance(node, ast.Call) and getattr(node.func, "id", "") == "finding"
    return is_made and not any(told.arg == "do" for told in node.keywords)


def said_in(source):
    """Keys that are said outright."""
    made = {
        node.args[3].value
        for node in ast.walk(ast.parse(source))
        if is_finding(node) and isinstance(node.args[3], ast.Constant)
    }
    return made.union(f"{key}_do" for key in made) | {
        node.args[0].value
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and getattr(node.func, "id", "") in ("say", "tell", "_said")
        and isinstance(node.args[0], ast.Constant)
    }


def said_in_script(source):
    """Keys that a script of a page says outright."""
    return set(re.findall(r"""(?<![.\w])say\(["']([^"']+)["']""", source))


def package_sources(kind="py"):
    return [path.read_text(encoding="utf-8") for path in sorted(PACKAGE.rglob(f"*.{kind}"))]


def fields_said_in(source):
    """(key, fields) of every text that is said outright with fields by name."""
    for node in ast.walk(ast.parse(source)):
        if (
            isinstance(node, ast.Call)
            and getattr(node.func, "id", "") in ("say", "tell")
            and isinstance(node.args[0], ast.Constant)
            and all(field.arg for field in node.keywords)
        ):
            yield node.args[0].value, {field.arg for field in node.keywords}


def test_every_text_gets_its_fields_and_no_others():
    wrong = []
    for source in package_sources():
        for key, given in fields_said_in(source):
            entry = texts.english()[key]
            wanted = {name for name in texts.fields_of(entry) if name[:2] != texts.OPTION}
            wanted |= {"n"} if isinstance(entry, dict) else set()
            wrong += [(key, sorted(given ^ wanted))] if given != wanted else []
    assert wrong == []


def test_the_search_for_fields_can_fail():
    source = "say('a.b', c=1, d=2), say(key, e=3), say('f.g', **told), say('h.i')"
    assert list(fields_said_in(source)) == [("a.b", {"c", "d"}), ("h.i", set())]


def keys_in_markup(markup):
    """Keys that a page's markup names; what it puts in itself is in capitals."""
    return {key for key in re.findall(r"\{\{([^}]+)\}\}", markup) if not key.isupper()}


def test_every_text_is_said_and_every_key_is_there():
    keys, patterns, said = set(), [], set()
    for source in package_sources():
        found, made = keys_in(source)
        keys |= found
        patterns += made
        said |= said_in(source)
    for script in package_sources("js"):
        keys |= set(page_texts.keys_in_script(script))
        said |= said_in_script(script)
    for markup in package_sources("html"):
        keys |= keys_in_markup(markup)
        said |= keys_in_markup(markup)
    known = set(texts.english())
    assert said - known == set()
    unused = {key for key in known - keys if not any(re.fullmatch(p, key) for p in patterns)}
    assert unused == set()


def test_a_translation_may_leave_out_and_turn_round():
    page = {"foot.page": "{pages} Seiten, dies ist {page}"}
    texts.use(page)
    try:
        assert texts.say("foot.page", page=3, pages=28) == "28 Seiten, dies ist 3"
        assert texts.say("count.vent", n=2, number=2) == "2 vents"
    finally:
        texts.use({})
    assert texts.say("foot.page", page=3, pages=28) == "page 3 of 28"


@pytest.mark.parametrize(
    ("catalogue", "what"),
    [
        ({"foot.pages": "Seite"}, "foot.pages: there is no such text"),
        ({"foot.page": "Seite {seite}"}, "foot.page: there is no field 'seite'"),
        ({"count.vent": "{number} Luftloch"}, "count.vent: one text or two forms"),
        ({"count.vent": {"one": "1"}}, "count.vent: its forms are one and other"),
        ({"foot.page": {"one": "a", "other": "b"}}, "foot.page: one text or two forms"),
        ({"foot.page": 3}, "foot.page: one text or two forms"),
    ],
)
def test_a_translation_that_does_not_fit_is_refused(catalogue, what):
    with pytest.raises(ValueError, match=re.escape(what)):
        texts.use(catalogue)
