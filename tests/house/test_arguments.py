"""A function of a planning room takes what one can hold in mind: four arguments at most."""

import ast
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "castplan"

ROOMS = ("part", "split", "air", "mould", "bench", "nest", "after")
MOST = 4
# A callable that is told how far the work is: no data.
REPORT = "progress"


def crowded(source):
    """Public functions of a module with more arguments than that, by name."""
    found = []
    for node in ast.parse(source).body:
        if not isinstance(node, ast.FunctionDef) or node.name.startswith("_"):
            continue
        told = node.args
        names = [each.arg for each in (*told.posonlyargs, *told.args, *told.kwonlyargs)]
        many = told.vararg is not None or told.kwarg is not None
        if many or len([name for name in names if name != REPORT]) > MOST:
            found.append(node.name)
    return found


def test_stages_take_four_arguments_at_most():
    modules = [path for room in ROOMS for path in sorted((PACKAGE / room).rglob("*.py"))]
    assert len(modules) > len(ROOMS)
    found = {
        str(path.relative_to(PACKAGE)): names
        for path in modules
        if (names := crowded(path.read_text(encoding="utf-8")))
    }
    assert found == {}


def test_the_test_of_arguments_can_fail():
    source = (
        "def four(a, b, /, c, *, d): ...\n"
        "def reports(a, b, c, d, *, progress=None): ...\n"
        "def five(a, b, c, d, e): ...\n"
        "def options(a, b, *, c=1, d=2, e=3): ...\n"
        "def any_number(*parts): ...\n"
        "def _own(a, b, c, d, e): ...\n"
        "class Record:\n    def method(self, a, b, c, d, e): ...\n"
    )
    assert crowded(source) == ["five", "options", "any_number"]
