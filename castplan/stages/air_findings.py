"""What air and filling ask of the shop, with what to do."""

import numpy as np

from castplan.materials.wording import tilts_text
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
from castplan.texts import say

MANY_VENTS = 8
# A combination that saves less than this is not worth a finding (assumed).
WORTH_MIN = 10.0
# A gate with more than this of the face that shows round it is told (assumed).
SHOWN_SHARE = 0.25


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
        *_kept_off(air),
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
            say(
                "air_finding.other_attitude",
                cost=f"{chosen.cost_min:.0f}",
                other_cost=f"{others[0].cost_min:.0f}",
                why=others[0].why,
            ),
            say("air_finding.other_attitude_do", up=up),
        )
    own = [pair for pair in trade.combinations if pair.is_chosen]
    best = trade.best
    is_other = own and not np.allclose(own[0].draw, best.draw)
    if is_other and own[0].cost_min > best.cost_min + WORTH_MIN:
        draw = ",".join(f"{value:.3f}" for value in best.draw)
        yield _finding(
            "other-draw-cheaper",
            "note",
            say(
                "air_finding.other_draw",
                cost=f"{own[0].cost_min:.0f}",
                other_cost=f"{best.cost_min:.0f}",
            ),
            say("air_finding.other_draw_do", draw=draw),
        )


def _gate(draw_frame, gate, job):
    chosen = gate.chosen
    if job.feed == "riser" and not gate.is_riser:
        yield _finding(
            "no-riser",
            "warn",
            say("air_finding.no_riser"),
            say("air_finding.no_riser_do"),
        )
    others = gate.options[1:]
    if gate.is_asked_for and others:
        best = min(others, key=lambda option: option.cost_min)
        if chosen.cost_min > best.cost_min + WORTH_MIN:
            yield _finding(
                "other-gate-cheaper",
                "note",
                say(
                    "air_finding.other_gate",
                    cost=f"{chosen.cost_min:.0f}",
                    other_cost=f"{best.cost_min:.0f}",
                    why=best.why,
                ),
                say("air_finding.other_gate_do"),
            )
    if chosen.width_mm < gate.bore_mm:
        told = {"bore": f"{gate.bore_mm:g}", "width": f"{chosen.width_mm:.1f}"}
        yield _finding(
            "gate-wider-than-part",
            "note",
            say("air_finding.wide_riser" if gate.is_riser else "air_finding.wide_gate", **told),
            say("air_finding.wide_gate_do"),
            _at(draw_frame, gate.chosen.path_mm[0]),
        )

    for code, applies in (
        ("gate_on_show", chosen.show_up_fraction > SHOWN_SHARE),
        ("gate_on_tip", chosen.is_on_tip),
        ("gate_on_worked", chosen.is_on_worked),
    ):
        if applies:
            yield _finding(
                code.replace("_", "-"),
                "note",
                say(f"air_finding.{code}", bore=f"{gate.bore_mm:g}"),
                say(
                    f"air_finding.{code}_do"
                    if code == "gate_on_show"
                    else "air_finding.gate_place_do"
                ),
                _at(draw_frame, chosen.path_mm[0]),
            )


def _kept_off(air):
    for k in air.kept_off:
        place_mm = air.frame.to_part(np.asarray(air.peaks[k].place_mm))
        told = {
            "place": ", ".join(str(round(float(value))) for value in place_mm),
            "air": f"{air.peaks[k].air_mm3 / 1000:.2g}",
        }
        name = "kept_off_open" if k in air.opened else "kept_off_left"
        yield _finding(
            name.replace("_", "-"),
            "warn",
            say(f"air_finding.{name}", **told),
            say(f"air_finding.{name}_do"),
            tuple(float(v) for v in place_mm),
        )


def _openings(air, mould, job):
    roof = air.peaks[air.opened[0]] if air.opened else None
    if roof is not None and roof.roof_mm > job.vent_pitch_mm:
        pitch = f"{job.vent_pitch_mm:.0f}"
        yield _finding(
            "level-roof",
            "warn",
            say(
                "air_finding.level_roof",
                area=f"{roof.roof_mm2 / 100:.2g}",
                length=f"{roof.roof_mm:.0f}",
            ),
            say("air_finding.level_roof_do", pitch=pitch)
            if air.gate is None
            else say("air_finding.level_roof_gate_do", pitch=pitch),
        )
    n_vents = sum(port.kind == "vent" for port in mould.ports)
    if n_vents > MANY_VENTS:
        yield _finding(
            "many-vents",
            "warn",
            say("air_finding.many_vents", n_vents=n_vents),
            say("air_finding.many_vents_do"),
        )
    if air.left_mm3 >= 1000 * job.air_left_ml:
        left = f"{air.left_mm3 / 1000:.2g}"
        yield _finding(
            "air-left",
            "warn",
            say(
                "air_finding.air_left",
                left_with=say("air_finding.air_left_with", n=len(air.vents), left=left),
                n=air.n_wanted - (air.gate is not None),
                limit=f"{job.air_left_ml:g}",
            ),
            say("air_finding.air_left_do"),
        )
    if not air.vents and air.extra_vents_mm:
        yield _finding(
            "vent-beside-gate",
            "note",
            say("air_finding.vent_beside"),
            say("air_finding.vent_beside_do"),
        )
    elif not air.vents:
        yield _finding(
            "gate-alone",
            "warn",
            say("air_finding.gate_alone"),
            say("air_finding.gate_alone_do"),
        )
    if air.n_small:
        yield _finding(
            "small-peaks",
            "note",
            say(
                "air_finding.small_peaks",
                n=air.n_small,
                height=f"{air.min_height_mm:.2g}",
                least=f"{air.min_air_mm3 / 1000:.2g}",
                small=_least_ml(air.small_mm3),
            ),
            say("air_finding.small_peaks_do"),
        )


def _least_ml(volume_mm3):
    # Sampling tells no thousandths of a millilitre in one point.
    if volume_mm3 < 1.0:
        return say("air_finding.under", least="0.001")
    return f"{volume_mm3 / 1000:.2g}"


def _routes(draw_frame, vents):
    for route in vents.routes:
        opening = "gate" if route.label == "G" else "vent"
        told = {"label": route.label, "length": f"{route.length_mm:.0f}"}
        where = _at(draw_frame, route.exit_mm)
        if route.route == "none":
            yield _finding(
                "blocked-port",
                "stop" if route.label == "G" else "warn",
                say(f"air_finding.blocked_{opening}", **told),
                say("air_finding.blocked_do"),
                where,
            )
        elif route.route == "sideways":
            wall = say(f"air_finding.wall_{route.exit_face}")
            yield _finding(
                "sideways-port",
                "warn",
                say(f"air_finding.sideways_{opening}", wall=wall, **told),
                say("air_finding.sideways_do"),
                where,
            )
        elif route.route == "slanted":
            slant = f"{route.slant_deg:.0f}"
            yield _finding(
                "slanted-port",
                "note",
                say(f"air_finding.slanted_{opening}", slant=slant, **told),
                say("air_finding.slanted_do"),
                where,
            )


def _fill(draw_frame, gate, fill, job):
    if gate.unfed_ml > 0:
        yield _finding(
            "gate-too-low",
            "stop",
            say("air_finding.gate_too_low", unfed=f"{gate.unfed_ml:.3g}"),
            say("air_finding.gate_too_low_do"),
        )
    if gate.bore_mm < gate.least_bore_mm:
        yield _finding(
            "gate-narrow",
            "warn",
            say(
                "air_finding.gate_narrow",
                bore=f"{gate.bore_mm:g}",
                low=f"{gate.fill_low_s:.0f}",
                high=f"{gate.fill_high_s:.0f}",
                limit=f"{gate.limit_s:.0f}",
            ),
            say("air_finding.gate_narrow_do", least=f"{gate.least_bore_mm:g}"),
        )
    slow = [region for region in fill.thin if region.reach_mm < region.way_mm]
    for region in slow[:3]:
        yield _finding(
            "short-fill",
            "warn",
            say(
                "air_finding.short_fill",
                gap=f"{region.gap_mm:.1f}",
                way=f"{region.way_mm:.0f}",
                reach=f"{region.reach_mm:.0f}",
            ),
            say("air_finding.short_fill_do"),
            _at(draw_frame, region.place_mm),
        )
    if fill.basins:
        largest = max(fill.basins, key=lambda basin: basin.volume_ml)
        yield _finding(
            "spills",
            "note",
            say(
                "air_finding.spills",
                n=len(fill.basins),
                largest=f"{largest.volume_ml:.2g}",
                drop=f"{largest.drop_mm:.0f}",
            ),
            say("air_finding.spills_do"),
            _at(draw_frame, largest.place_mm),
        )
    if fill.caught_ml >= 10 * job.air_left_ml:
        low, high = (100 * fraction for fraction in fill.pot_fraction)
        yield _finding(
            "caught-air",
            "warn",
            say("air_finding.caught", caught=f"{fill.caught_ml:.2g}"),
            say(
                "air_finding.caught_do",
                pot_low=f"{fill.pot_bar[0]:g}",
                pot_high=f"{fill.pot_bar[1]:g}",
                least=f"{high:.0f}",
                most=f"{low:.0f}",
            ),
        )


def _rocking(air, rocking):
    if not rocking.tilts:
        return
    first = air.vents[:1] if air.gate is None else ()
    kept = ", ".join(str(air.peaks[k].number) for k in (*first, *rocking.vents))
    yield _finding(
        "rocking-saves-vents",
        "note",
        say(
            "air_finding.rocking",
            n=rocking.n_saved,
            kept=kept,
            ways=tilts_text(rocking.tilts),
            left=f"{rocking.left_mm3 / 1000:.2g}",
            still=f"{rocking.still_mm3 / 1000:.2g}",
        ),
        say("air_finding.rocking_do"),
    )


def _pours(draw_frame, pours):
    for pour in pours.pours:
        if not pour.caught:
            continue
        if pour.tilt_deg:
            do = say(
                "air_finding.silicone_tilt_do",
                tilt=f"{pour.tilt_deg:.0f}",
                toward=f"{pour.toward_deg:.0f}",
                left=f"{pour.tilted_mm3 / 1000:.2g}",
            )
        else:
            do = say("air_finding.silicone_brush_do")
        yield _finding(
            "silicone-air",
            "warn",
            say(
                f"air_finding.silicone_{pour.half}",
                n=len(pour.caught),
                caught=f"{pour.caught_mm3 / 1000:.2g}",
            ),
            do,
            _at(draw_frame, pour.caught[0].place_mm),
        )
