"""Imports run downward only, wherever in a file they stand."""

import ast
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "castplan"

# From the top. Names on one line are siblings, which never import each other. A
# dotted name is a part of its package with a layer of its own: the records of a room.
LAYERS = (
    ("__main__",),
    ("cli",),
    ("page", "batch"),
    ("door",),
    ("files",),
    ("paper", "view", "pictures"),
    ("step_pictures",),
    ("words",),
    ("planning", "after"),
    ("nest",),
    ("kinds",),
    ("offers",),
    # The planning rooms read the records of those before them, never their stages.
    ("bench", "mould", "air", "split"),
    ("part",),
    ("geometry", "materials"),
    ("columns", "memory", "records"),
    ("view.records", "plan_record"),
    ("after.records",),
    ("nest.records",),
    ("bench.records",),
    ("mould.records",),
    ("air.records",),
    ("split.records",),
    ("part.records",),
    ("job",),
    ("record", "choices"),
    ("checks",),
    ("units", "errors", "texts", "palette", "machine", "_arrays", "_frozen"),
    ("ordinary",),
    ("__init__",),
)
RANK = {name: rank for rank, names in enumerate(LAYERS) for name in names}


def layer_of(name):
    """The layer's name a module stands under: the longest that begins it."""
    words = name.split(".")
    return next((top for k in range(len(words), 0, -1) if (top := ".".join(words[:k])) in RANK), "")


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
        top = layer_of(name)
        for other in sorted(imported):
            other_top = layer_of(other)
            # Inside a package modules may use each other without a circle.
            inside = top == other_top != ""
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
    assert {"cli", "planning", "split.records", "part.load", "columns.field"} <= set(sources)
    assert find_violations(sources) == []


def test_every_module_has_its_layer():
    assert {name for name in read_package() if not layer_of(name)} == set()


def test_the_layer_test_can_fail():
    sources = {
        "__init__": "__version__ = '0'",
        "units": "from castplan.errors import InputError",
        "errors": "def f():\n    import castplan.records",
        "records": "from castplan import __version__",
        "columns.field": "from castplan.columns import raster\nfrom castplan.records import Part",
        "columns.raster": "from castplan.columns.field import sample",
        "part.load": "from castplan.split.draw import find_draw",
        "materials.cards": "from castplan import units",
        "split.records": "from castplan.air.records import Peak",
        "split.draw": "from castplan.part.load import load_part\nfrom . import air",
        "air.records": "from castplan.record import record",
        "air.fill": "class A:\n    def f(self):\n        from castplan.split import draw",
        "air.feed": "from castplan.split.records import Pocket",
        "record": "",
        "planning": "import castplan.words.plan",
        "words.plan": "from castplan.planning import build_plan",
        "cli": "from castplan.words import plan",
        "newcomer": "from castplan.units import MM_PER_INCH",
    }
    assert find_violations(sources) == [
        "units -> errors",
        "errors -> records",
        "columns.field -> columns.raster",
        "columns.field -> records",
        "columns.raster -> columns.field",
        "part.load -> split.draw",
        "split.records -> air.records",
        "split.draw -> relative",
        "air.fill -> split.draw",
        "planning -> words.plan",
        "newcomer -> units",
    ]
