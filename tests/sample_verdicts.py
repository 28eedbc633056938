"""What is held against the samples' committed verdicts, and how far it may move.

    python tests/sample_verdicts.py

writes ``tests/reference/sample_verdicts.json`` anew. Look at what changed before
committing it: the file is a record of the program's own answers, not a truth;
what the samples hold is in their cards, in closed form.
"""

import json
from pathlib import Path

from castplan.batch.digest import digest_of
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Job

HOME = Path(__file__).parents[1]
SAMPLES = sorted((HOME / "sample_parts").glob("*.stl"))
REFERENCE = HOME / "tests" / "reference" / "sample_verdicts.json"
# The same in words: these decide what the shop does.
EXACT = ("verdict", "split")
# Field: by how much it may move, as a share and in its unit; the larger counts.
# The part's volume is the mesh's own. Amounts follow box and gate, which may move
# by a millimetre or a step of the box; undercuts settle slowly with the pitch.
TOLERANCES = {
    "part_ml": (1e-3, 0.0),
    "trapped_ml": (0.1, 0.02),
    "n_vents": (0.0, 1),
    "silicone_g": (0.05, 0.0),
    "resin_g": (0.05, 0.0),
}


def verdicts_of(path: Path) -> dict:
    """What a sample's plan comes to, with every choice left to castplan."""
    told = digest_of(build_plan(load_part(path, unit="mm"), Job()))
    kept = {name: told[name] for name in (*EXACT, *TOLERANCES)}
    return kept | {"pockets": sorted(pocket["verdict"] for pocket in told["pockets"])}


def changes(name: str, before: dict, after: dict) -> list[str]:
    """What moved further than it may, one line each."""
    lines = []
    for field in (*EXACT, "pockets"):
        if before[field] != after[field]:
            lines.append(f"{name} {field}: {before[field]} -> {after[field]}")
    for field, (share, least) in TOLERANCES.items():
        if abs(after[field] - before[field]) > max(share * abs(before[field]), least):
            lines.append(f"{name} {field}: {before[field]} -> {after[field]}")
    return lines


def main() -> None:
    """Write the file, and say what moved."""
    before = json.loads(REFERENCE.read_text("utf-8")) if REFERENCE.exists() else {}
    after = {path.stem: verdicts_of(path) for path in SAMPLES}
    for name, told in after.items():
        for line in changes(name, before[name], told) if name in before else [f"{name}: new"]:
            print(line)
    REFERENCE.write_text(json.dumps(after, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
