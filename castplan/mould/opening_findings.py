"""What vents, and the channels of all openings, ask of the shop, with what to do."""

import math

import numpy as np

from castplan import units
from castplan.air.records import HARMS, AirResult
from castplan.geometry.channels import WEB_MM
from castplan.job import Job
from castplan.materials.gate import off_cup_mm
from castplan.materials.wording import listed
from castplan.mould.off_cups import widest_mm
from castplan.mould.records import Mould
from castplan.record import Finding, Frame, finding
from castplan.texts.told import tell

MANY_VENTS = 8
NEARLY_MM = 0.01  # rounding of places


def list_opening_findings(
    draw_frame: Frame, air: AirResult, mould: Mould, job: Job
) -> tuple[Finding, ...]:
    """Findings of high points, where vents stand, and the ways out, in the order of the work.

    Parameters
    ----------
    draw_frame : Frame
    air : AirResult
    mould : Mould
        Its ports and their ways out.
    job : Job
    """
    vents = mould.vents
    return (
        *_openings(air, mould.block, job),
        *_kept_off(air),
        *_harms(air),
        *_routes(draw_frame, air, mould),
        *_under_cups(draw_frame, mould),
        *_webs(draw_frame, vents),
    )


def _harms(air):
    for code in HARMS:
        found = [harm for harm in air.harms if harm.code == code]
        if found:
            yield finding(
                f"vent-on-{code}",
                "warn" if code == "marked" else "note",
                "air",
                f"air_finding.vent_on_{code}",
                n=len(found),
                labels=listed([harm.label for harm in found]),
                where_mm=air.frame.point_in_part(found[0].place_mm),
            )


def _webs(draw_frame, vents):
    thin = [route for route in vents.routes if route.thin_web_mm is not None]
    if thin:
        worst = min(thin, key=lambda route: (route.thin_web_mm, route.label))
        yield finding(
            "thin-web",
            "warn",
            "air",
            "air_finding.thin_web",
            n=len(thin),
            labels=listed([route.label for route in thin]),
            web=f"{worst.thin_web_mm:.1f}",
            least=f"{WEB_MM:g}",
            where_mm=draw_frame.point_in_part(worst.path_mm[0]),
        )


def _kept_off(air):
    for k in air.kept_off:
        place_mm = air.frame.to_part(np.asarray(air.peaks[k].place_mm))
        told = {
            "place": ", ".join(str(round(float(value))) for value in place_mm),
            "air": units.digits(air.peaks[k].air_mm3 / 1000, 2),
        }
        name = "kept_off_open" if k in air.opened else "kept_off_left"
        yield finding(
            name.replace("_", "-"),
            "warn",
            "air",
            f"air_finding.{name}",
            **told,
            where_mm=tuple(float(v) for v in place_mm),
        )


def _openings(air, mould, job):
    roof = air.peaks[air.opened[0]] if air.opened else None
    if roof is not None and roof.roof_mm > job.vent_pitch_mm:
        yield finding(
            "level-roof",
            "warn",
            "air",
            "air_finding.level_roof",
            area=units.digits(roof.roof_mm2 / 100, 2),
            length=f"{roof.roof_mm:.0f}",
            pitch=f"{job.vent_pitch_mm:.0f}",
            do="air_finding.level_roof_do"
            if air.gate is None
            else "air_finding.level_roof_gate_do",
        )
    n_vents = sum(port.kind == "vent" for port in mould.ports)
    if n_vents > MANY_VENTS:
        yield finding("many-vents", "warn", "air", "air_finding.many_vents", n_vents=n_vents)
    if air.left_mm3 >= 1000 * job.air_left_ml:
        left = units.digits(air.left_mm3 / 1000, 2)
        yield finding(
            "air-left",
            "warn",
            "air",
            "air_finding.air_left",
            left_with=tell("air_finding.air_left_with", n=len(air.vents), left=left),
            n=air.n_wanted - (air.gate is not None),
            limit=f"{job.air_left_ml:g}",
        )
    cavities = {port.cavity for port in mould.ports}
    if len(cavities) > 1:
        yield from _gates_alone(mould, cavities)
    elif not air.vents and air.extra_vents_mm:
        yield finding("vent-beside-gate", "note", "air", "air_finding.vent_beside")
    elif not air.vents:
        yield finding("gate-alone", "warn", "air", "air_finding.gate_alone")
    if air.n_small:
        yield finding(
            "small-peaks",
            "note",
            "air",
            "air_finding.small_peaks",
            n=air.n_small,
            height=units.digits(air.min_height_mm, 2),
            least=units.digits(air.min_air_mm3 / 1000, 2),
            small=_least_ml(air.small_mm3),
        )


def _gates_alone(mould, cavities):
    """Cavities whose gate is their only opening."""
    vented = {port.cavity for port in mould.ports if port.kind == "vent"}
    alone = [
        port for port in mould.ports if port.kind == "gate" and port.cavity in cavities - vented
    ]
    if alone:
        yield finding(
            "gate-alone",
            "warn",
            "air",
            "air_finding.gates_alone",
            n=len(alone),
            labels=listed([port.label for port in alone]),
            do="air_finding.gate_alone_do",
        )


def _least_ml(volume_mm3):
    # Sampling tells no thousandths of a millilitre in one point.
    if volume_mm3 < 1.0:
        return tell("air_finding.under", least="0.001")
    return units.digits(volume_mm3 / 1000, 2)


def _under_cups(draw_frame, mould):
    """Gates whose cup or cone a vent comes out in, for want of another way."""
    for port in mould.block.ports:
        if port.kind != "gate" or not port.cup_mm:
            continue
        room_mm = widest_mm(mould.block, mould.vents, port)
        if room_mm < max(port.cup_mm, mould.gate.cup_mm) - NEARLY_MM:
            (route,) = (each for each in mould.vents.routes if each.label == port.label)
            yield finding(
                "vent-under-cup",
                "warn",
                "air",
                "air_finding.under_cup",
                label=port.label,
                room=f"{math.floor(max(room_mm, 0.0))}",
                cup=f"{max(port.cup_mm, mould.gate.cup_mm):.0f}",
                where_mm=draw_frame.point_in_part(route.exit_mm),
            )


def _leans_off_cup(draw_frame, air, mould, route):
    """Whether a vent straight up would come out in the cup of a gate."""
    up = draw_frame.to_frame(air.frame.up)
    exits = {each.label: np.array(each.exit_mm) for each in mould.vents.routes if each.is_open}
    for gate in mould.block.ports:
        if gate.kind == "gate" and gate.cup_mm and gate.label in exits:
            step = exits[gate.label] - route.path_mm[0]
            away_mm = float(np.linalg.norm(step - (step @ up) * up))
            wide_mm = max(gate.cup_mm, mould.gate.cup_mm)
            if away_mm < off_cup_mm(wide_mm, bore_mm=route.bore_mm):
                return True
    return False


def _routes(draw_frame, air, mould):
    for route in mould.vents.routes:
        opening = "gate" if route.label.startswith("G") else "vent"
        told = {"label": route.label, "length": f"{route.length_mm:.0f}"}
        where = draw_frame.point_in_part(route.exit_mm)
        if route.route == "none":
            yield finding(
                "blocked-port",
                "stop" if opening == "gate" else "warn",
                "air",
                f"air_finding.blocked_{opening}",
                **told,
                do="air_finding.blocked_do",
                where_mm=where,
            )
        elif route.route == "sideways":
            wall = tell(f"air_finding.wall_{route.exit_face}")
            yield finding(
                "sideways-port",
                "warn",
                "air",
                f"air_finding.sideways_{opening}",
                wall=wall,
                **told,
                do="air_finding.sideways_do",
                where_mm=where,
            )
        elif route.route == "slanted":
            slant = f"{route.slant_deg:.0f}"
            is_off = opening == "vent" and _leans_off_cup(draw_frame, air, mould, route)
            yield finding(
                "slanted-port",
                "note",
                "air",
                "air_finding.slanted_off_cup" if is_off else f"air_finding.slanted_{opening}",
                slant=slant,
                **told,
                do="air_finding.slanted_do",
                where_mm=where,
            )
