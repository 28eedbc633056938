"""Which verdicts differ between two result folders, and the numbers behind it."""

import math
from dataclasses import dataclass

from castplan.batch.store import Entry
from castplan.batch.summary import state_of
from castplan.materials.wording import weight_text
from castplan.output import formats, view

# What the shop acts on: another one of these is another verdict.
_VERDICT_FIELDS = ("verdict", "split")
# Two draws within this are the same draw.
_DRAW_DEG = 5.0
# Numbers named where a verdict changed, if they moved by more than this.
_MOVED_FRACTION = 0.01
_NUMBERS = {
    "trapped_ml": ("undercut", lambda value: formats.trapped_text(1000 * value)),
    "n_vents": ("vents", str),
    "silicone_g": ("silicone", lambda value: f"{weight_text(value)} [c]"),
    "resin_g": ("resin", lambda value: f"{weight_text(value)} [c]"),
}


@dataclass(frozen=True, kw_only=True)
class Change:
    """One part whose verdict differs: from what to what, and why."""

    name: str
    before: str
    after: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """All changes, parts that only one side has, and how many verdicts stand."""

    changes: tuple[Change, ...]
    only_before: tuple[str, ...]
    only_after: tuple[str, ...]
    n_same: int

    @property
    def is_same(self) -> bool:
        """Whether both sides hold the same parts with the same verdicts."""
        return not (self.changes or self.only_before or self.only_after)


def compare(before: list[Entry], after: list[Entry]) -> Comparison:
    """Hold two runs against each other, part by part.

    Parameters
    ----------
    before, after : list of Entry

    Returns
    -------
    Comparison
        In the order of their names.
    """
    old, new = ({entry.name: entry for entry in side} for side in (before, after))
    both = sorted(old.keys() & new.keys())
    changes = tuple(
        Change(
            name=name,
            before=verdict_text(old[name]),
            after=verdict_text(new[name]),
            reasons=tuple(_reasons(old[name], new[name])),
        )
        for name in both
        if verdict_text(old[name]) != verdict_text(new[name])
    )
    return Comparison(
        changes=changes,
        only_before=tuple(sorted(old.keys() - new.keys())),
        only_after=tuple(sorted(new.keys() - old.keys())),
        n_same=len(both) - len(changes),
    )


def verdict_text(entry: Entry) -> str:
    """The verdict in words: ``ready, nothing holds, level split``."""
    if not entry.is_planned:
        return f"no plan ({entry.status})"
    verdict, split = (entry.digest[name] for name in _VERDICT_FIELDS)
    return f"{state_of(entry)}, {verdict}, {split} split"


def _reasons(old, new):
    if old.mesh_sha256 != new.mesh_sha256:
        yield "the mesh is another"
    yield from _choices(old.choices, new.choices)
    if old.version != new.version:
        yield f"castplan {old.version} -> {new.version}"
    for entry, side in ((old, "before"), (new, "after")):
        if entry.error:
            yield f"{side}: {entry.error}"
    if old.is_planned and new.is_planned:
        yield from _numbers(old.digest, new.digest)


def _choices(old, new):
    for name in sorted(old.keys() | new.keys()):
        if old.get(name) != new.get(name):
            told = (f"{side[name]}" if name in side else "as usual" for side in (old, new))
            yield f"{name}: {' -> '.join(told)}"


def _numbers(old, new):
    cosine = abs(sum(a * b for a, b in zip(old["draw"], new["draw"], strict=True)))
    if math.degrees(math.acos(min(1.0, cosine))) > _DRAW_DEG:
        yield f"draw: {' -> '.join(view.axis_words(tuple(side['draw'])) for side in (old, new))}"
    for name, (label, text) in _NUMBERS.items():
        if abs(new[name] - old[name]) > _MOVED_FRACTION * abs(old[name]):
            yield f"{label}: {text(old[name])} -> {text(new[name])}"
    for side, sign in ((old, "before"), (new, "after")):
        if held := [pocket for pocket in side["pockets"] if pocket["verdict"] != "none"]:
            worst = max(held, key=lambda pocket: pocket["needs_fraction"])
            yield (
                f"pocket {worst['number']} {sign}: {worst['verdict']}, needs "
                f"{formats.percent_text(worst['needs_fraction'])} of stretch, allowed "
                f"{formats.percent_text(worst['allowed_fraction'])}"
            )
    gone = sorted(set(old["findings"]) - set(new["findings"]))
    come = sorted(set(new["findings"]) - set(old["findings"]))
    for found, word in ((gone, "no longer"), (come, "new")):
        told = [name for name in found if not name.startswith("note ")]
        if told:
            yield f"{word}: {', '.join(told)}"


def comparison_lines(found: Comparison) -> list[str]:
    """The comparison for the terminal, one change a block."""
    lines = []
    for change in found.changes:
        lines.append(f"{change.name}: {change.before} -> {change.after}")
        lines += [f"  {reason}" for reason in change.reasons]
    for names, side in ((found.only_before, "first"), (found.only_after, "second")):
        if names:
            lines.append(f"Only in the {side}: {', '.join(names)}")
    kept = "1 verdict stands" if found.n_same == 1 else f"{found.n_same} verdicts stand"
    changed = "1 changed" if len(found.changes) == 1 else f"{len(found.changes)} changed"
    lines.append(f"{kept}, {changed}.")
    return lines
