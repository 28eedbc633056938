"""What the shop should know before it cuts the box."""

from castplan.model import BuildResult, Finding

# A lift under this is held by a dab of glue.
WORTH_TELLING_G = 20.0


def list_build_findings(build: BuildResult) -> tuple[Finding, ...]:
    """Findings of box, keys, boards, hold-down and equipment, in the order of the work."""
    return (
        *_box(build),
        *_keys(build),
        *_boards(build),
        *_hold(build),
        *_equipment(build),
    )


def _box(build):
    box = build.box
    if any(box.added_mm):
        x, y = box.added_mm
        longer = " and ".join(
            f"{grown:.0f} mm {word}" for grown, word in ((x, "longer"), (y, "wider")) if grown
        )
        yield Finding(
            code="box-grown-for-keys",
            severity="note",
            stage="mould",
            message=f"The box is {longer} than the silicone round the part needs, so that keys "
            "have room.",
            do="Give a fixed --wall if you align the halves in another way.",
        )
    chosen = next(option for option in box.options if option.shape == box.shape)
    best = next(option for option in box.options if option.shape == box.recommended)
    if best.shape != box.shape:
        yield Finding(
            code="other-box-saves",
            severity="note",
            stage="mould",
            message=f"A box of shape {best.shape} ({best.note}) takes {best.silicone_g:.0f} g of "
            f"silicone instead of {chosen.silicone_g:.0f} g.",
            do=f"Plan again with --box {best.shape} if you can make it.",
        )


def _keys(build):
    if not len(build.keys.places_mm):
        yield Finding(
            code="no-keys",
            severity="warn",
            stage="mould",
            message="There is no room on the flange for keys that fit one way only, clear of part, "
            "wall, gate and vents.",
            do="Give a larger --wall, or index the halves with pins through the box.",
        )


def _boards(build):
    boards = build.boards
    if boards.bulge_mm is not None and boards.bulge_mm > boards.bulge_limit_mm:
        # Deflection falls with the cube of the thickness.
        enough = boards.thickness_mm * (boards.bulge_mm / boards.bulge_limit_mm) ** (1 / 3)
        yield Finding(
            code="board-bulges",
            severity="warn",
            stage="mould",
            message=f"The long sides of {boards.thickness_mm:g} mm board bulge "
            f"{boards.bulge_mm:.1f} mm under {boards.pressure_kpa:.2f} kPa of silicone.",
            do=f"Take boards of {enough:.0f} mm, or clamp a batten across their middle.",
        )
    elif boards.bulge_mm is None:
        yield Finding(
            code="wall-not-checked",
            severity="note",
            stage="mould",
            message="The wall of this box is not flat boards; its bulge was not computed.",
            do="Wind tape round it at a third of its height, and test it with water.",
        )


def _hold(build):
    hold = build.hold
    if hold.is_floating:
        yield Finding(
            code="part-floats",
            severity="warn",
            stage="mould",
            message=f"The part weighs {hold.part_g:.0f} g and displaces {hold.displaced_g:.0f} g "
            f"of silicone: it floats up with {hold.lift_g:.0f} g.",
            do="Glue or screw it down to hold three times that, and seal its rim.",
        )
    elif hold.is_floating is None and hold.lift_g > WORTH_TELLING_G:
        yield Finding(
            code="part-may-float",
            severity="note",
            stage="mould",
            message=f"The part displaces {hold.displaced_g:.0f} g of silicone. If it weighs less, "
            "it floats once silicone creeps under it.",
            do="Weigh the original and tell castplan; glue or screw it down.",
        )


def _equipment(build):
    for fit in build.equipment.fits:
        size = f"{fit.inner_mm[0]:g} mm across and {fit.inner_mm[1]:g} mm high"
        if not fit.is_fitting:
            yield Finding(
                code="does-not-fit",
                severity="warn",
                stage="mould",
                message=f"The mould does not go into the {fit.name} ({size}): it needs "
                f"{fit.need_mm[0]:.0f} mm across and {fit.need_mm[1]:.0f} mm of height.",
                do="Choose a slimmer box with --box or --wall, or do without it.",
            )
        elif not fit.is_as_poured:
            yield Finding(
                code="fits-another-way",
                severity="warn",
                stage="mould",
                message=f"The mould goes into the {fit.name} ({size}) only with {fit.way} up, not "
                "the way it is poured: gate and vents would run out.",
                do="Choose another side up with --up, or a larger pot.",
            )
    equipment = build.equipment
    if equipment.is_scale_enough is False:
        yield Finding(
            code="scale-too-small",
            severity="warn",
            stage="mould",
            message=f"The heaviest cup takes {equipment.heaviest_cup_g:.0f} g, more than the scale "
            "shows.",
            do="Mix it in two cups, or borrow a larger scale.",
        )
