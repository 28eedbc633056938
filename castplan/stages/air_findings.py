"""What air and filling ask of the shop, with what to do."""

import numpy as np

from castplan.model import (
    AirResult,
    AttitudeResult,
    FillResult,
    Finding,
    Frame,
    GateResult,
    Job,
    MouldResult,
    PoursResult,
    RockingResult,
    TradeResult,
    VentsResult,
)

MANY_VENTS = 8
# A combination that saves less than this is not worth a finding (assumed).
WORTH_MIN = 10.0


def list_air_findings(
    draw_frame: Frame,
    attitude: AttitudeResult,
    air: AirResult,
    mould: MouldResult,
    vents: VentsResult,
    gate: GateResult,
    fill: FillResult,
    rocking: RockingResult,
    pours: PoursResult,
    trade: TradeResult,
    job: Job,
) -> tuple[Finding, ...]:
    """Findings of attitude, openings, fill and silicone pours, in the order of the work."""
    return (
        *_attitude(attitude, trade),
        *_gate(draw_frame, gate, job),
        *_openings(air, mould, job),
        *_routes(draw_frame, vents),
        *_fill(draw_frame, gate, fill, job),
        *_rocking(air, rocking),
        *_pours(draw_frame, pours),
    )


def _finding(code, severity, message, do, where_mm=None):
    return Finding(
        code=code, severity=severity, stage="air", message=message, do=do, where_mm=where_mm
    )


def _at(draw_frame, place_mm):
    return tuple(float(v) for v in draw_frame.to_part(np.asarray(place_mm)))


def _attitude(attitude, trade):
    chosen, *others = attitude.options
    if attitude.is_asked_for and others and chosen.cost_min > others[0].cost_min + WORTH_MIN:
        up = ",".join(f"{value:.3f}" for value in others[0].up)
        yield _finding(
            "other-attitude-cheaper",
            "note",
            f"As asked, the pour costs about {chosen.cost_min:.0f} min for vents and repair; "
            f"another way to stand the mould about {others[0].cost_min:.0f} min "
            f"({others[0].why}).",
            f"Leave --up away, or give --up={up}.",
        )
    own = [pair for pair in trade.combinations if pair.is_chosen]
    best = trade.best
    is_other = own and not np.allclose(own[0].draw, best.draw)
    if is_other and own[0].cost_min > best.cost_min + WORTH_MIN:
        draw = ",".join(f"{value:.3f}" for value in best.draw)
        yield _finding(
            "other-draw-cheaper",
            "note",
            f"Draw and pour together cost about {own[0].cost_min:.0f} min; another pair costs "
            f"about {best.cost_min:.0f} min, vents included.",
            f"Look at --draw={draw}, and compare the sheets.",
        )


def _gate(draw_frame, gate, job):
    chosen = gate.chosen
    if job.feed == "riser" and not gate.is_riser:
        yield _finding(
            "no-riser",
            "warn",
            "No riser finds room beside the part: the gate stands on a high point instead.",
            "Give a wider box with --wall, a smaller --gate, or pour it another way up.",
        )
    others = gate.options[1:]
    if gate.is_asked_for and others:
        best = min(others, key=lambda option: option.cost_min)
        if chosen.cost_min > best.cost_min + WORTH_MIN:
            yield _finding(
                "other-gate-cheaper",
                "note",
                f"As asked, the gate and its vents cost about {chosen.cost_min:.0f} min; another "
                f"place about {best.cost_min:.0f} min ({best.why}).",
                "Leave --feed away.",
            )
    if chosen.width_mm < gate.bore_mm:
        beside = "where it enters" if gate.is_riser else "under it"
        yield _finding(
            "gate-wider-than-part",
            "note",
            f"The gate is {gate.bore_mm:g} mm wide, the cavity {beside} only "
            f"{chosen.width_mm:.1f} mm: its stub covers the edges on both sides.",
            "Flatten the gate's end to the width of the part, or give a smaller --gate.",
            _at(draw_frame, gate.chosen.path_mm[0]),
        )


def _openings(air, mould, job):
    roof = air.peaks[air.opened[0]] if air.opened else None
    if roof is not None and roof.roof_mm > job.vent_pitch_mm:
        low = "" if air.gate is None else "the gate at the low side and "
        yield _finding(
            "level-roof",
            "warn",
            f"The cavity ends in a level roof of {roof.roof_mm2 / 100:.2g} cm2, "
            f"{roof.roof_mm:.0f} mm long: air spreads under it and need not find a vent.",
            f"Tilt the mould 15 to 30 degrees with {low}a vent at the highest corner, or set "
            f"vents every {job.vent_pitch_mm:.0f} mm along it.",
        )
    n_vents = sum(port.kind == "vent" for port in mould.ports)
    if n_vents > MANY_VENTS:
        yield _finding(
            "many-vents",
            "warn",
            f"This way up the cavity has {n_vents} high points that need a vent.",
            "Try another side up with --up, such as the other way round.",
        )
    if air.left_mm3 >= 1000 * job.air_left_ml:
        n_wanted = air.n_wanted - (air.gate is not None)
        yield _finding(
            "air-left",
            "warn",
            f"With {len(air.vents)} vents {air.left_mm3 / 1000:.2g} ml of air stays; "
            f"{n_wanted} vents would leave less than {job.air_left_ml:g} ml.",
            "Allow more vents with --max-vents, pour it another way up, or plan to fill the voids.",
        )
    if not air.vents and air.extra_vents_mm:
        yield _finding(
            "vent-beside-gate",
            "note",
            "The highest point takes the gate. One opening cannot let resin in and air out, so "
            "one more vent stands on the same roof.",
            "Pour slowly, so that the vent stays open to the end.",
        )
    elif not air.vents:
        yield _finding(
            "gate-alone",
            "warn",
            "The gate is the only opening: the part is too small for a vent beside it.",
            "Pour down one side of a wide gate, or fill the cavity and rock it before closing.",
        )
    if air.n_small:
        yield _finding(
            "small-peaks",
            "note",
            f"{air.n_small} smaller high points (rising under {air.min_height_mm:.2g} mm or "
            f"keeping under {air.min_air_mm3 / 1000:.2g} ml) have no vent; together they can keep "
            f"{air.small_mm3 / 1000:.2g} ml of air.",
            "Brush resin into the detail before closing, or use a pressure pot.",
        )


def _routes(draw_frame, vents):
    for route in vents.routes:
        name = "the gate" if route.label == "G" else f"vent {route.label}"
        where = _at(draw_frame, route.exit_mm)
        if route.route == "none":
            yield _finding(
                "blocked-port",
                "stop" if route.label == "G" else "warn",
                f"No straight way leads out from {name}: the part stands over it on every side.",
                "Pour with another side up, or cut the vent through the cast and mend the cast.",
                where,
            )
        elif route.route == "sideways":
            yield _finding(
                "sideways-port",
                "warn",
                f"Nothing leads up from {name}; it goes sideways along the parting, "
                f"{route.length_mm:.0f} mm to the {route.exit_face} wall.",
                "Fit a bent straw outside that stands above the rim of the cup.",
                where,
            )
        elif route.route == "slanted":
            yield _finding(
                "slanted-port",
                "note",
                f"Part or a key stands straight over {name}: it goes out at "
                f"{route.slant_deg:.0f} degrees, {route.length_mm:.0f} mm long.",
                "Set the stick at that slant, or drill along it with a guide block.",
                where,
            )


def _fill(draw_frame, gate, fill, job):
    if gate.unfed_ml > 0:
        yield _finding(
            "gate-too-low",
            "stop",
            f"The gate's cup stands lower than {gate.unfed_ml:.3g} ml of the cavity: resin never "
            "gets up there.",
            "Stand the mould another way (--up), or feed it by a riser (--feed riser).",
        )
    if gate.bore_mm < gate.least_bore_mm:
        yield _finding(
            "gate-narrow",
            "warn",
            f"Through a {gate.bore_mm:g} mm gate the cavity takes {gate.fill_low_s:.0f} to "
            f"{gate.fill_high_s:.0f} s to fill; it should take at most {gate.limit_s:.0f} s.",
            f"Make the gate {gate.least_bore_mm:g} mm wide, or take a slower resin.",
        )
    slow = [region for region in fill.thin if region.reach_mm < region.way_mm]
    for region in slow[:3]:
        yield _finding(
            "short-fill",
            "warn",
            f"A wall {region.gap_mm:.1f} mm thin runs {region.way_mm:.0f} mm from the next thick "
            f"place; resin gets about {region.reach_mm:.0f} mm before it gels.",
            "Warm the mould, take a thinner or slower resin, or raise the cup.",
            _at(draw_frame, region.place_mm),
        )
    if fill.basins:
        largest = max(fill.basins, key=lambda basin: basin.volume_ml)
        yield _finding(
            "spills",
            "note",
            f"{len(fill.basins)} low part{'s' if len(fill.basins) > 1 else ''} of the cavity "
            f"fill{'' if len(fill.basins) > 1 else 's'} by running over an edge, the largest "
            f"{largest.volume_ml:.2g} ml over a drop of {largest.drop_mm:.0f} mm: "
            "that folds air in.",
            "Pour slowly until they are full.",
            _at(draw_frame, largest.place_mm),
        )
    if fill.caught_ml >= 10 * job.air_left_ml:
        low, high = (100 * fraction for fraction in fill.pot_fraction)
        yield _finding(
            "caught-air",
            "warn",
            f"Filled from this gate the cavity still holds {fill.caught_ml:.2g} ml of caught air.",
            f"A pressure pot at {fill.pot_bar[0]:g} to {fill.pot_bar[1]:g} bar leaves {high:.0f} "
            f"to {low:.0f} % of that volume, if the mould has cured under the same pressure and "
            "the vessel is rated for it.",
        )


def _rocking(air, rocking):
    if not rocking.tilts:
        return
    ways = ", then ".join(
        f"{tilt.tilt_deg:.0f} degrees towards {tilt.toward_deg:.0f}" for tilt in rocking.tilts
    )
    first = air.vents[:1] if air.gate is None else ()
    kept = ", ".join(str(air.peaks[k].number) for k in (*first, *rocking.vents))
    yield _finding(
        "rocking-saves-vents",
        "note",
        f"Rocking can save {rocking.n_saved} vent{'s' if rocking.n_saved > 1 else ''}: with vents "
        f"on high points {kept} only, "
        f"tilt the full mould {ways} (counter-clockwise from x of the pour sketch); "
        f"{rocking.left_mm3 / 1000:.2g} ml of air stays instead of "
        f"{rocking.still_mm3 / 1000:.2g} ml without rocking.",
        "Only with a resin that stays thin long enough for the bubbles to run, and plugged vents "
        "on the low side.",
    )


def _pours(draw_frame, pours):
    for pour in pours.pours:
        if not pour.caught:
            continue
        n = len(pour.caught)
        if pour.tilt_deg:
            do = (
                f"Pour with the box tilted {pour.tilt_deg:.0f} degrees, the side at "
                f"{pour.toward_deg:.0f} degrees raised (counter-clockwise from x, seen along the "
                f"draw), then set it level: {pour.tilted_mm3 / 1000:.2g} ml stays. Brush a first "
                "coat there in any case."
            )
        else:
            do = "Brush a first coat into these places before the pour; no tilt frees them."
        yield _finding(
            "silicone-air",
            "warn",
            f"The {pour.half} half's silicone leaves {pour.caught_mm3 / 1000:.2g} ml of air under "
            f"the part, in {n} place{'s' if n > 1 else ''}.",
            do,
            _at(draw_frame, pour.caught[0].place_mm),
        )
