"""What a revision changes, in words: the same on terminal and sheet."""

from castplan import units
from castplan.after.records import Drilling, Revision
from castplan.nest.records import Nest
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words.formats import length_text, nothing
from castplan.words.nest import named

# What of the box is raised, by eighths of a turn from the right.
_RAISED = (
    "revision.side_right",
    "revision.corner_back_right",
    "revision.side_back",
    "revision.corner_back_left",
    "revision.side_left",
    "revision.corner_front_left",
    "revision.side_front",
    "revision.corner_front_right",
)


def revision_lines(plan: Plan) -> list[str]:
    """All of a revision: changes, drilling, other ways, mending."""
    revision = plan.revision
    lines = [head_sentence(revision)]
    for change in revision.changes:
        lines.append(f"  {change.what}: {change.before} -> {change.after}. ({change.why})")
    lines += drill_sentences(plan)
    lines += other_ways(revision)
    lines += [say("revision.mend_it", text=text) for text in revision.patches]
    lines += [say("revision.use_it", text=text) for text in revision.uses]
    return lines


def head_sentence(revision: Revision) -> str:
    """Version, and all air that stays before and after."""
    told = say(
        "revision.head",
        number=revision.number,
        before=_ml(revision.caught_before_ml),
        after=_ml(revision.caught_after_ml),
        pitch=f"{units.digits(revision.pitch_mm, 2)} mm",
    )
    return f"{told} {say('revision.no_void_there')}" if revision.is_air_left else told


def drill_sentences(plan: Plan) -> list[str]:
    """How to make each new vent, and that it catches its air."""
    return [_drill(drilling, plan.nest) for drilling in plan.revision.drillings]


def _drill(drilling: Drilling, nest: Nest | None) -> str:
    right, up = drilling.from_corner_mm
    told = {
        "label": drilling.label,
        "where": say(f"revision.on_{drilling.face}"),
        "right": f"{right:.1f} mm",
        "up": f"{up:.1f} mm",
        "bore": f"{drilling.bore_mm:g} mm",
        "length": length_text(drilling.length_mm, error_mm=0.1),
        "before": _ml(drilling.caught_before_ml),
        "after": _ml(drilling.caught_after_ml),
    }
    if drilling.half == "both":
        text = say("revision.groove", **told)
    else:
        text = say(f"revision.drill_{drilling.half}", **told, lean=_lean(drilling))
    if nest is None:
        return text
    (part,) = (part for part in nest.parts if drilling.label in part.openings)
    return f"{text} {say('boxed.serves', label=drilling.label, part=named(part))}"


def _lean(drilling):
    """``square in``, or how far off square and to which side."""
    across_deg, up_deg = drilling.lean_deg
    leans = []
    for angle, more, less in (
        (across_deg, "revision.toward_right", "revision.toward_left"),
        (up_deg, "revision.toward_upper_edge", "revision.toward_lower_edge"),
    ):
        if angle:
            leans.append(say(more if angle > 0 else less, angle=f"{abs(angle):.0f}"))
    if not leans:
        return say("revision.square_in")
    if len(leans) == 1:
        return say("revision.leaning", first=leans[0])
    return say("revision.leaning_both_ways", first=leans[0], second=leans[1])


def other_ways(revision: Revision) -> list[str]:
    """Tilt and rocking, where they help."""
    lines = []
    if revision.tilt is not None:
        tilt = revision.tilt
        told = say(
            "revision.tilt",
            tilt=f"{tilt.tilt_deg:.0f}",
            raised=_raised(tilt.toward_deg),
            before=_ml(tilt.caught_before_ml),
            after=_ml(tilt.caught_after_ml),
        )
        if tilt.straw_mm:
            told = f"{told} {say('revision.lengthen', straw=f'{tilt.straw_mm:.0f} mm')}"
        lines.append(told)
    if revision.rocking:
        tilts = say("revision.then").join(
            say(
                "revision.one_tilt",
                tilt=f"{tilt.tilt_deg:.0f}",
                raised=_raised(tilt.toward_deg),
            )
            for tilt in revision.rocking
        )
        left = _ml(revision.rocking_left_ml)
        lines.append(say("revision.rock", tilts=tilts, left=left))
    return lines


def _raised(toward_deg):
    """The side or corner of the view that is raised."""
    return say(_RAISED[round((toward_deg % 360) / 45) % 8])


def _ml(volume_ml):
    """Millilitres with the digits that columns tell."""
    text = nothing() if units.is_nothing(1000 * volume_ml) else f"{units.digits(volume_ml, 2)} ml"
    return f"{text}"
