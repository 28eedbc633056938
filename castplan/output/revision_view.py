"""What a revision changes, in words: the same on terminal and sheet."""

from castplan.model import Drilling, Plan, Revision
from castplan.output.formats import length_text, mark, nothing
from castplan.texts import say

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
    lines += [say("revision.mend_it", part=text) for text in revision.patches]
    lines += [say("revision.use_it", part=text) for text in revision.uses]
    return lines


def head_sentence(revision: Revision) -> str:
    """Version, and all air that stays before and after."""
    is_elsewhere = revision.caught_after_ml > 0.02
    return say(
        "revision.version_for_the_same_mould",
        number=revision.number,
        caught_before=_ml(revision.caught_before_ml),
        caught_after=_ml(revision.caught_after_ml),
        pitch=f"{revision.pitch_mm:.2g}",
        rest=say("revision.no_void_logged_there") if is_elsewhere else "",
    )


def drill_sentences(plan: Plan) -> list[str]:
    """How to make each new vent, and that it catches its air."""
    return [_drill(drilling) for drilling in plan.revision.drillings]


def _drill(drilling: Drilling) -> str:
    right, up = drilling.from_corner_mm
    start = say(
        "revision.vent_on_the_of_the",
        label=drilling.label,
        face=drilling.face,
        right=f"{right:.1f}",
        up=f"{up:.1f}",
    )
    if drilling.half == "both":
        how = say(
            "revision.cut_a_groove_of_mm",
            bore=f"{drilling.bore_mm:g}",
            length=length_text(drilling.length_mm, error_mm=0.1),
        )
    else:
        how = say(
            "revision.drill_mm_and_deep_through",
            bore=f"{drilling.bore_mm:g}",
            drilling=_lean(drilling),
            length=length_text(drilling.length_mm, error_mm=0.1),
            half=drilling.half,
        )
    return say(
        "revision.proof_of_air_stays_there",
        start=start,
        how=how,
        caught_before=_ml(drilling.caught_before_ml),
        caught_after=_ml(drilling.caught_after_ml),
    )


def _lean(drilling):
    """``square in``, or how far off square and to which side."""
    leans = []
    for angle, more, less in (
        (drilling.across_deg, "right", "left"),
        (drilling.up_deg, say("revision.upper_edge"), say("revision.lower_edge")),
    ):
        if abs(angle) >= _DRILL_DEG:
            leans.append(
                say(
                    "revision.degrees_toward_the",
                    angle=f"{abs(angle):.0f}",
                    part=more if angle > 0 else less,
                )
            )
    return "leaning " + say("revision.and").join(leans) if leans else say("revision.square_in")


def other_ways(revision: Revision) -> list[str]:
    """Tilt and rocking, where they help."""
    lines = []
    if revision.tilt is not None:
        tilt = revision.tilt
        straw = (
            say("revision.lengthen_cup_and_straws_by", straw=f"{tilt.straw_mm:.0f}")
            if tilt.straw_mm > 0.5
            else ""
        )
        lines.append(
            say(
                "revision.or_without_drilling_tilt_it",
                tilt=f"{tilt.tilt_deg:.0f}",
                toward=_side(tilt.toward_deg),
                caught_before=_ml(tilt.caught_before_ml),
                caught_after=_ml(tilt.caught_after_ml),
                straw=straw,
            )
        )
    if revision.rocking:
        tilts = say("revision.then").join(
            say(
                "revision.degrees_with_the_up",
                tilt=f"{tilt.tilt_deg:.0f}",
                toward=_side(tilt.toward_deg),
            )
            for tilt in revision.rocking
        )
        lines.append(
            say(
                "revision.or_rock_it_while_the",
                tilts=tilts,
                rocking_left=_ml(revision.rocking_left_ml),
            )
        )
    return lines


def _side(toward_deg):
    """The side or corner of the view that is raised."""
    sector = round((toward_deg % 360) / 45) % 8
    if sector % 2 == 0:
        return say("revision.side", side=_SIDES[sector // 2])
    along, across = _SIDES[sector // 2], _SIDES[(sector // 2 + 1) % 4]
    return f"{across if across in ('front', 'back') else along} " + (
        say("revision.corner", part=along if across in ("front", "back") else across)
    )


def _ml(volume_ml):
    """Millilitres with the digits that columns tell."""
    text = nothing() if volume_ml < 0.005 else f"{volume_ml:.2g} ml"
    return f"{text} {mark('computed')}"
