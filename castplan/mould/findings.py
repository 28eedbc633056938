"""What the shop should know before it cuts the box."""

from castplan.mould.records import Mould
from castplan.record import Finding, finding
from castplan.split.records import BoxResult
from castplan.texts.told import tell

# A lift under this is held by a dab of glue.
WORTH_TELLING_G = 20.0


def list_build_findings(box: BoxResult, mould: Mould) -> tuple[Finding, ...]:
    """Findings of box, keys, boards and hold-down, in the order of the work."""
    return (*_box(box), *_keys(mould.keys), *_boards(mould.boards), *_hold(mould.hold))


def list_box_findings(box: BoxResult, mould: Mould) -> tuple[Finding, ...]:
    """Those of a mould without keys."""
    return (*list_wall_findings(box, mould), *_hold(mould.hold))


def list_wall_findings(box: BoxResult, mould: Mould) -> tuple[Finding, ...]:
    """Those of the box alone."""
    return (*_box(box), *_boards(mould.boards))


def _box(box):
    if any(box.added_mm):
        longer, wider = (f"{grown_mm:.0f}" for grown_mm in box.added_mm)
        both = tell("build_finding.grown_both", longer=longer, wider=wider)
        one = (
            tell("build_finding.grown_longer", longer=longer)
            if box.added_mm[0]
            else tell("build_finding.grown_wider", wider=wider)
        )
        yield Finding(
            code="box-grown-for-keys",
            severity="note",
            stage="mould",
            message=both if all(box.added_mm) else one,
            do=tell("build_finding.grown_do"),
        )
    chosen = next(option for option in box.options if option.shape == box.shape)
    best = next(option for option in box.options if option.shape == box.recommended)
    if best.shape != box.shape:
        yield Finding(
            code="other-box-saves",
            severity="note",
            stage="mould",
            message=tell(
                "build_finding.other_box",
                shape=tell(f"box_shape.{best.shape}"),
                note=best.note,
                silicone=f"{best.silicone_g:.0f}",
                instead_of=f"{chosen.silicone_g:.0f}",
            ),
            do=tell("build_finding.other_box_do", shape=best.shape),
        )


def _keys(keys):
    if not len(keys.places_mm):
        yield finding("no-keys", "warn", "mould", "build_finding.no_keys")


def _boards(boards):
    if boards.bulge_mm is not None and boards.bulge_mm > boards.bulge_limit_mm:
        # Deflection falls with the cube of the thickness.
        enough = boards.thickness_mm * (boards.bulge_mm / boards.bulge_limit_mm) ** (1 / 3)
        yield Finding(
            code="board-bulges",
            severity="warn",
            stage="mould",
            message=tell(
                "build_finding.bulges",
                thickness=f"{boards.thickness_mm:g}",
                bulge=f"{boards.bulge_mm:.1f}",
                pressure=f"{boards.pressure_kpa:.2f}",
            ),
            do=tell("build_finding.bulges_do", thickness=f"{enough:.0f}"),
        )
    elif boards.bulge_mm is None:
        yield finding("wall-not-checked", "note", "mould", "build_finding.not_checked")


def _hold(hold):
    if hold.is_floating:
        yield finding(
            "part-floats",
            "warn",
            "mould",
            "build_finding.floats",
            weight=f"{hold.part_g:.0f}",
            displaced=f"{hold.displaced_g:.0f}",
            lift=f"{hold.lift_g:.0f}",
        )
    elif hold.is_floating is None and hold.lift_g > WORTH_TELLING_G:
        yield finding(
            "part-may-float",
            "note",
            "mould",
            "build_finding.may_float",
            displaced=f"{hold.displaced_g:.0f}",
        )
