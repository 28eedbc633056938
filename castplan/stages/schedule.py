"""The job in order, one thing to do per step, with its weights and times.

Minutes of handwork are assumed; waiting for a cure comes from the cards.
"""

import math
from dataclasses import dataclass

from castplan.materials.cards import Card, get_card, split_by_weight
from castplan.materials.wording import (
    limit_text,
    mix_text,
    volume_text,
    wait_text,
    weight_text,
)
from castplan.model import (
    AirResult,
    AmountsResult,
    DrawResult,
    Job,
    Mix,
    MouldResult,
    PartingResult,
    Port,
    ScheduleResult,
    Step,
    UndercutResult,
)

BASIS = (
    "assumed: common practice, no source for minutes of handwork, drying and clearing; "
    "cure times from the material cards"
)

# A parting this close to the lowest point is the base board itself: no clay.
FLAT_BACK_MM = 0.1
# Within this angle of the draw, ports run through the half that faces that way.
PORT_CONE_DEG = 60.0
# Under vacuum silicone rises to four or five times its volume (suppliers' public pages).
CUP_TIMES_MIX = 5
RELEASE_COATS = 3


@dataclass
class _Bench:
    """The steps so far."""

    steps: list[Step]

    def do(self, text, *, hands_on_min, wait_min=0.0, is_hold=False, cautions=()):
        self.steps.append(
            Step(
                number=len(self.steps) + 1,
                text=" ".join(text.split()),
                hands_on_min=float(hands_on_min),
                wait_min=float(wait_min),
                is_hold=is_hold,
                cautions=tuple(cautions),
            )
        )


def order_steps(
    draw: DrawResult,
    undercuts: UndercutResult,
    parting: PartingResult,
    air: AirResult,
    mould: MouldResult,
    amounts: AmountsResult,
    job: Job,
) -> ScheduleResult:
    """Write the steps in the order of the work.

    Parameters
    ----------
    draw, undercuts, parting, air, mould, amounts : records
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
    resin = get_card(job.resin, kind="resin")
    *halves, cast = amounts.mixes
    height_mm = parting.height_mm - mould.low_mm[2]
    is_flat_back = height_mm - mould.under_mm < FLAT_BACK_MM or halves[0].half == "lower"
    ports_in = _half_of_ports(draw, air)
    bench = _Bench([])
    _prepare(bench, mould, silicone)
    _set_up(bench, undercuts, mould, halves, is_flat_back=is_flat_back, bed_mm=height_mm)
    for place, half in enumerate(halves):
        if place:
            _turn_over(bench, mould, is_flat_back=is_flat_back)
        if half.half == ports_in or (ports_in == "side" and not place):
            _stand_sticks(bench, mould, ports_in=ports_in)
        level = "where the base board was" if place and not is_flat_back else "the mark"
        _pour(bench, half, silicone, level=level, job=job)
    _open_mould(bench, undercuts, mould, silicone, n_halves=len(halves))
    _cast(bench, mould, cast, resin, silicone, job=job)
    return ScheduleResult(
        steps=tuple(bench.steps),
        hands_on_min=sum(step.hands_on_min for step in bench.steps),
        wait_min=sum(step.wait_min for step in bench.steps),
        basis=BASIS,
    )


def _half_of_ports(draw: DrawResult, air: AirResult) -> str:
    lean = float(draw.frame.up @ air.frame.up)
    if abs(lean) < math.cos(math.radians(PORT_CONE_DEG)):
        return "side"
    return "upper" if lean > 0 else "lower"


def _prepare(bench: _Bench, mould: MouldResult, silicone: Card) -> None:
    bench.do(
        f"""Photograph the original from all sides, weigh it, and write down three sizes you can
        measure again on a cast. Sink it in water if it may get wet: it should push aside
        {volume_text(mould.part_ml)}; if not, the mesh is not this part. Get the owner's consent
        to the risk in writing.""",
        hands_on_min=20,
    )
    bench.do(
        "Clean the original and mend every flaw that should not be copied. Fill deep scratches.",
        hands_on_min=20,
        cautions=("dust",),
    )
    bench.do(
        "Seal the original if it is porous, with a sealer that does not attack it, and let it dry.",
        hands_on_min=15,
        wait_min=60,
        cautions=("solvent-release",),
    )
    bench.do(
        f"""Test patch: on a hidden spot brush release agent, then a spoonful of mixed silicone,
        partly over the clay you will use. Peel it after {wait_text(silicone.demould_h.value)}. Sign
        only if it is cured right through and nothing sticks. Keep this silicone away from:
        {"; ".join(silicone.incompatible)}.""",
        hands_on_min=15,
        wait_min=silicone.demould_h.value * 60,
        is_hold=True,
        cautions=silicone.hazards,
    )
    bench.do(
        "Spray or wipe a light coat of release agent on the original and let it dry.",
        hands_on_min=10,
        wait_min=10,
        cautions=("solvent-release",),
    )


def _set_up(
    bench: _Bench,
    undercuts: UndercutResult,
    mould: MouldResult,
    halves: list[Mix],
    *,
    is_flat_back: bool,
    bed_mm: float,
) -> None:
    length_mm, width_mm, box_mm = (
        high - low for high, low in zip(mould.high_mm, mould.low_mm, strict=True)
    )
    bench.do(
        f"Mark on the original the parting line, gate and vents from the sheet. {_blocked(mould)}",
        hands_on_min=20,
    )
    first_mm = box_mm
    if is_flat_back:
        first_mm = box_mm - bed_mm if halves[0].half == "upper" else bed_mm
        bench.do(
            """Stick the original to the base board on its flat side with thin double-sided tape
            or clay, so that it cannot float and nothing creeps under. No clay bed is needed.""",
            hands_on_min=15,
        )
    else:
        bench.do(
            f"""Bed the original in sulphur-free clay, held {mould.under_mm:.0f} mm above the base
            board at its lowest point. Bring the clay up to the parting line, {bed_mm:.1f} mm above
            the board, level out to the box walls, meeting the part at 90 degrees; smooth it, a
            rounded edge becomes flash.""",
            hands_on_min=60,
        )
    _plug_holes(bench, undercuts)
    bench.do(
        f"""Stand the box round it: {length_mm:.0f} x {width_mm:.0f} mm inside,
        {math.ceil(first_mm)} mm high at least, {mould.wall_mm:.0f} mm clear of the part. Glue it
        down, seal the corners, brace the long walls. Mark the pour height at {first_mm:.0f} mm.""",
        hands_on_min=30,
    )
    bench.do(
        f"""Water test: fill the box with water to the mark (fine dry grain if the part must stay
        dry) and watch it for 10 min. Pour it into a jug: it should be
        {volume_text(halves[0].net_ml)}; if it is off by more than a tenth, find out why.
        Dry everything. Sign when it held and the volume is right.""",
        hands_on_min=15,
        wait_min=30,
        is_hold=True,
    )
    if len(halves) > 1:
        keys = "Stick half-round keys on the board" if is_flat_back else "Press keys into the clay"
        bench.do(
            f"""{keys} along the rim, 8 to 12 mm across, less than half as deep, laid out so that
            the halves fit one way only.""",
            hands_on_min=20,
        )


def _plug_holes(bench: _Bench, undercuts: UndercutResult) -> None:
    bridges = [pocket.number for pocket in undercuts.pockets if pocket.kind == "bridge"]
    if bridges:
        bench.do(
            f"""Plug hole{_list(bridges)} across the draw with clay: left open, silicone runs
            through and holds the original until it is slit. Drill it in the cast instead.""",
            hands_on_min=15,
        )


def _stand_sticks(bench: _Bench, mould: MouldResult, *, ports_in: str) -> None:
    open_ports = _open_ports(mould)
    if not open_ports:
        return
    reach = "reaches the wall that is up at the pour" if ports_in == "side" else "stands out of it"
    sticks = "; ".join(f"{_name(port)}, {_size(port)}" for port in open_ports)
    bench.do(
        f"""Fix a smooth, greased stick on each mark so that it {reach}, true to the pour sketch:
        {sticks}. Or leave the sticks out and drill the silicone along the same lines later.""",
        hands_on_min=15,
    )


def _pour(bench: _Bench, half: Mix, silicone: Card, *, level: str, job: Job) -> None:
    cup_ml = math.ceil(half.volume_ml * CUP_TIMES_MIX / 50) * 50
    bench.do(
        f"""Weigh the silicone for the {half.name.lower()}: {mix_text(half.a_g, half.b_g)}.
        Take a cup of {cup_ml} ml or more. Mix slowly, scrape sides and bottom, tip into a second
        cup and mix again. If you have a chamber, degas until it has risen, fallen and gone quiet.
        The clock runs from the first touch of A and B.""",
        hands_on_min=15,
        cautions=(*silicone.hazards, "vacuum"),
    )
    bench.do(
        f"""Brush a first coat into all detail, then pour the {half.name.lower()} in a thin stream
        from high up into one low corner, not onto the part, up to {level}. Be done within
        {limit_text(half.pour_by_min)} of mixing (half its pot life at
        {job.shop_temperature_c:g} C). Log lot, weights and date. Leave it
        {wait_text(half.demould_h)}.""",
        hands_on_min=15,
        wait_min=half.demould_h * 60,
        cautions=silicone.hazards,
    )


def _turn_over(bench: _Bench, mould: MouldResult, *, is_flat_back: bool) -> None:
    bench.do(
        f"""Turn the box over. Leave the original in the silicone: do not lift it, or the next
        pour creeps under. {
            f"Take off the base board, raise the walls by {mould.under_mm:.0f} mm and mark there."
            if is_flat_back
            else "Take off the base board and all the clay, and wipe off what is left."
        } Seal the joint of box and silicone.""",
        hands_on_min=25,
    )
    bench.do(
        f"""Brush or spray {RELEASE_COATS} light coats of release agent on ALL bare silicone and
        on the part, 10 min apart, into the keys too. Sign before the second pour: without it the
        halves fuse and the original is entombed, and nobody sees it until it is too late.""",
        hands_on_min=15,
        wait_min=RELEASE_COATS * 10,
        is_hold=True,
        cautions=("solvent-release",),
    )


def _open_mould(
    bench: _Bench, undercuts: UndercutResult, mould: MouldResult, silicone: Card, *, n_halves: int
) -> None:
    held = [pocket for pocket in undercuts.pockets if pocket.kind == "pocket"]
    ease = ""
    if held:
        deepest_mm = max(pocket.depth_mm for pocket in held)
        ease = f"""Ease the silicone out of undercut{_list([p.number for p in held])} first, the
        deepest is {deepest_mm:.0f} mm in."""
    bench.do(
        f"""{"Open the halves at a corner and peel them" if n_halves > 1 else "Peel the mould"}
        slowly off the original. {ease} {"Pull the sticks." if _open_ports(mould) else ""}
        Put the original away safely. Cut the flash, number every piece.""",
        hands_on_min=30,
    )
    rest_h = max(0.0, silicone.full_cure_h.value - silicone.demould_h.value)
    bench.do(
        f"""Rest the open mould {wait_text(rest_h)} in air before the first cast. Warming it speeds
        this up: stay under {silicone.heat_limit_c.value:.0f} C.""",
        hands_on_min=5,
        wait_min=rest_h * 60,
        cautions=("heat",),
    )


def _cast(
    bench: _Bench, mould: MouldResult, cast: Mix, resin: Card, silicone: Card, *, job: Job
) -> None:
    copies = cast.times
    first = len(bench.steps) + 1
    each = f"Do steps {first} to {first + 3} for each of the {copies} copies." if copies > 1 else ""
    gate = next((port for port in mould.ports if port.kind == "gate"), None)
    bench.do(
        f"""{each} Dry and close the mould between rigid boards, evenly and lightly: tight bands
        bend the cavity and shut the vents. Set it with the gate up, as the pour sketch shows.
        Release agent in a light coat, dry, if the resin wants it.""",
        hands_on_min=10 * copies,
        wait_min=5 * copies,
        cautions=("solvent-release",),
    )
    bench.do(
        f"""Weigh the resin for one copy: {mix_text(cast.a_g, cast.b_g)}. {_too_little(cast, resin)}
        Keep it away from: {"; ".join(resin.incompatible)}. Mix at once and fully, scraping the
        cup, without whipping in air.""",
        hands_on_min=5 * copies,
        cautions=resin.hazards,
    )
    bench.do(
        f"""Pour into {f"gate {gate.label}" if gate else "the mould"} in one thin stream
        until resin stands in every vent, within {limit_text(cast.pour_by_min)} of mixing (half its
        pot life at {job.shop_temperature_c:g} C). Leave it {wait_text(cast.demould_h)}. Cast under
        pressure only if the mould was cured at that pressure, in a vessel rated for it.""",
        hands_on_min=5 * copies,
        wait_min=cast.demould_h * 60 * copies,
        cautions=(*resin.hazards, "pressure-pot"),
    )
    bench.do(
        f"""Take the cast out cool and lay it on a flat or fitted support until it is hard
        through, {wait_text(resin.full_cure_h.value)} from mixing: taken early, it warps.""",
        hands_on_min=10 * copies,
        wait_min=(resin.full_cure_h.value - cast.demould_h) * 60,
        cautions=resin.hazards,
    )
    bench.do(
        "Cut off gate and vents, then trim the flash and sand the seam.",
        hands_on_min=20 * copies,
        cautions=("dust",),
    )
    life = silicone.mould_life_casts
    bench.do(
        f"""Measure the three sizes on the first cast and on every fifth, and log them with lot,
        weights, temperature and the cast counter.
        {f"Plan on about {life.value:.0f} casts from this mould." if life else ""}""",
        hands_on_min=10,
    )


def _too_little(mix: Mix, card: Card) -> str:
    if card.smallest_mix_g is None or mix.mass_g >= card.smallest_mix_g.value:
        return ""
    enough_g = card.smallest_mix_g.value
    a_g, b_g = split_by_weight(enough_g, ratio_a=mix.a_g, ratio_b=mix.b_g)
    return f"""That is less than the {weight_text(enough_g)} this resin needs to cure well: mix
    A {weight_text(a_g)} and B {weight_text(b_g)} instead and pour the rest as a test piece."""


def _open_ports(mould: MouldResult) -> list[Port]:
    return [port for port in mould.ports if not port.is_blocked and port.length_mm > 0]


def _blocked(mould: MouldResult) -> str:
    blocked = [_name(port) for port in mould.ports if port.is_blocked]
    if not blocked:
        return ""
    return f"Part stands above {', '.join(blocked)}: lead it out sideways along the parting."


def _name(port: Port) -> str:
    return f"{port.kind} {port.label}"


def _size(port: Port) -> str:
    return f"{port.diameter_mm:g} mm thick, {port.length_mm:.0f} mm long"


def _list(numbers: list[int]) -> str:
    """`` 4``, or ``s 1, 4 and 7``: follows a noun."""
    words = [str(number) for number in numbers]
    return f" {words[0]}" if len(words) == 1 else f"s {', '.join(words[:-1])} and {words[-1]}"
