"""What a revision changes, in words: the same on terminal and sheet."""

from castplan.model import Drilling, Plan, Revision
from castplan.output.formats import length_text, mark

# A drill held by hand along a line on the rubber (assumed).
_DRILL_DEG = 1.0
_SIDES = ("right", "back", "left", "front")


def revision_lines(plan: Plan) -> list[str]:
    """All of a revision: changes, drilling, other ways, mending."""
    revision = plan.revision
    lines = [head_sentence(revision)]
    for change in revision.changes:
        lines.append(f"  {change.what}: {change.before} -> {change.after}. ({change.why})")
    lines += drill_sentences(plan)
    lines += other_ways(revision)
    lines += [f"Mend it. {text}" for text in revision.patches]
    lines += [f"Use it. {text}" for text in revision.uses]
    return lines


def head_sentence(revision: Revision) -> str:
    """Version, and all air that stays before and after."""
    rest = " What stays lies where no void was logged." if revision.caught_after_ml > 0.02 else ""
    return (
        f"Version {revision.number} for the same mould: air that stays goes from "
        f"{_ml(revision.caught_before_ml)} to {_ml(revision.caught_after_ml)}, worked out at a "
        f"pitch of {revision.pitch_mm:.2g} mm.{rest}"
    )


def drill_sentences(plan: Plan) -> list[str]:
    """How to make each new vent, and that it catches its air."""
    return [_drill(drilling) for drilling in plan.revision.drillings]


def _drill(drilling: Drilling) -> str:
    right, up = drilling.from_corner_mm
    start = (
        f"Vent {drilling.label}: on the {drilling.face} of the rubber mark {right:.1f} mm to the "
        f"right of and {up:.1f} mm above the lower left corner, seen from outside as the box rests"
    )
    if drilling.half == "both":
        how = (
            f"cut a groove of {drilling.bore_mm:g} mm from there along the parting, half in each "
            f"half, {length_text(drilling.length_mm, error_mm=0.1)} to the cavity"
        )
    else:
        how = (
            f"drill {drilling.bore_mm:g} mm {_lean(drilling)} and "
            f"{length_text(drilling.length_mm, error_mm=0.1)} deep through the {drilling.half} "
            "half, with a sharpened tube turned by hand"
        )
    return (
        f"{start}; {how}. Proof: {_ml(drilling.caught_before_ml)} of air stays there without it, "
        f"{_ml(drilling.caught_after_ml)} with it."
    )


def _lean(drilling):
    """``square in``, or how far off square and to which side."""
    leans = []
    for angle, more, less in (
        (drilling.across_deg, "right", "left"),
        (drilling.up_deg, "upper edge", "lower edge"),
    ):
        if abs(angle) >= _DRILL_DEG:
            leans.append(f"{abs(angle):.0f} degrees toward the {more if angle > 0 else less}")
    return "leaning " + " and ".join(leans) if leans else "square in"


def other_ways(revision: Revision) -> list[str]:
    """Tilt and rocking, where they help."""
    lines = []
    if revision.tilt is not None:
        tilt = revision.tilt
        straw = (
            f" Lengthen cup and straws by {tilt.straw_mm:.0f} mm." if tilt.straw_mm > 0.5 else ""
        )
        lines.append(
            f"Or without drilling: tilt it by {tilt.tilt_deg:.0f} degrees, "
            f"{_side(tilt.toward_deg)} up: {_ml(tilt.caught_before_ml)} of air that stays goes "
            f"down to {_ml(tilt.caught_after_ml)}.{straw}"
        )
    if revision.rocking:
        tilts = ", then ".join(
            f"{tilt.tilt_deg:.0f} degrees with the {_side(tilt.toward_deg)} up"
            for tilt in revision.rocking
        )
        lines.append(
            f"Or rock it while the resin is thin: {tilts}, level in between; "
            f"{_ml(revision.rocking_left_ml)} stays."
        )
    return lines


def _side(toward_deg):
    """The side or corner of the view that is raised."""
    sector = round((toward_deg % 360) / 45) % 8
    if sector % 2 == 0:
        return f"{_SIDES[sector // 2]} side"
    along, across = _SIDES[sector // 2], _SIDES[(sector // 2 + 1) % 4]
    return f"{across if across in ('front', 'back') else along} " + (
        f"{along if across in ('front', 'back') else across} corner"
    )


def _ml(volume_ml):
    """Millilitres with the digits that columns tell."""
    text = "nothing" if volume_ml < 0.005 else f"{volume_ml:.2g} ml"
    return f"{text} {mark('computed')}"
