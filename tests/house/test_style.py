"""Docstrings, keyword-only scalars, names that do not cross modules, file length."""

import ast
from pathlib import Path

import pytest

HOME = Path(__file__).parents[2]
PACKAGE = HOME / "castplan"
MAX_LINES = 400

NUMBERS = {"int", "float", "bool"}
# Where on a sheet or a grid something goes: a pair in the usual order.
PLACES = {"x", "y", "x0", "y0", "x1", "y1", "row", "column"}
# Conversions of one number; options that the command line names.
MAY_TAKE_NUMBERS = {"units", "cli"}
HEADING = "Parameters\n----------\n"


def python_files():
    """Every Python file of the package and its tests."""
    return sorted([*PACKAGE.rglob("*.py"), *(HOME / "tests").rglob("*.py")])


def public_definitions(tree):
    """Public functions and classes of a module, and public methods of those classes."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node.name, node
            if isinstance(node, ast.ClassDef):
                for item in node.body:
                    if isinstance(item, ast.FunctionDef) and not item.name.startswith("_"):
                        yield f"{node.name}.{item.name}", item


def missing_docstrings(source, name):
    """The module or its public definitions that say nothing."""
    tree = ast.parse(source)
    bad = [] if ast.get_docstring(tree) or not tree.body else [name]
    return bad + [
        f"{name}.{label}" for label, node in public_definitions(tree) if not ast.get_docstring(node)
    ]


def plain_types(annotation):
    """The type names in an annotation such as ``float | None``."""
    if annotation is None:
        return set()
    return {node.id for node in ast.walk(annotation) if isinstance(node, ast.Name)} | {
        "None" for node in ast.walk(annotation) if isinstance(node, ast.Constant)
    }


def positional_numbers(source, name):
    """Numbers and switches of public functions that could be given in the wrong place.

    The first argument is what the function is about, and may be anything.
    """
    if name.split(".")[0] in MAY_TAKE_NUMBERS:
        return []
    bad = []
    for label, node in public_definitions(ast.parse(source)):
        if not isinstance(node, ast.FunctionDef):
            continue
        places = [*node.args.posonlyargs, *node.args.args]
        if places and places[0].arg in ("self", "cls"):
            places = places[1:]
        for argument in places[1:]:
            types = plain_types(argument.annotation)
            is_number = types & NUMBERS and types <= NUMBERS | {"None"}
            if is_number and argument.arg not in PLACES:
                bad.append(f"{name}.{label}({argument.arg})")
    return bad


def misnamed_arguments(source, name):
    """Names in a numpydoc "Parameters" section that the signature lacks."""
    bad = []
    for label, node in public_definitions(ast.parse(source)):
        text = ast.get_docstring(node) if isinstance(node, ast.FunctionDef) else None
        if HEADING not in (text or ""):
            continue
        section = text.split(HEADING)[1].split("\n\n")
        # Entries start at the margin; "name : type", or "a, b : type".
        lines = "\n".join(section[: section_end(section)]).splitlines()
        named = {
            word.strip()
            for line in lines
            if line and not line.startswith(" ") and " : " in line
            for word in line.split(" : ")[0].split(",")
        }
        arguments = node.args.posonlyargs + node.args.args + node.args.kwonlyargs
        taken = {argument.arg for argument in arguments} - {"self", "cls"}
        bad += [f"{name}.{label}: {word}" for word in sorted(named - taken)]
    return bad


def section_end(paragraphs):
    """How many paragraphs a docstring's section spans."""
    for place, paragraph in enumerate(paragraphs):
        lines = paragraph.splitlines()
        if len(lines) > 1 and set(lines[1]) == {"-"}:
            return place
    return len(paragraphs)


def borrowed_names(source, name):
    """Names with an underscore taken from another module of castplan."""
    bad = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("castplan."):
            bad += [
                f"{name}: {node.module}.{alias.name}"
                for alias in node.names
                if alias.name.startswith("_")
            ]
    return bad


RULES = (missing_docstrings, positional_numbers, misnamed_arguments, borrowed_names)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_the_package_keeps(rule):
    files = sorted(PACKAGE.rglob("*.py"))
    assert len(files) > 10
    bad = []
    for path in files:
        name = ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
        bad += rule(path.read_text(encoding="utf-8"), name)
    assert bad == []


WRONG = {
    missing_docstrings: (
        'def area_mm2(): pass\nclass Box:\n    """Box."""\n    def open(self): pass\n',
        ["m", "m.area_mm2", "m.Box.open"],
    ),
    positional_numbers: (
        "def area_mm2(points, n: int, side_mm: float | None = None, *, pitch_mm: float): pass\n"
        "def half(length_mm: float, x: float, name: str): pass\n",
        ["m.area_mm2(n)", "m.area_mm2(side_mm)"],
    ),
    misnamed_arguments: (
        'def area_mm2(points, *, pitch_mm, wall_mm):\n    """Area.\n\n    Parameters\n'
        "    ----------\n    points : (n, 2)\n\n    pitch : float\n        Of what.\n    wall_mm"
        ' : float\n\n    Returns\n    -------\n    area_mm2 : float\n    """\n',
        ["m.area_mm2: pitch"],
    ),
    borrowed_names: (
        "def f():\n    from castplan.columns.gaps import _find_root, Gaps\n",
        ["m: castplan.columns.gaps._find_root"],
    ),
}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_each_rule_can_fail(rule):
    source, expected = WRONG[rule]
    assert rule(source, "m") == expected


def too_long(files):
    """Files beyond the limit, with their length."""
    lengths = {path.name: len(path.read_text(encoding="utf-8").splitlines()) for path in files}
    return {name: length for name, length in lengths.items() if length > MAX_LINES}


def test_no_file_is_too_long_to_read():
    assert too_long(python_files()) == {}


def test_the_length_test_can_fail(tmp_path):
    (tmp_path / "long.py").write_text("pass\n" * (MAX_LINES + 1))
    (tmp_path / "fits.py").write_text("pass\n" * MAX_LINES)
    assert too_long(tmp_path.iterdir()) == {"long.py": MAX_LINES + 1}
