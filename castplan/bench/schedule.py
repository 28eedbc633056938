"""Making the mould in order, one thing to do per step, with its weights and times.

Minutes of handwork are assumed; waiting for a cure comes from the cards.
"""

import math

from castplan.air.records import AirResult
from castplan.bench.records import AmountsResult, Mix, ScheduleResult, WeighResult
from castplan.bench.steps import (
    Bench,
    blocked_text,
    clay_text,
    cups_text,
    holes_text,
    open_ports,
    stick_text,
)
from castplan.job import Job
from castplan.materials.cards import Card, demould_at, full_cure_at, get_card
from castplan.materials.wording import limit_text, listed, volume_text, wait_text
from castplan.mould.records import MouldResult
from castplan.split.records import DrawResult, PartingLine, UndercutResult
from castplan.texts import say

# A parting this close to the lowest point is the base board itself: no clay.
FLAT_BACK_MM = 0.1
# Within this angle of the draw, ports run through the half that faces that way.
PORT_CONE_DEG = 60.0
RELEASE_COATS = 3
# Minutes of a level clay bed, and of the clay in one hole (assumed).
CLAY_MIN = 60.0
PRINTED_MIN = 15.0  # a printed bed instead (assumed)
HOLE_MIN = 5.0
HOLLOW_MM3 = 500.0  # a hollow under the part that is worth filling (assumed)


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
        key = "step.pour_second" if place else "step.pour_first"
        if place and not is_flat_back:
            key = "step.pour_second_board"
        _weigh(bench, half, silicone, weigh, is_second=bool(place))
        _pour(bench, half, silicone, say(key), job=job)
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
    bench.do("inspect", say("step.inspect", volume=volume_text(mould.part_ml)), hands_on_min=20)
    bench.do("clean", say("step.clean"), hands_on_min=20, cautions=("dust",))
    bench.do("seal", say("step.seal"), hands_on_min=15, wait_min=60, cautions=("solvent-release",))
    bench.do(
        "patch",
        say("step.patch", wait=wait_text(patch_h), things="; ".join(silicone.incompatible)),
        hands_on_min=15,
        wait_min=patch_h * 60,
        is_hold=True,
        cautions=silicone.hazards,
    )
    bench.do(
        "release",
        say("step.release"),
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
    bench.do("mark", say("step.mark"), blocked_text(mould), hands_on_min=20)
    first_mm, board_mm = box_mm, mould.low_mm[2]
    if is_flat_back:
        board_mm += mould.under_mm
        bed_mm = line.box_height_mm - mould.low_mm[2]
        first_mm = box_mm - bed_mm if halves[0].half == "upper" else bed_mm
        hollow = hollow_text(line, board_mm=board_mm)
        bench.do("fix", hollow, say("step.fix_flat"), hands_on_min=15)
    elif job.bed == "printed":
        bench.do("fix", say("step.fix_printed"), hands_on_min=PRINTED_MIN)
    else:
        bench.do(
            "fix",
            say("step.fix_clay", under=f"{mould.under_mm:.0f}"),
            clay_text(line, mould),
            hands_on_min=CLAY_MIN + _modelling_min(line, job),
        )
    if is_flat_back or job.bed != "printed":
        _stop_holes(bench, line, board_mm=board_mm)
    _plug_holes(bench, undercuts)
    bench.do(
        "box",
        say(
            "step.box",
            length=f"{length_mm:.0f}",
            width=f"{width_mm:.0f}",
            height=math.ceil(first_mm),
            clear=f"{mould.wall_mm:.0f}",
            mark=f"{first_mm:.0f}",
        ),
        hands_on_min=30,
    )
    bench.do(
        "water",
        say("step.water", volume=volume_text(halves[0].net_ml)),
        hands_on_min=15,
        wait_min=30,
        is_hold=True,
    )
    if len(halves) > 1 and (is_flat_back or job.bed != "printed"):
        keys = say("step.keys_board") if is_flat_back else say("step.keys_clay")
        bench.do("keys", keys, hands_on_min=20)


def _modelling_min(line: PartingLine, job: Job) -> float:
    """Minutes that clay takes beyond a level bed, by the job's own weights."""
    if line.kind == "level":
        return 0.0
    ends = [height_mm for rim in line.outlines for height_mm in rim.line_mm]
    weights = job.draw_weights
    climb_mm = max(ends) - min(ends)
    return float(round(weights.following_min + weights.line_min_per_mm * climb_mm))


def hollow_text(line: PartingLine, *, board_mm: float) -> str:
    """To fill the hollow under a part that lies flat, where a hole leads into it; else empty."""
    opens = any(plug.height_mm - board_mm > FLAT_BACK_MM for plug in line.plugs)
    if not opens or line.filled_below_mm3 < HOLLOW_MM3:
        return ""
    return say("step.fill_hollow", volume=volume_text(line.filled_below_mm3 / 1000))


def _stop_holes(bench: Bench, line: PartingLine, *, board_mm: float) -> None:
    holes = holes_text(line, board_mm=board_mm, least_mm=FLAT_BACK_MM)
    if holes:
        bench.do("stop", say("step.stop", holes=holes), hands_on_min=HOLE_MIN * len(line.plugs))


def _plug_holes(bench: Bench, undercuts: UndercutResult) -> None:
    bridges = [str(pocket.number) for pocket in undercuts.pockets if pocket.kind == "bridge"]
    if bridges:
        bench.do(
            "plug",
            say("step.plug", n=len(bridges), numbers=listed(bridges)),
            hands_on_min=15,
        )


def _stand_sticks(bench: Bench, mould: MouldResult, *, ports_in: str) -> None:
    ports = open_ports(mould)
    if not ports:
        return
    sticks = "; ".join(stick_text(port) for port in ports)
    is_side = ports_in == "side"
    text = say("step.sticks_side" if is_side else "step.sticks_up", sticks=sticks)
    bench.do("sticks", text, hands_on_min=15)


def _weigh(bench: Bench, half: Mix, silicone: Card, weigh: WeighResult, *, is_second: bool) -> None:
    cups = [cup for cup in weigh.cups if cup.pour == half.name]
    coats = [cup for cup in cups if cup.is_brush_coat]
    pours = [cup for cup in cups if not cup.is_brush_coat]
    cup_ml = math.ceil(max(cup.vacuum_cup_ml for cup in cups) / 50) * 50
    key = "step.weigh_second" if is_second else "step.weigh_first"
    bench.do(
        "weigh",
        say(key, cups=cups_text(pours)),
        say("step.weigh_coat", cups=cups_text(coats)) if coats else "",
        say("step.weigh_mix", cup=cup_ml),
        hands_on_min=15 * max(1, len(pours)),
        cautions=(*silicone.hazards, "vacuum"),
    )


def _pour(bench: Bench, half: Mix, silicone: Card, text: str, *, job: Job) -> None:
    bench.do(
        "pour",
        text,
        say(
            "step.pour_times",
            limit=limit_text(half.pour_by_min),
            temperature=f"{job.shop_temperature_c:g}",
            wait=wait_text(half.demould_h),
        ),
        hands_on_min=15,
        wait_min=half.demould_h * 60,
        cautions=silicone.hazards,
    )


def _turn_over(bench: Bench, mould: MouldResult, *, is_flat_back: bool, is_printed: bool) -> None:
    if is_flat_back:
        bed = say("step.turn_board", under=f"{mould.under_mm:.0f}")
    else:
        bed = say("step.turn_printed") if is_printed else say("step.turn_clay")
    bench.do("turn", say("step.turn"), bed, say("step.turn_seal"), hands_on_min=25)
    bench.do(
        "coats",
        say("step.coats", coats=RELEASE_COATS),
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
        ease = say(
            "step.open_ease",
            n=len(held),
            numbers=listed([str(pocket.number) for pocket in held]),
            deepest=f"{max(pocket.depth_mm for pocket in held):.0f}",
        )
    bench.do(
        "open",
        say("step.open_halves") if n_halves > 1 else say("step.open_one"),
        ease,
        say("step.open_sticks") if open_ports(mould) else "",
        say("step.open_away"),
        hands_on_min=30,
    )
    cured_h, _, _ = full_cure_at(silicone, temperature_c=temperature_c)
    opened_h, _, _ = demould_at(silicone, temperature_c=temperature_c)
    rest_h = max(0.0, cured_h - opened_h)
    bench.do(
        "rest",
        say("step.rest", wait=wait_text(rest_h), limit=f"{silicone.heat_limit_c.value:.0f}"),
        hands_on_min=5,
        wait_min=rest_h * 60,
        cautions=("heat",),
    )
