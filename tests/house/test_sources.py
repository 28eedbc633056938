"""Every number says where it comes from, in a kind that can be looked up, or that it cannot.

The kinds stand in ``tests/source_kinds.py``; what was read of data sheets in the file of
evidence beside the cards. How many sheets say a number is held to that file.
"""

import ast
import io
import re
import tokenize
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
import source_kinds as kinds
from source_kinds import KINDS, ROOT, everything, faults_of, kinds_of, typical_of

from castplan.materials.cards import class_cards
from castplan.materials.originals import DENSITIES
from castplan.record import BASES

SOURCES = list(everything())
EVIDENCE = tomllib.loads((ROOT / "castplan" / "materials" / "evidence.toml").read_text("utf-8"))
TESTS = sorted((ROOT / "tests").rglob("test_*.py"))
# Words by which a test file says what its numbers rest on, beside the kinds of source.
MARK = re.compile(
    r"closed form|by hand|invented|regression|worked here|counted|RFC \d|WCAG|GUM|JCGM|"
    r"evidence\.toml|trimesh|manifold3d|scipy|shapely|gudhi|embree|fluids|\bpint\b|"
    r"data sheet|by definition|IEEE \d",
    re.I,
)
# Addresses that a format or a standard has, in what documents and tests say.
FORMATS = re.compile(
    r"(?:schemas\.|www\.)?(?:w3\.org|json-schema\.org|microsoft\.com|openxmlformats\.org|"
    r"openapis\.org|sqlite\.org)\S*|spec\.openapis\.org\S*"
)


# -- cards, verdicts, cautions and said numbers --------------------------------------


def test_every_source_is_of_a_known_kind_and_its_basis_matches():
    groups = {"cards", "verdicts", "cautions", "said_numbers", "chemistries"}
    assert {group for group, *_ in SOURCES} == groups
    found = [(where, text, basis) for _, where, text, basis in SOURCES if faults_of(text, basis)]
    assert found == []


def test_every_basis_has_its_rule():
    assert set(kinds.BASIS) == set(BASES)


def test_densities_of_originals_say_that_they_are_from_memory():
    assert [name for name, one in DENSITIES.items() if faults_of(str(one.source), one.basis)] == []


@pytest.mark.parametrize(
    ("text", "basis"),
    [
        ("makers-pages.com", "common practice"),
        ("suppliers' public pages, read 2026", "common practice"),
        ("a hobby forum; from memory", "from memory"),
        ("logs on hot-cabins.info; from memory", "from memory"),
        ("somebody told it", "common practice"),
        ("handbook value, from memory", "handbook"),
        ("IEC 60945, from memory", "standard"),
        ("common practice, no source", "from memory"),
        ("from memory", "common practice"),
        ("from memory: confirm on the data sheet", "data sheet"),
        ("common practice, no source", "assumed"),
        ("IEC 60945, 55 C", "from memory"),
        ("29 CFR 1910.1000", "assumed"),
    ],
)
def test_the_test_of_sources_can_fail(text, basis):
    assert faults_of(text, basis)


@pytest.mark.parametrize(
    ("text", "basis", "kind"),
    [
        ("ISO 2768-1, table 1", "standard", "standard"),
        ("29 CFR 1910.1000 Table Z-1", "standard", "regulation"),
        ("Roark, 6th ed., Table 26", "handbook", "handbook"),
        ("computed from Rubber Chem. Technol. 76 (2003) 419", "computed", "journal"),
        ("typical of published data sheets for this class, range 1 to 2, 3 read", "data sheet",
         "data sheets of the class"),
        ("common practice, no source", "common practice", "common practice, no source"),
        ("from memory", "from memory", "from memory"),
        ("closed form", "computed", "computed"),
    ],
)  # fmt: skip
def test_allowed_kinds_are_known(text, basis, kind):
    assert faults_of(text, basis) == []
    assert kinds_of(text)[0] == kind and kind in KINDS


# -- the file of evidence -------------------------------------------------------------


def read_of(card, evidence):
    """What was read for a card: of its class, and else of its chemistry."""
    own = [one for one in evidence.values() if card.card_id in one.get("classes", ())]
    return {name: value for one in (evidence.get(card.chemistry, {}), *own)
            for name, value in one.items()}  # fmt: skip


def evidence_faults(cards, evidence):
    """What cards claim to have read and the file of evidence does not hold."""
    found = []
    for card in cards:
        for name, number in card.numbers.items():
            claimed = typical_of(str(number.source))
            if claimed is None:
                continue
            held = read_of(card, evidence).get(name, {})
            said = tuple(held.get(key) for key in ("low", "high", "read"))
            ends = [end for end in (number.low, number.value, number.high) if end is not None]
            if claimed != said or not said[0] <= min(ends) <= max(ends) <= said[1]:
                found.append(f"{card.card_id}.{name}")
            if "unit" in held and held["unit"] != number.unit:
                found.append(f"{card.card_id}.{name} in {number.unit}")
    return found


def test_what_cards_claim_to_have_read_stands_in_the_evidence():
    cards = class_cards().values()
    claims = [n for c in cards for n in c.numbers.values() if typical_of(str(n.source))]
    assert claims and evidence_faults(cards, EVIDENCE) == []


def test_no_number_was_read_on_more_sheets_than_there_are():
    for held in EVIDENCE.values():
        assert held["read"] == len(held["kinds"])
        numbers = [one for one in held.values() if isinstance(one, dict) and "read" in one]
        assert all(1 <= one["read"] <= held["read"] for one in numbers)
        assert all(1 <= n <= held["read"] for n in held.get("stops", {}).values())


def test_every_class_of_the_evidence_is_a_card():
    named = [name for held in EVIDENCE.values() for name in held.get("classes", ())]
    assert len(named) == len(set(named)) and set(named) <= set(class_cards())


def test_the_evidence_names_kinds_and_no_makers():
    words = " ".join(kind for held in EVIDENCE.values() for kind in held["kinds"])
    # A name would stand with a capital; a number of Shore hardness may.
    assert set(re.findall(r"\b[A-Z]\w*", words)) <= {"Shore", "A"}


def test_what_stops_a_cure_is_counted_in_the_evidence():
    stops = EVIDENCE["platinum-cure"]["stops"]
    claimed = {}
    for where, text, basis in kinds.of_verdicts():
        if basis == "data sheet":
            thing, _, chemistry = where.rpartition(".")
            assert chemistry == "platinum-cure"
            claimed[thing] = int(re.search(r"(\d+) read", text)[1])
    assert claimed == stops


def test_the_test_of_evidence_can_fail():
    cards = class_cards().values()
    less = {chemistry: dict(held) for chemistry, held in EVIDENCE.items()}
    less["polyester"]["ratio_b"] = dict(less["polyester"]["ratio_b"], read=3)
    assert evidence_faults(cards, less) == [
        "polyester-casting.ratio_b",
        "polyester-casting-slow.ratio_b",
    ]
    wide = replace(class_cards()["polyester-casting"].ratio_b, high=9.0)
    wider = replace(class_cards()["polyester-casting"], ratio_b=wide)
    assert evidence_faults([wider], EVIDENCE) == ["polyester-casting.ratio_b"]


# -- comments, documents and tests ------------------------------------------------------


def remarks_of(source: str) -> str:
    """Comments and docstrings of a module."""
    told = [
        ast.get_docstring(node) or ""
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Module | ast.FunctionDef | ast.ClassDef)
    ]
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    return " ".join([*told, *(t.string for t in tokens if t.type == tokenize.COMMENT)])


def web_pages(text: str) -> list[str]:
    """Pages of the web that a text names, formats' own addresses left out."""
    text = FORMATS.sub(" ", text)
    return [m[0] for rule in (kinds._HOST, kinds._LOOSE) for m in rule.finditer(text)]


def written():
    """(path, what it says) of modules, tests, documents and reference files."""
    for path in sorted(ROOT.rglob("*.py")):
        if path != Path(__file__) and path.name != "source_kinds.py":
            yield path, remarks_of(path.read_text("utf-8"))
    for path in [ROOT / "SAFETY.md", ROOT / "DEVELOPERS.md", *(ROOT / "tests").rglob("*.json")]:
        yield path, path.read_text("utf-8")


def test_nothing_rests_on_a_page_of_the_web():
    found = {str(path.relative_to(ROOT)): pages for path, told in written()
             if (pages := web_pages(told))}  # fmt: skip
    assert found == {}


def is_telling(node) -> bool:
    """Whether a literal says a number that somebody must have had from somewhere: two digits."""
    if not isinstance(node, ast.Constant) or isinstance(node.value, bool | str | bytes):
        return False
    if not isinstance(node.value, int | float):
        return False
    return len(f"{abs(node.value):.12g}".replace(".", "").strip("0")) >= 2


def has_outside_value(source: str) -> bool:
    """Whether a check of a module compares with such a literal."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "approx":
            found += [each for arg in node.args[:1] for each in ast.walk(arg)]
        elif isinstance(node, ast.Compare):
            found += [node.left, *node.comparators]
    return any(map(is_telling, found))


def is_marked(told: str) -> bool:
    """Whether remarks say what a number rests on."""
    return bool(MARK.search(told) or kinds_of(told))


def unmarked(source: str) -> list[str]:
    """Checks against an outside value that neither they nor their module say a source of."""
    tree = ast.parse(source)
    if is_marked(ast.get_docstring(tree) or ""):
        return []
    lines, found = source.split("\n"), []
    for node in tree.body:
        first = min([node.lineno, *(each.lineno for each in getattr(node, "decorator_list", ()))])
        while first > 1 and lines[first - 2].startswith("#"):
            first -= 1
        own = "\n".join(lines[first - 1 : node.end_lineno])
        if has_outside_value(own) and not is_marked(remarks_of(own)):
            found.append(getattr(node, "name", f"line {node.lineno}"))
    return found


@pytest.mark.parametrize("path", TESTS, ids=lambda path: path.stem)
def test_a_test_says_where_its_numbers_come_from(path):
    assert unmarked(path.read_text("utf-8")) == []


@pytest.mark.parametrize(
    "source",
    [
        '"""Walls."""\n\n\ndef test_a():\n    assert wall() == 12.5\n',
        "def test_a():\n    # Taken from the shop.\n    assert mass == pytest.approx(84.2)\n",
        '"""Of 1.08 g/ml."""\n\n\ndef test_a():\n    assert x > 1.08\n',
    ],
)
def test_the_test_of_tests_can_fail(source):
    assert unmarked(source) == ["test_a"]
    assert unmarked(source.rstrip() + "  # ISO 291\n") == []
    assert unmarked('"""By closed forms."""\n' + source) == []
    other = "\n\ndef test_b():\n    # Closed form.\n    assert y == 7.25\n"
    assert unmarked(source + other) == ["test_a"]


def test_a_number_of_one_digit_asks_for_no_source():
    assert not has_outside_value("assert n == 3\nassert m == 0.5\nassert k == 100\n")


@pytest.mark.parametrize(
    "words", ["as example-shop.com says", "a blog, 2011", "suppliers' public pages"]
)
def test_the_test_of_pages_can_fail(words):
    assert web_pages(words)
    assert web_pages("http://www.w3.org/2000/svg") == []
