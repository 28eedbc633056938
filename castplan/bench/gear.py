"""What must lie ready before the work begins, counted from the plan: no shop runs out for it."""

import math
from collections import Counter

from castplan.bench.records import GearLine, ScheduleResult, WeighResult
from castplan.bench.steps import stick_mm
from castplan.job import Job
from castplan.materials.wording import volume_text
from castplan.mould.records import Mould
from castplan.texts.told import UNTOLD, Told, clauses, tell

# Grams of soft modelling clay to a millilitre (from memory).
CLAY_G_ML = 1.7
# Clay is kneaded, trimmed and thrown away with crumbs of silicone (assumed).
CLAY_MORE = 1.15
# A cup for resin holds twice what is mixed in it, in such steps (assumed).
RESIN_STEP_ML = 50.0
# Cautions and the gear that each asks for; a word of the table ``gear``.
_PROTECTS = {
    "isocyanate": ("gloves", "eyes", "air"),
    "polyurethane-b-side": ("gloves", "eyes"),
    "silicone-tin": ("gloves", "eyes", "air"),
    "silicone-platinum": ("gloves",),
    "epoxy": ("gloves", "eyes", "air"),
    "amine-hardener": ("gloves", "eyes", "air"),
    "styrene": ("thick_gloves", "eyes", "air", "vapour"),
    "peroxide": ("gloves", "eyes"),
    "dust": ("mask", "eyes"),
    "old-finish": ("mask", "gloves"),
    "boards": ("mask", "eyes"),
    "laser": ("air",),
    "knives": ("cut_glove",),
    "compressed-air": ("eyes",),
    "fresh-mould": ("air",),
    "solvent-release": ("vapour", "air"),
    "pressure-pot": ("eyes",),
    "vacuum": ("eyes",),
    "plaster": ("mask", "eyes", "gloves"),
    "hot-wax": ("eyes", "heat_gloves"),
    "after-cure": ("air", "heat_gloves"),
}


def list_gear(
    mould: Mould, weigh: WeighResult, schedule: ScheduleResult, job: Job
) -> tuple[GearLine, ...]:
    """Everything but silicone and resin, in the order of its groups.

    Parameters
    ----------
    mould, weigh, schedule : records
    job : Job
    """
    inserts = tell("gear.pieces", n=job.inserts * job.copies)
    return (
        *_materials(mould),
        *((_line("material", "inserts", inserts),) if job.inserts else ()),
        *_tools(mould, weigh),
        *_protection(schedule),
    )


def _line(group, name, amount: Told = UNTOLD, *, use="", **fields):
    return GearLine(
        group=group,
        what=tell(f"gear.{name}", **fields),
        amount=amount,
        use=tell(f"gear_use.{use or name}"),
    )


def _materials(mould):
    block, boards = mould.block, mould.boards
    if block.bedding.kind == "clay":
        clay_g = CLAY_MORE * CLAY_G_ML * clay_ml(mould)
        yield _line("material", "clay", tell("gear.grams", grams=f"{50 * math.ceil(clay_g / 50)}"))
    if block.bedding.kind == "flat-back":
        yield _line("material", "tape")
    if boards.boards:
        sizes = Counter()
        for board in boards.boards:
            sizes[tuple(f"{size_mm:.0f}" for size_mm in board.size_mm)] += board.count
        pieces = [
            tell("gear.piece", n=n, length=length, width=width)
            for (length, width), n in sizes.items()
        ]
        yield _line("material", "boards", clauses(pieces), thick=f"{boards.thickness_mm:g}")
        yield _line("material", "sealing")
        yield _line("material", "wax")
    rods = Counter()
    for route in mould.vents.routes:
        if route.pour:
            # On a board half a rod lies first, and a whole one after turning.
            n = 2 if route.is_rod and block.bedding.kind != "clay" else 1
            rods[route.bore_mm] += n * stick_mm(route)
    for bore_mm, long_mm in sorted(rods.items()):
        amount = tell("gear.rod_length", long=long_mm)
        yield _line("material", "rod", amount, thick=f"{bore_mm:g}")
    one = "release" if len(block.pour_order) > 1 else "release_one"
    yield _line("material", "release", use=one)


def clay_ml(mould: Mould) -> float:
    """What the clay bed fills: the room of the half that is poured second."""
    _, *later = mould.block.pour_order
    return 0.0 if not later else getattr(mould.block, f"{later[0]}_ml")


def _tools(mould, weigh):
    if weigh.cups:
        step_g = weigh.cups[0].step_g
        yield _line("tool", "scale", tell("gear.reads", step=f"{step_g:g}"))
        yield _line("tool", "cups", clauses(_cups(weigh)))
    yield _line("tool", "stirrer")
    yield _line("tool", "brush")
    first = mould.block.pour_order[0]
    volume = volume_text(getattr(mould.block, f"{first}_ml"))
    yield _line("tool", "jug", tell("gear.volume", volume=volume))
    yield _line("tool", "knife")
    n_cups = sum(port.kind == "gate" and port.cup_mm > 0 for port in mould.block.ports)
    if n_cups:
        across, high = f"{mould.gate.cup_mm:.0f}", f"{mould.gate.cup_high_mm:.0f}"
        yield _line("tool", "pouring_cup", tell("gear.pouring", n=n_cups, across=across, high=high))
    n_vents = sum(route.is_open and not route.label.startswith("G") for route in mould.vents.routes)
    if n_vents:
        yield _line("tool", "straws", tell("gear.pieces", n=n_vents))
    yield _line("tool", "straps" if not mould.block.is_open else "straight_edge")
    yield _line("tool", "level")
    yield _line("tool", "timer")


def _cups(weigh):
    """Two of each: one to mix in, one to tip into; no more than a shop washes and uses again."""
    sizes = Counter()
    for cup in weigh.cups:
        size_ml = cup.vacuum_cup_ml or RESIN_STEP_ML * math.ceil(2 * cup.volume_ml / RESIN_STEP_ML)
        sizes[size_ml] += 2 * cup.times
    for size_ml, n in sorted(sizes.items(), reverse=True):
        yield tell("gear.cups_of", n=n, volume=f"{size_ml:.0f} ml")


def _protection(schedule):
    asked = [
        name for step in schedule.steps for key in step.cautions for name in _PROTECTS.get(key, ())
    ]
    if "thick_gloves" in asked:
        asked = [name for name in asked if name != "gloves"]
    for name in dict.fromkeys(asked):
        yield _line("protect", name)
