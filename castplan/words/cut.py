"""A block that is cut open in words: where the knife goes, what it leaves, whether it opens."""

from castplan.materials.wording import box_side_text
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words.decision import Decision

# Heads of `side_rows`, with the room of each column on paper; None takes what is left.
SIDE_HEADS = (
    ("cut.head_side", None),
    ("cut.head_depth", 24.0),
    ("cut.head_hinge", 20.0),
    ("cut.head_seam", 22.0),
    ("cut.head_show", 26.0),
    ("cut.head_strain", 22.0),
    ("cut.head_force", 20.0),
    ("cut.head_opens", 30.0),
)
_SHORT = {"+x": "air.right", "-x": "air.left", "+y": "air.back", "-y": "air.front"}
_OPENS = {"opens": "cut.opens", "stiff": "cut.stiffly", "shut": "cut.stays_shut"}


def side_words(plan: Plan, side: str = "") -> str:
    """``the right side (the file's +x)``; the planned side without a name."""
    side = side or plan.mould.slit.chosen.side
    way = [0.0, 0.0, 0.0]
    way["xy".index(side[1])] = 1.0 if side[0] == "+" else -1.0
    return str(box_side_text(side, plan.split.draw.frame.point_in_part(way)))


def _mm(length_mm: float) -> str:
    return f"{length_mm:.0f} mm"


def _percent(fraction: float) -> str:
    return f"{100 * fraction:.0f} %"


def _newton(force_n: float) -> str:
    return f"{force_n:.0f} N"


def cut_decision(plan: Plan) -> Decision:
    """Where the block is cut open and how deep; what seam that leaves, and how far it stretches."""
    slit = plan.mould.slit
    side = slit.chosen
    return Decision(
        what=say(
            "cut.cut_it",
            side=side_words(plan),
            depth=_mm(side.depth_mm),
            hinge=_mm(side.hinge_mm),
        ),
        why=say(
            "cut.because",
            seam=_mm(side.seam_mm),
            share=_percent(slit.outline_fraction),
            strain=_percent(side.strain_fraction),
            limit=_percent(slit.limit_fraction),
        ),
    )


def inside_mm(plan: Plan) -> tuple[float, float, float]:
    """Inside of the box as it stands for the silicone: length, width, height."""
    block = plan.mould.block
    if plan.split.is_cut:
        (x0, y0), (x1, y1) = block.box_view_mm.min(axis=0), block.box_view_mm.max(axis=0)
        return (float(x1 - x0), float(y1 - y0), block.bedding.mark_mm)
    return tuple(high - low for low, high in zip(block.low_mm, block.high_mm, strict=True))


def pour_line(plan: Plan, *, pour_up: str, drill: str) -> str:
    """The summary's line on the cut and the pour of resin."""
    depth = _mm(plan.mould.slit.chosen.depth_mm)
    return say("cut.pour", side=side_words(plan), depth=depth, pour_up=pour_up, drill=drill)


def cut_sentences(plan: Plan) -> list[str]:
    """How the knife runs, what is bent and how far, and what all that rests on."""
    slit = plan.mould.slit
    zigzag = say(
        "cut.zigzag",
        amplitude=_mm(slit.amplitude_mm),
        pitch=_mm(slit.pitch_mm),
        clear=_mm(slit.clear_mm),
    )
    bend = say(
        "cut.bend",
        reach=_mm(slit.reach_mm),
        thick=_mm(slit.thick_mm),
        radius=_mm(slit.radius_mm),
        strain=_percent(slit.chosen.strain_fraction),
        limit=_percent(slit.limit_fraction),
        force=_newton(slit.chosen.force_n),
        hand=_newton(slit.hand_n),
    )
    return [zigzag, bend, say("cut.rests_on")]


def teeth_words(plan: Plan) -> str:
    """``4 mm up and down, one every 14 mm``."""
    slit = plan.mould.slit
    return say("cut.teeth", amplitude=_mm(slit.amplitude_mm), pitch=_mm(slit.pitch_mm))


def side_rows(plan: Plan) -> list[tuple[str, ...]]:
    """The sides from which the knife could start, the planned one first."""
    has_show = plan.job.show_face is not None or plan.show.direction is not None
    return [
        (
            f"{'' if number else '▶ '}{say(_SHORT[side.side])}",
            _mm(side.depth_mm),
            _mm(side.hinge_mm),
            _mm(side.seam_mm),
            _mm(side.seam_on_show_mm) if has_show else say("number.none"),
            _percent(side.strain_fraction),
            _newton(side.force_n),
            say(_OPENS[side.verdict]),
        )
        for number, side in enumerate(plan.mould.slit.options)
    ]
