"""Which verdicts differ between two result folders, and the numbers behind it."""

import math
from dataclasses import dataclass

from castplan.batch.store import Entry
from castplan.batch.summary import state_of, state_words, verdict_words
from castplan.materials.wording import weight_text
from castplan.texts import say
from castplan.words import formats
from castplan.words import plan as view

# Two draws within this are the same draw.
_DRAW_DEG = 5.0
# Numbers named where a verdict changed, if they moved by more than this.
_MOVED_FRACTION = 0.01
_NUMBERS = {
    "trapped_ml": lambda value: formats.trapped_text(1000 * value),
    "n_vents": str,
    "silicone_g": lambda value: weight_text(value),
    "resin_g": lambda value: weight_text(value),
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
        if _verdict(old[name]) != _verdict(new[name])
    )
    return Comparison(
        changes=changes,
        only_before=tuple(sorted(old.keys() - new.keys())),
        only_after=tuple(sorted(new.keys() - old.keys())),
        n_same=len(both) - len(changes),
    )


def _verdict(entry):
    """What the shop acts on, in codes: another one of these is another verdict."""
    if not entry.is_planned:
        return entry.status
    return state_of(entry), entry.digest["verdict"], entry.digest["split"]


def verdict_text(entry: Entry) -> str:
    """The verdict in words: ``ready, nothing holds, level split``."""
    if not entry.is_planned:
        return say(f"compare.ended_{entry.status}")
    return say(
        f"compare.split_{entry.digest['split']}",
        state=state_words(state_of(entry)),
        verdict=verdict_words(entry.digest["verdict"]),
    )


def _reasons(old, new):
    if old.mesh_sha256 != new.mesh_sha256:
        yield say("compare.other_mesh")
    yield from _choices(old.choices, new.choices)
    if old.version != new.version:
        yield f"castplan {old.version} -> {new.version}"
    if old.error:
        yield say("compare.error_before", error=old.error)
    if new.error:
        yield say("compare.error_after", error=new.error)
    if old.is_planned and new.is_planned:
        yield from _numbers(old.digest, new.digest)


def _choices(old, new):
    for name in sorted(old.keys() | new.keys()):
        if old.get(name) != new.get(name):
            told = (
                f"{side[name]}" if name in side else say("compare.usual") for side in (old, new)
            )
            yield f"{name}: {' -> '.join(told)}"


def _numbers(old, new):
    cosine = abs(sum(a * b for a, b in zip(old["draw"], new["draw"], strict=True)))
    if math.degrees(math.acos(min(1.0, cosine))) > _DRAW_DEG:
        before, after = (view.axis_words(tuple(side["draw"])) for side in (old, new))
        yield say("compare.draw", before=before, after=after)
    for name, text in _NUMBERS.items():
        if abs(new[name] - old[name]) > _MOVED_FRACTION * abs(old[name]):
            yield say(f"compare.moved_{name}", before=text(old[name]), after=text(new[name]))
    yield from _pocket(old, "compare.pocket_before")
    yield from _pocket(new, "compare.pocket_after")
    gone = sorted(set(old["findings"]) - set(new["findings"]))
    come = sorted(set(new["findings"]) - set(old["findings"]))
    if named := _not_notes(gone):
        yield say("compare.gone", findings=named)
    if named := _not_notes(come):
        yield say("compare.come", findings=named)


def _pocket(digest, key):
    """The pocket that asks most of the rubber, if any holds it."""
    held = [pocket for pocket in digest["pockets"] if pocket["verdict"] != "none"]
    if held:
        worst = max(held, key=lambda pocket: pocket["needs_fraction"])
        yield say(
            key,
            number=worst["number"],
            verdict=verdict_words(worst["verdict"]),
            needs=formats.percent_text(worst["needs_fraction"]),
            allowed=formats.percent_text(worst["allowed_fraction"]),
        )


def _not_notes(findings):
    return ", ".join(name for name in findings if not name.startswith("note "))


def comparison_lines(found: Comparison) -> list[str]:
    """The comparison for the terminal, one change a block."""
    lines = []
    for change in found.changes:
        lines.append(f"{change.name}: {change.before} -> {change.after}")
        lines += [f"  {reason}" for reason in change.reasons]
    if found.only_before:
        lines.append(say("compare.only_first", names=", ".join(found.only_before)))
    if found.only_after:
        lines.append(say("compare.only_second", names=", ".join(found.only_after)))
    kept = say("compare.stand", n=found.n_same)
    lines.append(say("compare.sum", stand=kept, changed=len(found.changes)))
    return lines
