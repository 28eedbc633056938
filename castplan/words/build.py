"""Box, keys, boards, hold-down and equipment in words; nothing is computed here but roundings."""

from castplan import units
from castplan.materials.wording import volume_text, weight_text
from castplan.mould.records import Board, Section
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.texts.names import board_name
from castplan.words import air as air_view
from castplan.words import cut as cut_view
from castplan.words import formats
from castplan.words.decision import Decision

_VESSELS = {"pressure pot": "build.pot", "vacuum chamber": "build.chamber"}


def box_decision(plan: Plan) -> Decision:
    """Which box, how large, and what it and the other shapes would take."""
    box = plan.split.box
    chosen = next(option for option in box.options if option.shape == box.shape)
    others = "; ".join(
        say(f"build.{option.shape}_takes", silicone=weight_text(option.silicone_g))
        for option in box.options
        if option.shape != box.shape
    )
    cost = "" if chosen.cost is None else f", {chosen.cost:.2f} {plan.job.shop.currency}".rstrip()
    takes = say(
        "build.box_takes",
        silicone=weight_text(chosen.silicone_g),
        volume=volume_text(chosen.silicone_ml),
        cost=cost,
        others=others,
    )
    grown = _grown(box)
    size_mm = cut_view.inside_mm(plan) if plan.split.is_cut else chosen.size_mm
    return Decision(
        what=say(
            f"build.{box.shape}_box",
            size=formats.size_text(size_mm),
            inches=formats.size_inches(size_mm),
        ),
        why=say("build.box_takes_grown", takes=takes, grown=grown) if grown else takes,
    )


def _grown(box):
    """What the box grew by so that keys have room; empty where it did not."""
    longer, wider = (formats.length_text(grown_mm) for grown_mm in box.added_mm)
    if all(box.added_mm):
        return say("build.grown_both", longer=longer, wider=wider)
    if box.added_mm[0]:
        return say("build.grown_longer", longer=longer)
    return say("build.grown_wider", wider=wider) if box.added_mm[1] else ""


def build_sentences(plan: Plan) -> list[str]:
    """What sheet and page say of the box beside its decision."""
    return [
        pour_sentence(plan),
        keys_sentence(plan),
        bulge_sentence(plan),
        hold_sentence(plan),
        *equipment_sentences(plan),
    ]


def pour_sentence(plan: Plan) -> str:
    """How high the silicone comes at each pour."""
    boards = plan.mould.boards
    if plan.split.is_one_pour:
        return say(
            "cut.pour_round" if plan.split.is_cut else "build.pour_open",
            rim=formats.length_text(boards.rim_mm),
            first_pour=formats.both_lengths(boards.first_pour_mm, error_mm=1.0),
        )
    return say(
        "build.walls_stand_a_above_the",
        rim=formats.length_text(boards.rim_mm),
        first_pour=formats.both_lengths(boards.first_pour_mm, error_mm=1.0),
        second_pour=formats.both_lengths(boards.second_pour_mm, error_mm=1.0),
    )


def keys_sentence(plan: Plan) -> str:
    """How many keys, how made, and that they fit one way only."""
    keys = plan.mould.keys
    n = len(keys.places_mm)
    if plan.split.is_one_pour:
        return say("cut.no_keys" if plan.split.is_cut else "build.no_keys_open")
    if not n:
        return say("build.no_keys_there_is_no")
    proof = ""
    if keys.misfit_mm is not None:
        proof = say(
            "build.in_the_best_wrong_position",
            misfit=formats.length_text(keys.misfit_mm, error_mm=1.0),
        )
    return say(
        "build.keys_raised" if keys.is_raised else "build.keys_sunk",
        count=n,
        diameter=formats.length_text(keys.diameter_mm),
        depth=formats.length_text(keys.depth_mm, error_mm=0.1),
        clearance=formats.length_text(keys.clearance_mm),
        proof=proof,
    )


def lettered_sections(plan: Plan) -> list[tuple[str, Section]]:
    """The sections with the letters that mark them in the plan view, A first."""
    return list(zip("ABCDEFGH", plan.mould.sections, strict=False))


def section_place(plan: Plan, section: Section) -> str:
    """Where it is cut, from the datum corner of the plan view."""
    across, key = (1, "section.along_x") if section.name == "front" else (0, "section.along_y")
    at_mm = section.at_mm - plan.mould.block.low_mm[across]
    return say(key, at=formats.both_lengths(at_mm, error_mm=max(plan.sampling.pitch_mm, 0.1)))


def bed_rows(plan: Plan) -> list[tuple[str, str, str, str, str]]:
    """Openings and keys from the datum corner: label, what, x, y, across."""
    keys, low = plan.mould.keys, plan.mould.block.low_mm
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
    boards = plan.mould.boards
    pressure = f"{boards.pressure_kpa:.2f}"
    if boards.bulge_mm is None:
        return say("build.bulge_not_checked", pressure=pressure)
    bulge = f"{boards.bulge_mm:.2f} mm" if boards.bulge_mm >= 0.01 else say("build.less_than_mm")
    return say(
        "build.bulge",
        pressure=pressure,
        thickness=formats.length_text(boards.thickness_mm),
        modulus=f"{boards.modulus_mpa.value:.0f}",
        basis=formats.behind(boards.modulus_mpa.basis),
        bulge=bulge,
        bulge_limit=formats.length_text(boards.bulge_limit_mm, error_mm=0.1),
    )


def hold_sentence(plan: Plan) -> str:
    """Lift on the part, in grams of force."""
    hold = plan.mould.hold
    displaced = weight_text(hold.displaced_g)
    if plan.split.is_cut:
        return say("cut.hold", lift=weight_text(hold.lift_g))
    if hold.part_g is None:
        return say("build.hold_not_known", displaced=displaced)
    weight = {"weight": weight_text(hold.part_g), "how_known": hold.weight_basis}
    if hold.is_floating:
        lift = weight_text(hold.lift_g)
        return say("build.hold_down", displaced=displaced, **weight, lift=lift)
    return say("build.hold_stays", displaced=displaced, **weight)


def equipment_sentences(plan: Plan) -> list[str]:
    """What the mould weighs, and whether it goes into pot and chamber."""
    equipment = plan.bench.equipment
    sentences = [
        say(
            "build.full_mould_c_poured_in",
            block=weight_text(equipment.block_g),
            boxed=weight_text(equipment.boxed_g),
        )
    ]
    ways = {"draw": say("build.the_draw"), "x": "x", "y": "y"}
    for fit in equipment.fits:
        if not fit.is_fitting:
            text = say(
                "build.does_not_go_in_it",
                across=f"{fit.need_mm[0]:.0f}",
                high=f"{fit.need_mm[1]:.0f}",
            )
        elif fit.is_as_poured:
            text = say("build.goes_in_with_up_as", ways=ways[fit.way])
        else:
            text = say("build.goes_in_only_with_up", ways=ways[fit.way])
        across, high = (f"{inner_mm:g}" for inner_mm in fit.inner_mm)
        sentences.append(say(_VESSELS[fit.name], across=across, high=high, says=text))
    if equipment.is_scale_enough is not None:
        sentences.append(
            say(
                "build.scale_enough" if equipment.is_scale_enough else "build.scale_too_small",
                heaviest_cup=weight_text(equipment.heaviest_cup_g),
            )
        )
    return sentences


def _board_sizes(board: Board) -> tuple[str, str]:
    size = " x ".join(f"{side:.1f}".rstrip("0").rstrip(".") for side in board.size_mm)
    inches = " x ".join(units.inch_fraction(side) for side in board.size_mm)
    return f"{size} mm", f"{inches} in"


def board_row(board: Board) -> tuple[str, str, str, str]:
    """Name, how many, size in mm and in inches."""
    return (str(board_name(board.name)), str(board.count), *_board_sizes(board))


def board_title(board: Board) -> str:
    """``long side: cut 2``."""
    return say("board.name", name=board_name(board.name), n=board.count)


def board_size(board: Board) -> str:
    """Its size in mm, inches in brackets."""
    size, inches = _board_sizes(board)
    return say("board.size", size=size, inches=inches)
