"""What the split asks of the shop: pockets, thin places, the line."""

import numpy as np

from castplan import units
from castplan.materials.wording import listed, listed_numbers
from castplan.record import Finding, finding
from castplan.split.records import Split
from castplan.texts import code_key
from castplan.texts.told import tell

# Rubber under this volume, a cube of 3.7 mm, flexes off an edge (assumed).
WORTH_TELLING_MM3 = 50.0
# Rubber that a parting keeps under the part's edge, a cube of 17 mm: more than a
# careful hand eases over it (assumed).
LOCKS_MM3 = 5_000.0
LITTLE_MM3 = 500.0  # a cube of 8 mm: its pockets say what it does (assumed)
SEVERITY_OF = {"leaves freely": "note", "flexes out": "note", "may tear": "warn"}
# A tear so small spoils no casting.
LITTLE_OF = {"stop": "warn", "warn": "note"}


def list_split_findings(split: Split, *, tie_mm3: float) -> tuple[Finding, ...]:
    """Say what holds, what to do about it, and where the split is thin or odd.

    Parameters
    ----------
    split : Split
    tie_mm3 : float
        Trapped volumes up to this count as nothing.

    Returns
    -------
    tuple of Finding
    """
    draw, undercuts, flex = split.draw, split.undercuts, split.flex
    return (
        *_pockets(draw, undercuts, flex, split.remedies, is_cut=split.is_cut),
        *(
            found
            for found in _line(draw, split.line, flex, tie_mm3)
            # Nothing is modelled where one pour is cut open.
            if not (split.is_cut and found.code in ("line-not-level", "plug-follows"))
        ),
        *_thin(draw, flex),
        *_seam(split.seam, undercuts),
    )


def _pockets(draw, undercuts, flex, remedies, *, is_cut):
    pockets = {pocket.number: pocket for pocket in undercuts.pockets}
    judged = {f.number: f for f in flex.pockets}
    yield from _free(flex)
    for group in flex.groups:
        if group.is_trifle:
            continue
        pocket, verdict = pockets[group.numbers[0]], judged[group.numbers[0]]
        where = draw.frame.point_in_part(pocket.centre_mm)
        if pocket.kind == "sealed":
            told = {"n": len(group.numbers), "numbers": listed_numbers(group.numbers)}
            volume = units.digits(group.volume_mm3 / 1000, 2)
            yield finding(
                "sealed-void",
                "warn",
                "undercuts",
                "split_finding.sealed",
                volume=volume,
                **told,
                where_mm=where,
            )
            continue
        severity = SEVERITY_OF.get(verdict.verdict, "stop")
        if group.volume_mm3 < WORTH_TELLING_MM3:
            severity = LITTLE_OF.get(severity, severity)
        options = [r.text for r in remedies if r.pocket == pocket.number]
        yield Finding(
            code=pocket.kind,
            severity=severity,
            stage="undercuts",
            message=_held(group, pocket, verdict, flex, is_cut=is_cut),
            do=_do(options),
            where_mm=where,
        )
    if undercuts.n_small:
        yield finding(
            "small-pockets",
            "note",
            "undercuts",
            "split_finding.small",
            n=undercuts.n_small,
            least=units.digits(undercuts.min_volume_mm3, 2),
            volume=units.digits(undercuts.small_mm3, 2),
        )


def _free(flex):
    numbers = sorted(n for group in flex.groups if group.is_trifle for n in group.numbers)
    if numbers:
        volume_mm3 = sum(group.volume_mm3 for group in flex.groups if group.is_trifle)
        yield finding(
            "small-pockets",
            "note",
            "undercuts",
            "split_finding.free",
            n=len(numbers),
            numbers=listed_numbers(numbers),
            volume=f"{volume_mm3:.0f}",
            do="split_finding.small_do",
        )


def _held(group, pocket, verdict, flex, *, is_cut):
    n = len(group.numbers)
    size = tell(
        "split_finding.pocket_size",
        n=n,
        volume=units.digits(group.volume_mm3 / n / 1000, 2),
        depth=f"{group.depth_mm:.1f}",
        error=f"{flex.depth_error_mm:.1f}",
    )
    told = {"n": n, "numbers": listed_numbers(group.numbers), "size": size}
    if pocket.kind == "bridge":
        return tell(f"split_finding.bridge_{code_key(verdict.verdict)}", **told)
    held_by = pocket.held_by
    told["half"] = tell(f"cut.half_{held_by}" if is_cut else f"split_finding.half_{held_by}")
    if pocket.kind == "web":
        return tell(f"split_finding.web_{code_key(verdict.verdict)}", **told)
    return tell(f"split_finding.pocket_{code_key(verdict.verdict)}", why=verdict.why, **told)


def _do(options):
    if not options:
        return tell("split_finding.peel_do")
    if len(options) == 1:
        return options[0]
    return tell("split_finding.one_or_other", first=options[0], second=options[1])


def _line(draw, line, flex, tie_mm3):
    locked_mm3 = min(option.trapped_mm3 for option in line.options)
    extra_mm3 = line.trapped_mm3 - locked_mm3
    if extra_mm3 > max(tie_mm3, WORTH_TELLING_MM3):
        best = min(line.options, key=lambda option: option.trapped_mm3)
        told = {"extra": units.digits(extra_mm3 / 1000, 2)}
        told["this_split"] = tell(f"split_finding.this_{line.kind}")
        told["other_split"] = tell(f"split_finding.other_{best.kind}")
        worst = _worst_station(line)
        if worst is None:
            message = tell("split_finding.line_holds", **told)
        else:
            point_mm, off_mm = worst
            key = "split_finding.line_above" if off_mm > 0 else "split_finding.line_below"
            message = tell(key, off=f"{abs(off_mm):.1f}", **told)
        is_easy = flex.pockets and all(SEVERITY_OF.get(f.verdict) == "note" for f in flex.pockets)
        is_locked = line.is_asked_for and extra_mm3 >= LOCKS_MM3 and not is_easy
        is_little = extra_mm3 < LITTLE_MM3
        do = "locks" if is_locked else "holds" if line.is_asked_for else "saves"
        yield Finding(
            code="line-holds",
            severity="stop" if is_locked else "note" if is_easy or is_little else "warn",
            stage="parting",
            message=message,
            do=tell(f"split_finding.line_{do}_do", other_split=told["other_split"]),
            where_mm=None if worst is None else draw.frame.point_in_part(point_mm),
        )
    elif line.kind != "level":
        level = line.options[0]
        note = next(o.note for o in line.options if o.kind == line.kind)
        yield finding(
            "line-not-level",
            "note",
            "parting",
            f"split_finding.not_level_{line.kind}",
            held=units.digits((level.trapped_mm3 - locked_mm3) / 1000, 2),
            note=note,
            do="split_finding.not_level_do",
        )
    plugs = [plug for plug in line.plugs if plug.is_following]
    if plugs:
        yield finding(
            "plug-follows",
            "note",
            "parting",
            "split_finding.plug",
            n=len(plugs),
            numbers=listed([f"H{plug.number}" for plug in plugs]),
            held=units.digits(sum(plug.trapped_mm3 for plug in plugs) / 1000, 2),
        )


def _worst_station(line):
    """Where the line runs farthest off what would trap nothing: (point, mm over it), or None."""
    worst, worst_mm = None, 0.0
    for rim in line.outlines:
        # Where no height frees the rim, the middle of its range traps least.
        low = np.minimum(rim.low_mm, 0.5 * (rim.low_mm + rim.high_mm))
        high = np.maximum(rim.high_mm, 0.5 * (rim.low_mm + rim.high_mm))
        off = rim.line_mm - np.clip(rim.line_mm, low, high)
        k = int(np.argmax(np.abs(off)))
        if abs(off[k]) > abs(worst_mm):
            worst_mm = float(off[k])
            worst = (*(float(v) for v in rim.points_mm[k]), float(rim.line_mm[k]))
    return None if worst is None else (worst, worst_mm)


def _thin(draw, flex):
    for kind in ("rubber", "part"):
        places = [place for place in flex.thin if place.kind == kind]
        if not places:
            continue
        first = places[0]
        yield finding(
            f"thin-{kind}",
            "warn",
            "undercuts",
            f"split_finding.thin_{kind}",
            n=len(places),
            thickness=f"{first.thickness_mm:.1f}",
            area=f"{first.area_mm2:.0f}",
            where_mm=draw.frame.point_in_part(first.centre_mm),
        )


def _seam(seam, undercuts):
    if seam.n_expected is None or undercuts.pockets:
        return
    if len(seam.loops_mm) != seam.n_expected:
        yield finding(
            "seam-loops",
            "note",
            "parting",
            "split_finding.seam_loops",
            n=len(seam.loops_mm),
            expected=seam.n_expected,
        )
