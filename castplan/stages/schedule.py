"""Making the mould in order, one thing to do per step, with its weights and times.

Minutes of handwork are assumed; waiting for a cure comes from the cards.
"""

import math

from castplan.materials.cards import Card, demould_at, full_cure_at, get_card
from castplan.materials.steps import (
    Bench,
    blocked_text,
    clay_text,
    cups_text,
    holes_text,
    numbers_text,
    open_ports,
    port_size,
    port_text,
)
from castplan.materials.wording import (
    limit_text,
    volume_text,
    wait_text,
)
from castplan.model import (
    AirResult,
    AmountsResult,
    DrawResult,
    Job,
    Mix,
    MouldResult,
    PartingLine,
    ScheduleResult,
    UndercutResult,
    WeighResult,
)

# A parting this close to the lowest point is the base board itself: no clay.
FLAT_BACK_MM = 0.1
# Within this angle of the draw, ports run through the half that faces that way.
PORT_CONE_DEG = 60.0
RELEASE_COATS = 3
# Minutes of a level clay bed, and of the clay in one hole (assumed).
CLAY_MIN = 60.0
PRINTED_MIN = 15.0  # a printed bed instead (assumed)
HOLE_MIN = 5.0


def order_steps(
    draw: DrawResult,
    undercuts: UndercutResult,
    line: PartingLine,
    air: AirResult,
    mould: MouldResult,
    amounts: AmountsResult,
    weigh: WeighResult,
    job: Job,
) -> ScheduleResult:
    """Write the steps that make the mould, in the order of the work.

    Parameters
    ----------
    draw, undercuts, line, air, mould, amounts, weigh : records
        What the stages before found.
    job : Job
        The cards and the shop's temperature.

    Returns
    -------
    ScheduleResult
        A part that lies flat on the base board gets no clay bed; a mould of
        one half is not turned over. Total minutes assume one step at a time.

    Raises
    ------
    InputError
        A card id is unknown.
    """
    silicone = get_card(job.silicone, kind="silicone")
    halves = [mix for mix in amounts.mixes if mix.half]
    height_mm = line.box_height_mm - mould.low_mm[2]
    is_on_board = line.kind == "level" and height_mm - mould.under_mm < FLAT_BACK_MM
    # A printed bed carries keys and plugs even where the part could lie on the board.
    is_printed = job.bed == "printed"
    is_flat_back = (is_on_board and not is_printed) or halves[0].half == "lower"
    ports_in = _half_of_ports(draw, air)
    bench = Bench()
    _prepare(bench, mould, silicone, patch_h=halves[0].demould_h)
    _set_up(bench, undercuts, line, mould, halves, job, is_flat_back=is_flat_back)
    for place, half in enumerate(halves):
        if place:
            _turn_over(bench, mould, is_flat_back=is_flat_back, is_printed=is_printed)
        if half.half == ports_in or (ports_in == "side" and not place):
            _stand_sticks(bench, mould, ports_in=ports_in)
        level = "where the base board was" if place and not is_flat_back else "the mark"
        _pour(bench, half, silicone, weigh, level=level, job=job)
    _open_mould(
        bench,
        undercuts,
        mould,
        silicone,
        n_halves=len(halves),
        temperature_c=job.shop_temperature_c,
    )
    return bench.schedule()


def _half_of_ports(draw: DrawResult, air: AirResult) -> str:
    lean = float(draw.frame.up @ air.frame.up)
    if abs(lean) < math.cos(math.radians(PORT_CONE_DEG)):
        return "side"
    return "upper" if lean > 0 else "lower"


def _prepare(bench: Bench, mould: MouldResult, silicone: Card, *, patch_h: float) -> None:
    bench.do(
        "inspect",
        f"""Photograph the original from all sides, weigh it, and write down three sizes you can
        measure again on a cast. Sink it in water if it may get wet: it should push aside
        {volume_text(mould.part_ml)}; if not, the mesh is not this part. Get the owner's consent
        to the risk in writing.""",
        hands_on_min=20,
    )
    bench.do(
        "clean",
        "Clean the original and mend every flaw that should not be copied. Fill deep scratches.",
        hands_on_min=20,
        cautions=("dust",),
    )
    bench.do(
        "seal",
        "Seal the original if it is porous, with a sealer that does not attack it, and let it dry.",
        hands_on_min=15,
        wait_min=60,
        cautions=("solvent-release",),
    )
    bench.do(
        "patch",
        f"""Test patch: on a hidden spot brush release agent, then a spoonful of mixed silicone,
        partly over the clay you will use. Peel it after {wait_text(patch_h)}. Sign
        only if it is cured right through and nothing sticks. Keep this silicone away from:
        {"; ".join(silicone.incompatible)}.""",
        hands_on_min=15,
        wait_min=patch_h * 60,
        is_hold=True,
        cautions=silicone.hazards,
    )
    bench.do(
        "release",
        "Spray or wipe a light coat of release agent on the original and let it dry.",
        hands_on_min=10,
        wait_min=10,
        cautions=("solvent-release",),
    )


def _set_up(
    bench: Bench,
    undercuts: UndercutResult,
    line: PartingLine,
    mould: MouldResult,
    halves: list[Mix],
    job: Job,
    *,
    is_flat_back: bool,
) -> None:
    length_mm, width_mm, box_mm = (
        high - low for high, low in zip(mould.high_mm, mould.low_mm, strict=True)
    )
    bench.do(
        "mark",
        f"""Mark on the original the parting line, gate and vents from the sheet.
        {blocked_text(mould)}""",
        hands_on_min=20,
    )
    first_mm, board_mm = box_mm, mould.low_mm[2]
    if is_flat_back:
        board_mm += mould.under_mm
        bed_mm = line.box_height_mm - mould.low_mm[2]
        first_mm = box_mm - bed_mm if halves[0].half == "upper" else bed_mm
        bench.do(
            "fix",
            """Stick the original to the base board on its flat side with thin double-sided tape
            or clay, so that it cannot float and nothing creeps under. No clay bed is needed.""",
            hands_on_min=15,
        )
    elif job.bed == "printed":
        bench.do(
            "fix",
            """Glue the pieces of the printed bed together and set the original into it. Close the
            gap along its rim with soft clay or wax, smoothed level with the bed; keys and plugs
            stand on the bed already.""",
            hands_on_min=PRINTED_MIN,
        )
    else:
        bench.do(
            "fix",
            f"""Bed the original in sulphur-free clay, held {mould.under_mm:.0f} mm above the base
            board at its lowest point. {clay_text(line, mould)}, meeting the part at 90 degrees;
            smooth it, a rounded edge becomes flash.""",
            hands_on_min=CLAY_MIN + _modelling_min(line, job),
        )
    if is_flat_back or job.bed != "printed":
        _stop_holes(bench, line, board_mm=board_mm)
    _plug_holes(bench, undercuts)
    bench.do(
        "box",
        f"""Stand the box round it: {length_mm:.0f} x {width_mm:.0f} mm inside,
        {math.ceil(first_mm)} mm high at least, {mould.wall_mm:.0f} mm clear of the part. Glue it
        down, seal the corners, brace the long walls. Mark the pour height at {first_mm:.0f} mm.""",
        hands_on_min=30,
    )
    bench.do(
        "water",
        f"""Water test: fill the box with water to the mark (fine dry grain if the part must stay
        dry) and watch it for 10 min. Pour it into a jug: it should be
        {volume_text(halves[0].net_ml)}; if it is off by more than a tenth, find out why.
        Dry everything. Sign when it held and the volume is right.""",
        hands_on_min=15,
        wait_min=30,
        is_hold=True,
    )
    if len(halves) > 1 and (is_flat_back or job.bed != "printed"):
        keys = "Stick half-round keys on the board" if is_flat_back else "Press keys into the clay"
        bench.do(
            "keys",
            f"""{keys} along the rim, 8 to 12 mm across, less than half as deep, laid out so that
            the halves fit one way only.""",
            hands_on_min=20,
        )


def _modelling_min(line: PartingLine, job: Job) -> float:
    """Minutes that clay takes beyond a level bed, by the job's own weights."""
    if line.kind == "level":
        return 0.0
    ends = [height_mm for rim in line.outlines for height_mm in rim.line_mm]
    weights = job.draw_weights
    climb_mm = max(ends) - min(ends)
    return float(round(weights.following_min + weights.line_min_per_mm * climb_mm))


def _stop_holes(bench: Bench, line: PartingLine, *, board_mm: float) -> None:
    holes = holes_text(line, board_mm=board_mm, least_mm=FLAT_BACK_MM)
    if holes:
        bench.do(
            "stop",
            f"""Fill the holes through the part with clay, numbered as on the split sheet: {holes}.
            Smooth the top, square to the wall of the hole: here the halves meet.""",
            hands_on_min=HOLE_MIN * len(line.plugs),
        )


def _plug_holes(bench: Bench, undercuts: UndercutResult) -> None:
    bridges = [pocket.number for pocket in undercuts.pockets if pocket.kind == "bridge"]
    if bridges:
        bench.do(
            "plug",
            f"""Plug hole{numbers_text(bridges)} across the draw with clay: left open, silicone runs
            through and holds the original until it is slit. Drill it in the cast instead.""",
            hands_on_min=15,
        )


def _stand_sticks(bench: Bench, mould: MouldResult, *, ports_in: str) -> None:
    ports = open_ports(mould)
    if not ports:
        return
    reach = "reaches the wall that is up at the pour" if ports_in == "side" else "stands out of it"
    sticks = "; ".join(f"{port_text(port)}, {port_size(port)}" for port in ports)
    bench.do(
        "sticks",
        f"""Fix a smooth, greased stick on each mark so that it {reach}, true to the pour sketch:
        {sticks}. Or leave the sticks out and drill the silicone along the same lines later.""",
        hands_on_min=15,
    )


def _pour(
    bench: Bench, half: Mix, silicone: Card, weigh: WeighResult, *, level: str, job: Job
) -> None:
    cups = [cup for cup in weigh.cups if cup.pour == half.name]
    coats = [cup for cup in cups if cup.is_brush_coat]
    pours = [cup for cup in cups if not cup.is_brush_coat]
    cup_ml = math.ceil(max(cup.vacuum_cup_ml for cup in cups) / 50) * 50
    apart = ""
    if coats:
        apart = f"""First a small cup for the brush coat: {cups_text(coats)}. Brush it on, and pour
        when it is tacky."""
    bench.do(
        "weigh",
        f"""Weigh the silicone for the {half.name.lower()}: {cups_text(pours)}. {apart}
        Take a cup of {cup_ml} ml or more. Mix slowly, scrape sides and bottom, tip into a second
        cup and mix again. If you have a chamber, degas until it has risen, fallen and gone quiet.
        The clock runs from the first touch of A and B.""",
        hands_on_min=15 * max(1, len(pours)),
        cautions=(*silicone.hazards, "vacuum"),
    )
    bench.do(
        "pour",
        f"""Brush a first coat into all detail, then pour the {half.name.lower()} in a thin stream
        from high up into one low corner, not onto the part, up to {level}. Be done within
        {limit_text(half.pour_by_min)} of mixing (half its pot life at
        {job.shop_temperature_c:g} C). Log lot, weights and date. Leave it
        {wait_text(half.demould_h)}.""",
        hands_on_min=15,
        wait_min=half.demould_h * 60,
        cautions=silicone.hazards,
    )


def _turn_over(bench: Bench, mould: MouldResult, *, is_flat_back: bool, is_printed: bool) -> None:
    bed = "the printed bed" if is_printed else "the base board and all the clay"
    bench.do(
        "turn",
        f"""Turn the box over. Leave the original in the silicone: do not lift it, or the next
        pour creeps under. {
            f"Take off the base board, raise the walls by {mould.under_mm:.0f} mm and mark there."
            if is_flat_back
            else f"Take off {bed}, and wipe off what is left."
        } Seal the joint of box and silicone.""",
        hands_on_min=25,
    )
    bench.do(
        "coats",
        f"""Brush or spray {RELEASE_COATS} light coats of release agent on ALL bare silicone and
        on the part, 10 min apart, into the keys too. Sign before the second pour: without it the
        halves fuse and the original is entombed, and nobody sees it until it is too late.""",
        hands_on_min=15,
        wait_min=RELEASE_COATS * 10,
        is_hold=True,
        cautions=("solvent-release",),
    )


def _open_mould(
    bench: Bench,
    undercuts: UndercutResult,
    mould: MouldResult,
    silicone: Card,
    *,
    n_halves: int,
    temperature_c: float,
) -> None:
    held = [pocket for pocket in undercuts.pockets if pocket.kind == "pocket"]
    ease = ""
    if held:
        deepest_mm = max(pocket.depth_mm for pocket in held)
        numbers = numbers_text([pocket.number for pocket in held])
        ease = f"""Ease the silicone out of undercut{numbers} first, the
        deepest is {deepest_mm:.0f} mm in."""
    bench.do(
        "open",
        f"""{"Open the halves at a corner and peel them" if n_halves > 1 else "Peel the mould"}
        slowly off the original. {ease} {"Pull the sticks." if open_ports(mould) else ""}
        Put the original away safely. Cut the flash, number every piece.""",
        hands_on_min=30,
    )
    cured_h, _, _ = full_cure_at(silicone, temperature_c=temperature_c)
    opened_h, _, _ = demould_at(silicone, temperature_c=temperature_c)
    rest_h = max(0.0, cured_h - opened_h)
    bench.do(
        "rest",
        f"""Rest the open mould {wait_text(rest_h)} in air before the first cast. Warming it speeds
        this up: stay under {silicone.heat_limit_c.value:.0f} C.""",
        hands_on_min=5,
        wait_min=rest_h * 60,
        cautions=("heat",),
    )
