"""Making the mould in order, one thing to do per step, with its weights and times.

Minutes of handwork are assumed; waiting for a cure comes from the cards.
"""

import math

from castplan.air.records import Route, VentsResult
from castplan.bench.cut_steps import cut_open, mark_and_stand
from castplan.bench.loose_steps import let_down, make_pieces, pull_first
from castplan.bench.patch import patch_texts
from castplan.bench.records import Mix, ScheduleResult
from castplan.bench.silicone_steps import pour_silicone, weigh_silicone
from castplan.bench.steps import (
    Cups,
    StepList,
    blocked_text,
    clay_text,
    holes_text,
    rods_text,
    sticks_texts,
)
from castplan.geometry.block import cup_depth_mm
from castplan.job import Job
from castplan.materials.cards import Card, demould_at, full_cure_at, get_card
from castplan.materials.wording import listed, volume_text, wait_text
from castplan.mould.records import KeysResult, Mould, MouldResult
from castplan.split.records import LoosePiece, PartingLine, Split, UndercutResult
from castplan.texts.told import UNTOLD, Told, tell

RELEASE_COATS = 3
# Minutes of a level clay bed, and of the clay in one hole (assumed).
CLAY_MIN = 60.0
PRINTED_MIN = 15.0  # a printed bed instead (assumed)
HOLE_MIN = 5.0
CONE_MIN = 5.0  # a gate's mouth (assumed)
DRILL_MIN = 10.0  # a vent in a mould that is there (assumed)
HOLLOW_MM3 = 500.0  # a hollow under the part that is worth filling (assumed)


def order_steps(split: Split, built: Mould, cups: Cups) -> ScheduleResult:
    """Write the steps that make the mould, in the order of the work.

    Parameters
    ----------
    split, built : records
        What the rooms before found.
    cups : Cups
        With the job: the cards and the shop's temperature.

    Returns
    -------
    ScheduleResult
        A part that lies flat on the base board gets no clay bed; a mould of
        one half is not turned over. Sticks stand before the pour that their
        route names. Total minutes assume one step at a time.

    Raises
    ------
    InputError
        A card id is unknown.
    """
    undercuts, line, weigh, job = split.undercuts, split.line, cups.weigh, cups.job
    mould, keys, vents = built.block, built.keys, built.vents
    silicone = get_card(job.silicone, kind="silicone")
    silicones = [mix for mix in cups.amounts.mixes if mix.half]
    halves = [mix for mix in silicones if mix.half != "loose"]
    steps = StepList()
    _prepare(steps, mould, job, patch_h=halves[0].demould_h, step_g=weigh.cups[0].aim_step_g)
    poured = [(mix, weigh) for mix in silicones if mix.half == "loose"]
    if poured:
        _sign_patch(steps)
    if split.pieces:
        mixed, board_mm = poured[0] if poured else None, built.boards.thickness_mm
        make_pieces(steps, split.loose, mixed, board_mm=board_mm)
    if mould.is_cut:
        mark_and_stand(steps, split, built)
    else:
        _bed(steps, undercuts, line, mould, vents, job)
    _box(steps, built, halves)
    if len(halves) > 1:
        _set_keys(steps, mould, keys)
    for place, half in enumerate(halves):
        if place:
            _turn_over(steps, built, split.pieces)
        pour = "second" if place else "first"
        if not mould.is_cut:
            _stand_sticks(steps, mould, _set_before(pour, vents))
        if not place and not poured:
            _sign_patch(steps)
        if not place:
            _release(steps, mould)
        key = "step.pour_open" if mould.is_one_pour else f"step.pour_{pour}"
        which = "open" if mould.is_one_pour else pour
        weigh_silicone(steps, half, weigh, which=which)
        pour_silicone(steps, half, tell(key), job=job)
    if mould.is_cut:
        cut_open(steps, split, built)
    else:
        opening = "block" if mould.is_open else "halves" if len(halves) > 1 else "one"
        _open_mould(steps, undercuts, vents, pieces=mould.piece_labels, opening=opening)
    _cut_cones(steps, mould)
    _rest(steps, silicone, temperature_c=job.shop_temperature_c)
    drilled = [route.label for route in vents.routes if route.is_open and not route.pour]
    if drilled:
        steps.do(
            "drill",
            tell("step.drill", n=len(drilled), vents=listed(drilled)),
            hands_on_min=DRILL_MIN * len(drilled),
        )
    return steps.schedule()


def _prepare(
    steps: StepList, mould: MouldResult, job: Job, *, patch_h: float, step_g: float
) -> None:
    silicone, n_inserts = get_card(job.silicone, kind="silicone"), job.inserts
    steps.do("inspect", tell("step.inspect", volume=volume_text(mould.part_ml)), hands_on_min=20)
    seat = tell("insert.seat", n=n_inserts) if n_inserts else UNTOLD
    steps.do("clean", tell("step.clean"), seat, hands_on_min=20 + n_inserts, cautions=("dust",))
    steps.do("seal", tell("step.seal"), hands_on_min=15, wait_min=60, cautions=("solvent-release",))
    steps.do(
        "patch",
        tell(
            "cut_step.patch" if mould.is_cut else "step.patch",
            wait=wait_text(patch_h),
            **patch_texts(silicone, step_g=step_g),
        ),
        *(tell("step.keep_away", thing=thing) for thing in silicone.incompatible),
        hands_on_min=10,
        wait_min=patch_h * 60,
        cautions=silicone.hazards,
    )


def _release(steps: StepList, mould: MouldResult) -> None:
    """Last before the pour: tape would not hold on it, and water and hands take it off."""
    is_clay = mould.bedding.kind == "clay"
    steps.do(
        "release",
        tell("step.release_clay" if is_clay else "step.release"),
        hands_on_min=10,
        wait_min=10,
        cautions=("solvent-release",),
    )


def _sign_patch(steps: StepList) -> None:
    """The hold before the first silicone; what comes before it goes on while the patch cures."""
    steps.do("sign", tell("step.sign"), hands_on_min=5, is_hold=True)


def _bed(
    steps: StepList,
    undercuts: UndercutResult,
    line: PartingLine,
    mould: MouldResult,
    vents: VentsResult,
    job: Job,
) -> None:
    bedding = mould.bedding
    is_flat = bedding.kind == "flat-back"
    mark = "step.mark_open" if mould.is_open else "step.mark_flat" if is_flat else "step.mark"
    steps.do("mark", tell(mark), *blocked_text(mould, vents), hands_on_min=20)
    if is_flat:
        steps.do("fix", hollow_text(line, mould), tell("step.fix_flat"), hands_on_min=15)
    elif bedding.kind == "printed-bed":
        steps.do("fix", tell("step.fix_printed"), hands_on_min=PRINTED_MIN)
    else:
        steps.do(
            "fix",
            tell("step.fix_clay", under=f"{mould.under_mm:.0f}"),
            clay_text(line, mould),
            hands_on_min=CLAY_MIN + _modelling_min(line, job),
        )
    _stop_holes(steps, line, mould)
    _plug_holes(steps, undercuts)


def _box(steps: StepList, built: Mould, halves: list[Mix]) -> None:
    mould = built.block
    length_mm, width_mm = mould.inside_mm
    bedding = mould.bedding
    steps.do(
        "box",
        tell(
            "step.box",
            length=f"{length_mm:.0f}",
            width=f"{width_mm:.0f}",
            height=math.ceil(_wall_high_mm(built)),
            clear=f"{mould.wall_mm:.0f}",
            mark=f"{bedding.mark_mm:.0f}",
        ),
        hands_on_min=30,
    )
    steps.do(
        "water",
        tell(
            "step.water",
            volume=volume_text(halves[0].net_ml),
            low=volume_text(0.9 * halves[0].net_ml),
            high=volume_text(1.1 * halves[0].net_ml),
        ),
        hands_on_min=15,
        wait_min=30,
        is_hold=True,
    )


def _set_keys(steps: StepList, mould: MouldResult, keys: KeysResult) -> None:
    """Keys by hand; a printed bed brings its own."""
    n_keys = len(keys.places_mm)
    if not n_keys or mould.bedding.kind == "printed-bed":
        return
    told = {"n": n_keys, "count": n_keys}
    told |= {"across": f"{keys.diameter_mm:g}", "depth": f"{keys.depth_mm:.1f}"}
    key = "step.keys_board" if keys.is_raised else "step.keys_clay"
    steps.do("keys", tell(key, **told), hands_on_min=20)


def _modelling_min(line: PartingLine, job: Job) -> float:
    """Minutes that clay takes beyond a level bed, by the job's own weights."""
    if line.kind == "level":
        return 0.0
    ends = [height_mm for rim in line.outlines for height_mm in rim.line_mm]
    weights = job.draw_weights
    climb_mm = max(ends) - min(ends)
    return float(round(weights.following_min + weights.line_min_per_mm * climb_mm))


def hollow_text(line: PartingLine, mould: MouldResult) -> Told:
    """To fill the hollow under a part that lies flat, where a hole leads into it; else empty."""
    opens = len(mould.bedding.shut_holes) < len(line.plugs)
    if not opens or line.filled_below_mm3 < HOLLOW_MM3:
        return UNTOLD
    return tell("step.fill_hollow", volume=volume_text(line.filled_below_mm3 / 1000))


def _stop_holes(steps: StepList, line: PartingLine, mould: MouldResult) -> None:
    n_holes = len(mould.bedding.clay_holes)
    if n_holes:
        holes = holes_text(line, mould.bedding)
        steps.do("stop", tell("step.stop", holes=holes), hands_on_min=HOLE_MIN * n_holes)


def _plug_holes(steps: StepList, undercuts: UndercutResult) -> None:
    bridges = [str(pocket.number) for pocket in undercuts.pockets if pocket.kind == "bridge"]
    if bridges:
        steps.do(
            "plug",
            tell("step.plug", n=len(bridges), numbers=listed(bridges)),
            hands_on_min=15,
        )


def _set_before(pour: str, vents: VentsResult) -> list[Route]:
    """What is set before a pour; the rods of a riser lie in the bed whenever its stick follows."""
    return [
        route
        for route in vents.routes
        if route.pour == pour or (route.route == "riser" and pour == "first")
    ]


def _stand_sticks(steps: StepList, mould: MouldResult, routes: list[Route]) -> None:
    """Rods and sticks of the routes that are set before one pour."""
    told = [*rods_text(routes, mould.bedding), *sticks_texts(routes)]
    if told:
        steps.do("sticks", *told, hands_on_min=15)


def _wall_high_mm(built: Mould) -> float:
    """Height of the walls: as the boards are cut, or as far over the silicone where none are."""
    walls = [b.size_mm[1] for b in built.boards.boards if b.name in ("long side", "short side")]
    mould = built.block
    deep_mm = mould.bedding.mark_mm if mould.is_one_pour else mould.high_mm[2] - mould.low_mm[2]
    return max(walls, default=deep_mm + built.boards.rim_mm)


def _turn_over(steps: StepList, built: Mould, pieces: tuple[LoosePiece, ...]) -> None:
    mould, kind = built.block, built.block.bedding.kind
    is_flat = kind == "flat-back"
    bed = {"flat-back": "board", "printed-bed": "printed"}.get(kind, "clay")
    has_rods = any(route.is_rod and route.pour == "first" for route in built.vents.routes)
    steps.do(
        "turn",
        tell("step.turn"),
        tell(f"step.turn_{bed}"),
        tell("step.turn_keys") if is_flat and len(built.keys.places_mm) else UNTOLD,
        tell("step.turn_rods") if kind != "clay" and has_rods else UNTOLD,
        let_down(pieces, free_mm=math.ceil(_wall_high_mm(built)) - mould.bedding.mark_mm),
        # From the silicone that lies on the board now to where the base board was.
        tell("step.turn_walls", mark=f"{mould.high_mm[2] - mould.low_mm[2]:.0f}"),
        hands_on_min=25,
    )
    steps.do(
        "coats",
        tell("step.coats", coats=RELEASE_COATS),
        hands_on_min=15,
        wait_min=RELEASE_COATS * 10,
        is_hold=True,
        cautions=("solvent-release",),
    )


def _open_mould(
    steps: StepList,
    undercuts: UndercutResult,
    vents: VentsResult,
    *,
    pieces: tuple[str, ...],
    opening: str,
) -> None:
    held = [pocket for pocket in undercuts.pockets if pocket.kind == "pocket"]
    ease = UNTOLD
    if held:
        ease = tell(
            "step.open_ease",
            n=len(held),
            numbers=listed([str(pocket.number) for pocket in held]),
            deepest=f"{max(pocket.depth_mm for pocket in held):.0f}",
        )
    steps.do(
        "open",
        pull_first(pieces),
        tell(f"step.open_{opening}"),
        ease,
        tell("step.open_sticks") if any(route.pour for route in vents.routes) else UNTOLD,
        tell("step.open_away"),
        hands_on_min=30,
    )


def _cut_cones(steps: StepList, mould: MouldResult) -> None:
    """The mouths of gates that open into a cone, alike or one by one."""
    cones: dict[tuple[str, str], list[str]] = {}
    for port in mould.ports:
        if (deep_mm := cup_depth_mm(port)) > 0:
            size = f"{port.cup_mm:.0f}", f"{deep_mm:.0f}"
            cones.setdefault(size, []).append(port.label)
    if cones:
        texts = [
            tell("step.open_cone", gates=listed(labels), across=across, deep=deep)
            for (across, deep), labels in cones.items()
        ]
        steps.do("cone", *texts, hands_on_min=CONE_MIN * sum(map(len, cones.values())))


def _rest(steps: StepList, silicone: Card, *, temperature_c: float) -> None:
    cured_h, _, _ = full_cure_at(silicone, temperature_c=temperature_c)
    opened_h, _, _ = demould_at(silicone, temperature_c=temperature_c)
    rest_h = max(0.0, cured_h - opened_h)
    steps.do(
        "rest",
        tell("step.rest", wait=wait_text(rest_h), limit=f"{silicone.heat_limit_c.value:.0f}"),
        hands_on_min=5,
        wait_min=rest_h * 60,
    )
