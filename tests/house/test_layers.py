"""Imports run downward only, wherever in a file they stand."""

import ast
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "castplan"

# From the top. Names on one line are siblings, which never import each other.
# Inside a package modules may use each other without a circle; the stages not
# at all: each takes records and returns one.
LAYERS = (
    ("__main__",),
    ("cli",),
    ("web", "batch"),
    ("output",),
    ("scene",),
    ("plan", "after"),
    ("stages",),
    ("mesh", "materials"),
    ("columns", "model"),
    ("units", "errors", "texts", "_arrays"),
    ("__init__",),
)
RANK = {name: rank for rank, names in enumerate(LAYERS) for name in names}
LONERS = {"stages"}


def read_package():
    """Source by dotted name below castplan; a package's own file is its name."""
    sources = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        if parts[-1] == "__init__" and len(parts) > 1:
            parts = parts[:-1]
        sources[".".join(parts)] = path.read_text(encoding="utf-8")
    return sources


def imports_of(name, source, known):
    """Modules below castplan that `source` imports, anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            wanted = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level:
            wanted = ["castplan.relative"]  # refused below: not one of the layers
        elif isinstance(node, ast.ImportFrom):
            wanted = [f"{node.module}.{alias.name}" for alias in node.names]
        else:
            continue
        for dotted in wanted:
            first, _, rest = dotted.partition(".")
            if first != "castplan":
                continue
            while rest and rest not in known and rest.rpartition(".")[0]:
                rest = rest.rpartition(".")[0]
            if rest in known:
                found.add(rest)
            else:  # a name of castplan itself, or nothing that exists
                found.add("__init__" if rest in ("", "__version__") else rest)
    return found - {name}


def find_violations(sources):
    """Every import that the layers forbid, as ``importer -> imported``."""
    graph = {name: imports_of(name, source, sources) for name, source in sources.items()}
    bad = []
    for name, imported in graph.items():
        top = name.split(".")[0]
        for other in sorted(imported):
            other_top = other.split(".")[0]
            inside = top == other_top and top not in LONERS
            downward = RANK.get(top, len(LAYERS)) < RANK.get(other_top, -1)
            circle = inside and name in reachable(graph, other)
            if circle or not (inside or downward):
                bad.append(f"{name} -> {other}")
    return bad


def reachable(graph, start):
    """Modules that `start` comes to import, itself among them."""
    seen, waiting = set(), [start]
    while waiting:
        name = waiting.pop()
        if name not in seen:
            seen.add(name)
            waiting += graph.get(name, ())
    return seen


def test_imports_run_downward():
    sources = read_package()
    assert {"cli", "plan", "model", "mesh.load", "columns.field"} <= set(sources)
    assert find_violations(sources) == []


def test_every_module_has_its_layer():
    assert {name.split(".")[0] for name in read_package()} <= set(RANK)


def test_the_layer_test_can_fail():
    sources = {
        "__init__": "__version__ = '0'",
        "units": "from castplan.errors import InputError",
        "errors": "def f():\n    import castplan.model",
        "model": "from castplan import __version__",
        "columns.field": "from castplan.columns import raster\nfrom castplan.model import Part",
        "columns.raster": "from castplan.columns.field import sample",
        "mesh.load": "from castplan.materials.cards import get_card",
        "materials.cards": "from castplan import units",
        "stages.air": "class A:\n    def f(self):\n        from castplan.stages import draw",
        "stages.draw": "from castplan.mesh.load import load_part\nfrom . import air",
        "plan": "import castplan.output.view",
        "output.view": "from castplan.plan import build_plan",
        "cli": "from castplan.output import view",
        "newcomer": "from castplan.units import MM_PER_INCH",
    }
    assert find_violations(sources) == [
        "units -> errors",
        "errors -> model",
        "columns.field -> columns.raster",
        "columns.field -> model",
        "columns.raster -> columns.field",
        "mesh.load -> materials.cards",
        "stages.air -> stages.draw",
        "stages.draw -> relative",
        "plan -> output.view",
        "newcomer -> units",
    ]
