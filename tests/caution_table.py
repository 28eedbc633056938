"""Which caution stands beside which step of the samples: ``python tests/caution_table.py``.

Rows are kinds of step in the order of the work, columns the samples with the materials that a
job has by default; behind the name stands which kind of mould was planned.
"""

import sys
import tomllib
from pathlib import Path

from castplan.job import Job
from castplan.part.load import load_part
from castplan.planning import build_plan

SAMPLES = Path(__file__).parents[1] / "sample_parts"


def cautions_of(name: str) -> tuple[str, dict[str, tuple[str, ...]]]:
    """The mould of a sample in words, and for each kind of step its cautions in their order.

    Parameters
    ----------
    name : str
        Of a file in ``sample_parts``, without its ending.
    """
    unit = tomllib.loads((SAMPLES / f"{name}.toml").read_text("utf-8"))["units"]
    plan = build_plan(load_part(SAMPLES / f"{name}.stl", unit=unit), Job())
    stands: dict[str, tuple[str, ...]] = {}
    for step in plan.bench.schedule.steps:
        stands[step.kind] = tuple(dict.fromkeys((*stands.get(step.kind, ()), *step.cautions)))
    steps = plan.bench.schedule.steps
    n_cautions = sum(len(step.cautions) for step in steps)
    return f"{plan.split.kind}: {len(steps)} steps, {n_cautions} cautions", stands


def table(names) -> str:
    """The table in Markdown: one row per kind of step and set of samples with the same cautions."""
    told = {name: cautions_of(name) for name in names}
    kinds = dict.fromkeys(kind for _, stands in told.values() for kind in stands)
    lines = ["| step | cautions | where |", "|---|---|---|"]
    for kind in kinds:
        having = {name: stands[kind] for name, (_, stands) in told.items() if kind in stands}
        for cautions in dict.fromkeys(having.values()):
            where = [name for name, each in having.items() if each == cautions]
            places = "all" if len(where) == len(told) else ", ".join(where)
            lines.append(f"| {kind} | {', '.join(cautions) or '-'} | {places} |")
    heads = [f"{name} ({mould})" for name, (mould, _) in told.items()]
    return "\n".join([*heads, "", *lines])


if __name__ == "__main__":
    print(table(sys.argv[1:] or sorted(path.stem for path in SAMPLES.glob("*.stl"))))
