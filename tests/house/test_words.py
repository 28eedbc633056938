"""What a user reads is said from the catalogue: no sentence is left in the code.

Planning samples in another language reaches most of what can be said; this
rule reads the source, so that what no sample brings is held to it too.
"""

import ast
import re
from pathlib import Path

from castplan.materials.steps import BASIS
from castplan.model.base import BASES

PACKAGE = Path(__file__).parents[2] / "castplan"

# Modules below castplan that keep no sentence of their own.
HELD = (
    "after/air_causes.py",
    "after/case.py",
    "after/cavity.py",
    "after/clearance.py",
    "after/cure_causes.py",
    "after/diagnose.py",
    "after/learn.py",
    "after/mend.py",
    "after/mould_causes.py",
    "after/places.py",
    "after/remedy.py",
    "after/revise.py",
    "after/size_causes.py",
    "batch/compare.py",
    "batch/digest.py",
    "batch/pot.py",
    "batch/run.py",
    "batch/summary.py",
    "batch/totals.py",
    "materials/cards.py",
    "materials/cautions.py",
    "materials/compat.py",
    "materials/gate.py",
    "materials/steps.py",
    "materials/waste.py",
    "materials/wording.py",
    "mesh/close.py",
    "mesh/directions.py",
    "mesh/flange.py",
    "mesh/heal.py",
    "mesh/health.py",
    "mesh/load.py",
    "output/bench_view.py",
    "output/build_view.py",
    "output/card_view.py",
    "output/cast_view.py",
    "output/clearance_view.py",
    "output/diagnosis_view.py",
    "output/formats.py",
    "output/health_sheet.py",
    "output/health_view.py",
    "output/learn_view.py",
    "output/mix_view.py",
    "output/reading.py",
    "output/revision_view.py",
    "output/sheet_boards.py",
    "output/sheet_build.py",
    "output/sheet_buy.py",
    "output/sheet_card.py",
    "output/sheet_clearance.py",
    "output/sheet_diagnosis.py",
    "output/sheet_labels.py",
    "output/sheet_mix.py",
    "output/sheet_places.py",
    "output/sheet_revision.py",
    "output/sheet_time.py",
    "output/shop_view.py",
    "output/view.py",
    "stages/air.py",
    "stages/air_findings.py",
    "stages/amounts.py",
    "stages/attitude.py",
    "stages/bed.py",
    "stages/bench_findings.py",
    "stages/boards.py",
    "stages/box.py",
    "stages/build_findings.py",
    "stages/buy.py",
    "stages/cases.py",
    "stages/casting.py",
    "stages/compat.py",
    "stages/doubt.py",
    "stages/draft_views.py",
    "stages/draw.py",
    "stages/equipment.py",
    "stages/estimate.py",
    "stages/feed.py",
    "stages/fill.py",
    "stages/findings.py",
    "stages/fit.py",
    "stages/flex.py",
    "stages/gate.py",
    "stages/halves.py",
    "stages/heat.py",
    "stages/holddown.py",
    "stages/keys.py",
    "stages/line.py",
    "stages/mesh_findings.py",
    "stages/mould.py",
    "stages/parting.py",
    "stages/pour_steps.py",
    "stages/pours.py",
    "stages/remedies.py",
    "stages/rocking.py",
    "stages/schedule.py",
    "stages/seam.py",
    "stages/section.py",
    "stages/sketch.py",
    "stages/split_findings.py",
    "stages/surface_maps.py",
    "stages/thin.py",
    "stages/timeline.py",
    "stages/trade.py",
    "stages/undercuts.py",
    "stages/vents.py",
    "stages/water.py",
    "stages/weigh.py",
)
# Codes that have blanks: they are compared, kept in records, or name files.
CODES = {
    *BASES,
    BASIS,
    "inner shell",  # kind of a body
    "times shorter per 10 C warmer",  # a unit
    *("leaves freely", "flexes out", "may tear"),  # verdicts of pockets
    *("nothing holds", "not judged", "no plan"),  # and of parts, with their states
    "pressure pot",  # kind of a vessel
    *("other draw", "loose piece", "clay fill"),  # kinds of remedies
    *("upper half", "lower half"),  # solids, whose names become file names
    *("case upper", "case lower", "box wall {} of 2"),
    *("First half", "Second half", "Resin, one copy"),  # pours
    *("long side", "short side", "wall strip", "base board", "turning board"),
    *("pressure pot", "vacuum chamber"),
    *("along the file's x", "along the file's y", "along the file's z"),
    *("not asked", "may not fit", "does not fit"),  # verdicts of lengths
    *("times the mix", "times shorter per 10 C warmer"),  # units
    *("parts by weight", "parts by volume to 100 of A"),
}
SUMS = re.compile(r"[a-z]+(,[a-z]+)*->[a-z]*")  # subscripts of einsum
TWO_WORDS = re.compile(r"[^\W\d_]{2,}[ ,]+[^\W\d_]{2,}")


def _is_said_or_raised(node):
    if isinstance(node, ast.Raise):
        return True
    if not isinstance(node, ast.Call):
        return False
    name = getattr(node.func, "id", getattr(node.func, "attr", ""))
    return name == "say" or name.endswith("Error")


def _docstring(node):
    first = node.body[0] if node.body else None
    is_text = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
    return first.value if is_text else None


def sentences(source):
    """(line, text) of every text of two words or more that is no code."""
    passed, found = set(), []
    for node in ast.walk(ast.parse(source)):
        if node in passed or _is_said_or_raised(node):
            passed.update(ast.iter_child_nodes(node))
        elif isinstance(node, ast.Module | ast.FunctionDef | ast.ClassDef):
            passed.add(_docstring(node))
        elif isinstance(node, ast.JoinedStr):
            passed.update(part for part in node.values if isinstance(part, ast.Constant))
            parts = (v.value if isinstance(v, ast.Constant) else "{}" for v in node.values)
            found.append((node.lineno, "".join(parts)))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            found.append((node.lineno, node.value))
    found = [(line, text) for line, text in found if text not in CODES and not SUMS.fullmatch(text)]
    return [(line, text) for line, text in found if TWO_WORDS.search(text)]


def test_no_sentence_is_left_in_the_code():
    left = {name: sentences((PACKAGE / name).read_text(encoding="utf-8")) for name in HELD}
    assert {name: texts for name, texts in left.items() if texts} == {}


def test_the_search_for_sentences_can_fail():
    source = '''
"""A module of two words."""

def why(n, verdict):
    """Say why it is so."""
    if verdict == "may tear":
        raise ValueError("no such thing here")
    told = say("topic.key", why="not this one") if n else f"{n} high points"
    return told or "because it is so"
'''
    assert sentences(source) == [(8, "{} high points"), (9, "because it is so")]
