"""What the original lies in, how high, and what the silicone does at its undercuts, in words."""

from castplan import units
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import formats

_MAX_NAMED = 4  # pockets named by their numbers; more are counted


def split_height_mm(plan: Plan) -> float:
    """The split at the walls of the box, above its floor."""
    return plan.split.line.box_height_mm - plan.mould.block.low_mm[2]


def is_flat_back(plan: Plan) -> bool:
    """Whether the part lies on the base board, without a bed."""
    return plan.mould.block.bedding.kind == "flat-back"


def _holding(plan: Plan) -> str:
    """What the rubber does at the pockets when the mould is opened, by their verdicts."""
    if units.is_nothing(plan.split.line.trapped_mm3):
        is_pulled = bool(plan.split.pieces)
        return say("loose.nothing_left" if is_pulled else "plan.nothing_holds_the_silicone")
    says = {
        "leaves freely": "plan.leaves_freely_2",
        "flexes out": "plan.flexes_out_of",
    }
    says |= {"may tear": "plan.may_tear_in", "locked": "plan.is_locked_in"}
    parts = []
    for verdict, words in says.items():
        numbers = [flex.number for flex in plan.split.flex.pockets if flex.verdict == verdict]
        if numbers:
            parts.append(say(words, pockets=_pockets(numbers)))
    trapped = formats.trapped_text(plan.split.line.trapped_mm3)
    if not parts:
        return say("plan.flex_of_silicone_out_when", trapped=trapped)
    last = say("plan.and", last=parts.pop()) if len(parts) > 1 else ""
    return say("plan.is_undercut_the_rubber", trapped=trapped, parts=", ".join(parts), last=last)


def _pockets(numbers: list[int]) -> str:
    """``pocket 3``, ``pockets 1, 2 and 4``, ``9 pockets``."""
    if len(numbers) > _MAX_NAMED:
        return formats.counted(len(numbers), "pocket")
    if len(numbers) == 1:
        return say("plan.pocket", number=numbers[0])
    return say("plan.pockets_and", others=", ".join(map(str, numbers[:-1])), last=numbers[-1])


def height_words(plan: Plan) -> str:
    """Height of the parting at the walls, above the base board."""
    return formats.both_lengths(split_height_mm(plan), error_mm=plan.sampling.pitch_mm)


def span_words(plan: Plan) -> str:
    """Lowest and highest point of a split that is not level, above the base board."""
    ends = [z_mm for rim in plan.split.line.outlines for z_mm in rim.line_mm] or [
        plan.split.line.box_height_mm
    ]
    low, high = (
        formats.rounded(z_mm - plan.mould.block.low_mm[2], error=plan.sampling.pitch_mm)
        for z_mm in (min(ends), max(ends))
    )
    return f"{low} mm" if low == high else say("plan.to_mm_c", low=low, high=high)


def _bedding(plan: Plan) -> str:
    if plan.split.is_cut:
        return say("cut.stand_on_sticks")
    if is_flat_back(plan):
        return say("plan.stick_it_flat_to_the")
    if plan.mould.block.bedding.kind == "printed-bed":
        return say("plan.set_it_into_the_printed", height=height_words(plan))
    if plan.split.line.kind == "level":
        return say("plan.clay_up_to_above_the", height=height_words(plan))
    if plan.split.line.kind == "tilted":
        return say("plan.clay_in_one_tilted_plane", span=span_words(plan))
    return say("plan.clay_to_the_clay_strip", span=span_words(plan), height=height_words(plan))


def bed_line(plan: Plan) -> str:
    """What the original lies in, and what the silicone does at its undercuts."""
    return f"{_bedding(plan)}; {_holding(plan)}."
