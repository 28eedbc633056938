"""What must lie ready before the work begins, counted from the plan: no shop runs out for it."""

import math
from collections import Counter

from castplan.bench.life import TRIAL_SHOTS
from castplan.bench.loose_steps import rod_mm
from castplan.bench.records import GearLine, ScheduleResult
from castplan.bench.steps import Cups, stick_mm
from castplan.materials.wording import LARGEST_CUP_ML, vessel_size, volume_text
from castplan.mould.records import Mould
from castplan.split.records import LoosePiece
from castplan.texts.names import filler_name
from castplan.texts.told import UNTOLD, Told, clauses, in_a_row, tell

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
    "filler": ("mask", "eyes"),
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

# Tools that only some sentences of the steps ask for.
_ASKED = {
    "lath": {"step.sticks_up"},
    "wedges": {"pour_step.prop", "pour_step.tilt", "pour_step.tilt_whole"},
    "tape_over": {"step.turn_down_rod"},
}


def list_gear(
    mould: Mould, cups: Cups, schedule: ScheduleResult, pieces: tuple[LoosePiece, ...]
) -> tuple[GearLine, ...]:
    """Everything but silicone and resin, in the order of its groups.

    Parameters
    ----------
    mould, cups, schedule : records
    pieces : tuple of LoosePiece
        That come out of the mould before its halves.
    """
    job = cups.job
    inserts = tell("gear.pieces", n=job.inserts * job.copies)
    return (
        *_materials(mould, schedule, pieces),
        *_rods(mould, pieces),
        *((_line("material", "inserts", inserts),) if job.inserts else ()),
        *_filler(cups),
        *_tools(mould, cups.weigh, schedule, pieces),
        *_protection(schedule),
    )


def _filler(cups):
    """For all castings and the trial shot, as the resin is bought."""
    job = cups.job
    each_g = sum(cup.filler_g * cup.times for cup in cups.weigh.cups) / job.copies
    if each_g > 0:
        all_g = each_g * (job.copies + TRIAL_SHOTS)
        kind = filler_name(job.filler)
        yield _line("material", "filler", tell("gear.grams", grams=f"{all_g:.0f}"), kind=kind)


def _line(group, name, amount: Told = UNTOLD, *, use="", **fields):
    return GearLine(
        group=group,
        what=tell(f"gear.{name}", **fields),
        amount=amount,
        use=tell(f"gear_use.{use or name}", **fields),
    )


def _materials(mould, schedule, pieces):
    block, boards = mould.block, mould.boards
    yield _line("material", "mend")
    if block.bedding.kind == "clay":
        clay_g = CLAY_MORE * CLAY_G_ML * clay_ml(mould)
        yield _line("material", "clay", tell("gear.grams", grams=f"{50 * math.ceil(clay_g / 50)}"))
    if block.bedding.kind == "flat-back":
        yield _line("material", "tape")
    if boards.boards:
        sizes = Counter()
        for board in boards.boards:
            sizes[tuple(f"{size_mm:.0f}" for size_mm in board.size_mm)] += board.count
        cut = [
            tell("gear.piece", n=n, length=length, width=width)
            for (length, width), n in sizes.items()
        ]
        use = "boards_one" if block.is_one_pour else "boards"
        thick = f"{boards.thickness_mm:g}"
        yield _line("material", "boards", clauses(cut), use=use, thick=thick)
        yield _line("material", "sealing")
        yield _line("material", "wax")
    one = "release" if len(block.pour_order) > 1 else "release_one"
    # Sticks, rods and loose pieces are greased.
    name = "release_grease" if _is_sawn(mould, pieces) or pieces else "release"
    yield _line("material", name, use=one)
    if any(step.kind == "keys" for step in schedule.steps) and mould.keys.is_raised:
        keys = mould.keys
        n = tell("gear.pieces", n=len(keys.places_mm))
        sizes = {"across": f"{keys.diameter_mm:g}", "depth": f"{keys.depth_mm:.1f}"}
        yield _line("material", "keys", n, **sizes)


def _rods(mould, pieces):
    """Sticks of gate and vents, and rods of loose pieces."""
    block, rods = mould.block, Counter()
    for route in mould.vents.routes:
        if route.pour:
            # On a board half a rod lies first, and a whole one after turning.
            n = 2 if route.is_rod and block.bedding.kind != "clay" else 1
            rods[route.bore_mm] += n * stick_mm(route)
    for bore_mm, long_mm in sorted(rods.items()):
        amount = tell("gear.rod_length", long=long_mm)
        yield _line("material", "rod", amount, thick=f"{bore_mm:g}")
    for piece in pieces:
        if piece.kind == "rod":
            long_mm = rod_mm(piece, board_mm=mould.boards.thickness_mm)
            yield _line(
                "material",
                "piece_rod",
                tell("gear.rod_length", long=f"{long_mm:.0f}"),
                label=piece.label,
                thick=f"{piece.diameter_mm:.1f}",
            )


def _is_sawn(mould, pieces):
    """Whether sticks or rods are cut to length."""
    has_rods = any(piece.kind == "rod" for piece in pieces)
    return has_rods or any(route.pour for route in mould.vents.routes)


def _drills(mould, pieces, *, is_asked):
    """For vents where no stick stands, the walls that rods go through, and holes of the casting."""
    bores_mm = {r.bore_mm for r in mould.vents.routes if r.is_open and not r.is_rod}
    bores_mm |= {round(piece.diameter_mm, 1) for piece in pieces if piece.kind == "rod"}
    if bores_mm:
        bores = in_a_row([f"{bore_mm:g}" for bore_mm in sorted(bores_mm)])
        yield _line("tool", "drill", tell("gear.bores", bores=bores))
    elif is_asked:
        yield _line("tool", "drill")


def clay_ml(mould: Mould) -> float:
    """What the clay bed fills: the room of the half that is poured second."""
    _, *later = mould.block.pour_order
    return 0.0 if not later else getattr(mould.block, f"{later[0]}_ml")


def _told(text: Told):
    """Keys of a text and of all that it is put together from."""
    yield text.key
    for _, value in text.fields:
        for each in value if isinstance(value, tuple) else (value,):
            if isinstance(each, Told):
                yield from _told(each)


def _tools(mould, weigh, schedule, pieces):
    yield _line("tool", "measure")
    if weigh.cups:
        step_g = weigh.cups[0].step_g
        yield _line("tool", "scale", tell("gear.reads", step=f"{step_g:g}"))
        is_large = any(cup.vacuum_cup_ml > LARGEST_CUP_ML for cup in weigh.cups)
        name = "buckets" if is_large else "cups"
        yield _line("tool", name, clauses(_cups(weigh)), use="cups")
    yield _line("tool", "stirrer")
    yield _line("tool", "brush")
    first = mould.block.pour_order[0]
    volume = volume_text(getattr(mould.block, f"{first}_ml"))
    yield _line("tool", "jug", tell("gear.volume", volume=volume))
    yield _line("tool", "knife")
    keys = {key for step in schedule.steps for key in _told(step.text)}
    yield from (_line("tool", name) for name, asked in _ASKED.items() if keys & asked)
    name = "sandpaper_saw" if _is_sawn(mould, pieces) else "sandpaper"
    yield _line("tool", name, use="sandpaper")
    yield from _drills(mould, pieces, is_asked="step.plug" in keys)
    n_cups = sum(port.kind == "gate" and port.cup_mm > 0 for port in mould.block.ports)
    if n_cups:
        across, high = f"{mould.gate.cup_mm:.0f}", f"{mould.gate.cup_high_mm:.0f}"
        yield _line("tool", "pouring_cup", tell("gear.pouring", n=n_cups, across=across, high=high))
    vents = Counter(
        f"{route.bore_mm:g}"
        for route in mould.vents.routes
        if route.is_open and not route.label.startswith("G")
    )
    if vents:
        tubes = [tell("gear.tube", n=n, across=across) for across, n in sorted(vents.items())]
        yield _line("tool", "straws", clauses(tubes))
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
        yield tell("gear.cups_of", n=n, volume=vessel_size(size_ml))


def _protection(schedule):
    asked = [
        name for step in schedule.steps for key in step.cautions for name in _PROTECTS.get(key, ())
    ]
    if "thick_gloves" in asked:
        asked = [name for name in asked if name != "gloves"]
    for name in dict.fromkeys(asked):
        yield _line("protect", name)
