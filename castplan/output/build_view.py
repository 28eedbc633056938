"""Box, keys, boards, hold-down and equipment in words; nothing is computed here but roundings."""

from castplan import units
from castplan.materials.wording import volume_text, weight_text
from castplan.model import Board, Plan, Section
from castplan.output import air_view, formats
from castplan.texts import say

_SHAPES = {
    "rectangle": "four boards",
    "round": "a pipe",
    "outline": "a wall that follows the outline",
}


def box_sentence(plan: Plan) -> str:
    """Which box, how large, and what the other shapes would take."""
    box = plan.build.box
    chosen = next(option for option in box.options if option.shape == box.shape)
    others = "; ".join(
        f"{_SHAPES[option.shape]} would take {weight_text(option.silicone_g)} [c]"
        for option in box.options
        if option.shape != box.shape
    )
    cost = "" if chosen.cost is None else f", {chosen.cost:.2f} {plan.job.shop.currency}".rstrip()
    grown = ""
    if any(box.added_mm):
        parts = [
            f"{formats.length_text(mm)} {word}"
            for mm, word in zip(box.added_mm, ("longer", "wider"), strict=True)
            if mm
        ]
        grown = f" It is {' and '.join(parts)} than the part needs, for the keys."
    return (
        f"Box of {_SHAPES[box.shape]}, {formats.size_text(chosen.size_mm)} "
        f"({formats.size_inches(chosen.size_mm)}) inside: {weight_text(chosen.silicone_g)} [c] of "
        f"silicone, {volume_text(chosen.silicone_ml)}{cost}; {others}.{grown}"
    )


def pour_sentence(plan: Plan) -> str:
    """How high the silicone comes at each pour."""
    boards = plan.build.boards
    return (
        f"Walls stand {formats.length_text(boards.rim_mm)} [a] above the silicone. First pour "
        f"{formats.both_lengths(boards.first_pour_mm, error_mm=1.0)} deep at the wall; turned "
        f"over, second pour {formats.both_lengths(boards.second_pour_mm, error_mm=1.0)}."
    )


def keys_sentence(plan: Plan) -> str:
    """How many keys, how made, and that they fit one way only."""
    keys = plan.build.keys
    n = len(keys.places_mm)
    if not n:
        return "No keys: there is no room on the flange for a layout that fits one way only."
    how = "standing on the bed" if keys.is_raised else "pressed into the clay"
    proof = ""
    if keys.misfit_mm is not None:
        proof = (
            f" In the best wrong position of the halves a key misses by "
            f"{formats.length_text(keys.misfit_mm, error_mm=1.0)} [c]."
        )
    return (
        f"{n} keys, {formats.length_text(keys.diameter_mm)} across, {how} "
        f"{formats.length_text(keys.depth_mm, error_mm=0.1)} "
        f"{'high' if keys.is_raised else 'deep'}, {formats.length_text(keys.clearance_mm)} from "
        f"part and wall.{proof}"
    )


def key_places(plan: Plan) -> str:
    """Places from the inside corner of the box: ``10/10, 10/32``."""
    low = plan.build.box.low_mm
    return ", ".join(f"{x - low[0]:.0f}/{y - low[1]:.0f}" for x, y, _ in plan.build.keys.places_mm)


def lettered_sections(plan: Plan) -> list[tuple[str, Section]]:
    """The sections with the letters that mark them in the plan view, A first."""
    return list(zip("ABCDEFGH", plan.build.sections, strict=False))


def section_place(plan: Plan, section: Section) -> str:
    """Where it is cut, from the datum corner of the plan view."""
    across, key = (1, "section.along_x") if section.name == "front" else (0, "section.along_y")
    at_mm = section.at_mm - plan.mould.low_mm[across]
    return say(key, at=formats.both_lengths(at_mm, error_mm=max(plan.sampling.pitch_mm, 0.1)))


def bed_rows(plan: Plan) -> list[tuple[str, str, str, str, str]]:
    """Openings and keys from the datum corner: label, what, x, y, across."""
    keys, low = plan.build.keys, plan.mould.low_mm
    error_mm = max(plan.sampling.pitch_mm, 0.1)

    def row(label, what, place, across_mm):
        x, y = (
            f"{formats.rounded(value - corner, error=error_mm)} mm "
            f"({units.inch_fraction(value - corner)} in)"
            for value, corner in zip(place[:2], low[:2], strict=True)
        )
        return (label, what, x, y, formats.length_text(across_mm, error_mm=0.1))

    ports = [
        row(
            port.label,
            say(f"plan_view.{port.kind}{'_blocked' if port.is_blocked else ''}"),
            path_mm[0],
            port.diameter_mm,
        )
        for port, path_mm in air_view.port_ways(plan)
    ]
    what = say("plan_view.key_raised" if keys.is_raised else "plan_view.key_sunk")
    return ports + [
        row(f"K{n}", what, place, keys.diameter_mm)
        for n, place in enumerate(keys.places_mm, start=1)
    ]


def bulge_sentence(plan: Plan) -> str:
    """Pressure on the boards and how far they bend."""
    boards = plan.build.boards
    pressure = f"Silicone presses with {boards.pressure_kpa:.2f} kPa [c] at the bottom"
    if boards.bulge_mm is None:
        return f"{pressure}; a wall that is not flat was not checked for bulging."
    bulge = f"{boards.bulge_mm:.2f} mm" if boards.bulge_mm >= 0.01 else "less than 0.01 mm"
    return (
        f"{pressure}; {formats.length_text(boards.thickness_mm)} board of "
        f"{boards.modulus_mpa.value:.0f} MPa {formats.mark(boards.modulus_mpa.basis)} bulges "
        f"{bulge} [c], {formats.length_text(boards.bulge_limit_mm, error_mm=0.1)} is the limit."
    )


def hold_sentence(plan: Plan) -> str:
    """Lift on the part, in grams of force."""
    hold = plan.build.hold
    displaced = f"The part displaces {weight_text(hold.displaced_g)} [c] of silicone"
    if hold.part_g is None:
        return f"{displaced}; weighed less than that, it floats once silicone creeps under it."
    weighs = f"weighs {weight_text(hold.part_g)} ({hold.weight_basis})"
    if hold.is_floating:
        return f"{displaced} and {weighs}: hold it down against {weight_text(hold.lift_g)} [c]."
    return f"{displaced} and {weighs}: it stays down."


def equipment_sentences(plan: Plan) -> list[str]:
    """What the mould weighs, and whether it goes into pot and chamber."""
    equipment = plan.build.equipment
    sentences = [
        f"Full mould {weight_text(equipment.block_g)} [c]; poured in its box and on its board "
        f"{weight_text(equipment.boxed_g)} [c]."
    ]
    ways = {"draw": "the draw", "x": "x", "y": "y"}
    for fit in equipment.fits:
        size = f"{fit.inner_mm[0]:g} mm across, {fit.inner_mm[1]:g} mm high"
        if not fit.is_fitting:
            text = f"does not go in; it needs {fit.need_mm[0]:.0f} mm and {fit.need_mm[1]:.0f} mm"
        elif fit.is_as_poured:
            text = f"goes in with {ways[fit.way]} up, as it is poured"
        else:
            text = f"goes in only with {ways[fit.way]} up, not as it is poured"
        sentences.append(f"{fit.name.capitalize()} ({size}): {text}.")
    if equipment.is_scale_enough is not None:
        enough = "shows" if equipment.is_scale_enough else "does not show"
        sentences.append(
            f"The scale {enough} the heaviest cup, {weight_text(equipment.heaviest_cup_g)} [c]."
        )
    return sentences


def _board_sizes(board: Board) -> tuple[str, str]:
    size = " x ".join(f"{side:.1f}".rstrip("0").rstrip(".") for side in board.size_mm)
    inches = " x ".join(units.inch_fraction(side) for side in board.size_mm)
    return f"{size} mm", f"{inches} in"


def board_row(board: Board) -> tuple[str, str, str, str]:
    """Name, how many, size in mm and in inches."""
    return (board.name, str(board.count), *_board_sizes(board))


def board_title(board: Board) -> str:
    """``long side: cut 2``."""
    return say("board.name", name=board.name, n=board.count)


def board_size(board: Board) -> str:
    """Its size in mm, inches in brackets."""
    size, inches = _board_sizes(board)
    return say("board.size", size=size, inches=inches)
