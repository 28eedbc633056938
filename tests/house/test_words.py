"""What a user reads is said from the catalogue: no sentence is left in the code.

Planning samples in another language reaches most of what can be said; this
rule reads the source, so that what no sample brings is held to it too.
"""

import ast
import re
from pathlib import Path

from castplan.record import BASES

PACKAGE = Path(__file__).parents[2] / "castplan"

# Below castplan: all that puts words on paper, view and page.
HELD = (
    "after",
    "air",
    "batch",
    "bench",
    "columns",
    "files",
    "geometry",
    "materials",
    "mould",
    "nest",
    "page",
    "paper",
    "part",
    "pictures",
    "planning.py",
    "record.py",
    "records.py",
    "split",
    "step_pictures",
    "view",
    "words",
)
# What a refusal says, what the terminal says, and what a program reads is no text
# of the catalogue.
PASSED = {
    "batch/cluster.py": "words of a refusal",
    "batch/store.py": "words of a refusal",
    "materials/folder.py": "words of a refusal",
    "materials/originals.py": "told in the terminal",
    "materials/sheet.py": "words of a refusal",
    "materials/sheet_entries.py": "words of a refusal",
    "materials/shop.py": "the shop file that a shop begins with",
    "part/read.py": "words of a refusal",
    "part/refuse.py": "words of a refusal",
    "part/step.py": "a program that a child runs",
    "files/cast_file.py": "words of a refusal",
    "view/page.py": "the rule of what a page may load",
    "files/write.py": "words of a refusal",
    "page/answers.py": "words of a refusal",
    "page/api.py": "words of a refusal",
    "page/document.py": "the interface, for who writes programs",
    "page/operations.py": "the interface, for who writes programs",
    "page/guard.py": "a header",
    "page/forms.py": "statements of the database",
    "page/store.py": "statements of the database",
}
# A refusal, as it reads everywhere.
REFUSAL = re.compile(r"\bfound\b.*\bneed\b", re.DOTALL)
# Codes that have blanks: they are compared, kept in records, or name files.
CODES = {
    *BASES,
    "inner shell",  # kind of a body
    "times shorter per 10 C warmer",  # a unit
    *("leaves freely", "flexes out", "may tear"),  # verdicts of pockets
    *("nothing holds", "not judged", "no plan"),  # and of parts, with their states
    "pressure pot",  # kind of a vessel
    *("other draw", "loose piece", "clay fill", "clay up"),  # kinds of remedies
    *(
        "upper half",
        "lower half",
        "upper lip",
        "lower lip",
    ),  # solids, whose names become file names
    *("case upper", "case lower", "box wall {} of 2"),
    *("Loose pieces", "First half", "Second half", "Resin, one copy"),  # pours
    *("long side", "short side", "wall strip", "base board", "turning board"),
    *("pressure pot", "vacuum chamber"),
    *("along the file's x", "along the file's y", "along the file's z"),
    *("not asked", "may not fit", "does not fit"),  # verdicts of lengths
    *("times the mix", "times shorter per 10 C warmer"),  # units
    *("parts by weight", "parts by volume to 100 of A"),
    "upper left",  # a corner, as matplotlib calls it
}
TWO_WORDS = re.compile(r"[^\W\d_]{2,},? [^\W\d_]{2,}")
# Markup, and those attributes of it that are read out.
TAGS = re.compile(r"<[^>]*>")
LABELS = re.compile(r'\b(?:aria-label|title|alt|placeholder)="([^"]*)"')


DOCUMENTED = ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef


def _is_said_or_raised(node):
    if isinstance(node, ast.Raise):
        return True
    if not isinstance(node, ast.Call):
        return False
    name = getattr(node.func, "id", getattr(node.func, "attr", ""))
    return name == "say" or name.endswith(("Error", "Conflict"))


def _docstring(node):
    first = node.body[0] if node.body else None
    is_text = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
    return first.value if is_text else None


def _seen(text):
    """What a reader sees of a text that may be markup."""
    return [TAGS.sub("\n", text), *LABELS.findall(text)]


def held_modules():
    """Paths of the modules of `HELD`, by their names."""
    for name in HELD:
        path = PACKAGE / name
        for file in [path] if path.suffix else sorted(path.rglob("*.py")):
            yield file.relative_to(PACKAGE).as_posix(), file


def sentences(source):
    """(line, text) of every text of two words or more that is no code."""
    passed, found = set(), []
    for node in ast.walk(ast.parse(source)):
        if node in passed or _is_said_or_raised(node):
            passed.update(ast.iter_child_nodes(node))
        elif isinstance(node, DOCUMENTED):
            passed.add(_docstring(node))
        elif isinstance(node, ast.JoinedStr):
            passed.update(part for part in node.values if isinstance(part, ast.Constant))
            parts = (v.value if isinstance(v, ast.Constant) else "{}" for v in node.values)
            found.append((node.lineno, "".join(parts)))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            found.append((node.lineno, node.value))
    return [
        (line, text)
        for line, text in found
        if text not in CODES
        and not REFUSAL.search(text)
        and any(TWO_WORDS.search(part) for part in _seen(text))
    ]


def test_no_sentence_is_left_in_the_code():
    left = {
        name: sentences(path.read_text(encoding="utf-8"))
        for name, path in held_modules()
        if name not in PASSED
    }
    assert len(left) > 100
    assert {name: texts for name, texts in left.items() if texts} == {}


def test_the_search_for_sentences_can_fail():
    source = '''
"""A module of two words."""

def why(n, verdict):
    """Say why it is so."""
    if verdict == "may tear":
        raise ValueError("no such thing here")
    told = say("topic.key", why="not this one") if n else f"{n} high points"
    shown = f'<p class="a b">{told}</p><i title="more of it"></i>', '<p class="a b">{}</p>'
    return told or "because it is so"
'''
    assert [line for line, _ in sentences(source)] == [8, 9, 10]


def test_what_is_passed_is_there_and_needs_it():
    for name, path in held_modules():
        if name in PASSED:
            assert sentences(path.read_text(encoding="utf-8")) != [], name
    assert set(PASSED) <= {name for name, _ in held_modules()}
