"""Words for air: how the mould stands, where openings leave, how the cavity fills."""

import math

import numpy as np

from castplan import units
from castplan.model import AttitudeOption, Combination, GateOption, Plan, Port, Route
from castplan.output import formats

_RESTS = {
    "+z": "lying, upper half up",
    "-z": "lying, lower half up",
    "+x": "standing, right side up",
    "-x": "standing, left side up",
    "+y": "standing, back up",
    "-y": "standing, front up",
    "": "in a cradle",
}
_SIDES = ("right", "back right", "back", "back left", "left", "front left", "front", "front right")
_ROUTES = {
    "groove": "groove in the parting",
    "straight": "straight up",
    "slanted": "slanted",
    "sideways": "sideways along the parting",
    "riser": "riser beside the part",
    "none": "no way out",
}
LETTERS = "ABC"
STRAIGHT_MM = 0.5


def stand_words(option: AttitudeOption | Combination) -> str:
    """``standing, right side up, tilted 15 degrees``; sides as drawn from above."""
    words = _RESTS[option.rest]
    return f"{words}, tilted {option.tilt_deg:.0f} degrees" if option.tilt_deg else words


def raise_words(option: AttitudeOption) -> str:
    """Which side of the box a tilt raises, as drawn in the pour sketch; nothing at no tilt."""
    if not option.tilt_deg:
        return ""
    side = _SIDES[round(option.toward_deg / 45) % 8]
    return f"raise its {side} side, at {option.toward_deg:.0f} degrees of the pour sketch"


def _air(volume_mm3: float) -> str:
    return formats.trapped_text(volume_mm3).replace("nothing", "none")


def _count(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def attitude_sentence(plan: Plan) -> str:
    """How to stand the mould, and why."""
    chosen = plan.attitude.chosen
    lead = "As asked: stand" if plan.attitude.is_asked_for else "Stand"
    words = f"{lead} the mould {stand_words(chosen)}"
    if chosen.tilt_deg:
        words += f" ({raise_words(chosen)})"
    return f"{words}: {chosen.why}."


def option_rows(plan: Plan) -> list[tuple[str, str, str, str, str]]:
    """Letter, how it stands, vents, minutes, why."""
    return [
        (
            letter,
            "; ".join(text for text in (stand_words(option), raise_words(option)) if text),
            str(option.n_vents),
            f"{option.cost_min:.0f} {formats.mark('assumed')}",
            option.why,
        )
        for letter, option in zip(LETTERS, plan.attitude.options, strict=False)
    ]


def route_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Label, way, bore, length, where it leaves the box, straw, when to place it."""
    return [_route_row(route) for route in plan.vents.routes]


def _route_row(route: Route):
    way = _ROUTES[route.route]
    if route.route == "slanted":
        way += f" {route.slant_deg:.0f} degrees"
    right, up = route.exit_from_corner_mm
    return (
        route.label,
        way,
        formats.length_text(route.bore_mm, error_mm=0.1),
        formats.length_text(route.length_mm, error_mm=1.0),
        f"{route.exit_face}: {right:.0f} right, {up:.0f} up",
        formats.length_text(route.straw_mm, error_mm=1.0) if route.straw_mm else "cup",
        route.when,
    )


def port_ways(plan: Plan) -> list[tuple[Port, np.ndarray]]:
    """Every port with the way it really runs, (k, 3), draw frame, from the cavity outward."""
    routes = {route.label: route.path_mm for route in plan.vents.routes}
    return [(port, routes.get(port.label, port.path_mm)) for port in plan.mould.ports]


def as_it_rests(plan: Plan, points_mm) -> np.ndarray:
    """Points of the draw frame as the box rests at the pour, the view of the pour sketch."""
    return plan.air.frame.to_frame(plan.draw.frame.to_part(np.asarray(points_mm)))


def is_straight_up(plan: Plan, path_mm) -> bool:
    """Whether a channel leaves the box straight over its place in the cavity."""
    ends = as_it_rests(plan, path_mm)[[0, -1], :2]
    return float(np.abs(ends[1] - ends[0]).max()) < STRAIGHT_MM


def port_row(plan: Plan, port: Port, path_mm, *, pitch_mm: float) -> tuple[str, ...]:
    """Number, kind, x and y of its mouth from the datum, bore, and how long the channel is."""
    datum = np.asarray(plan.mould.datum_mm)
    x, y = (
        f"{formats.rounded(value, error=max(pitch_mm, 0.1))} mm ({units.inch_fraction(value)} in)"
        for value in as_it_rests(plan, path_mm)[-1, :2] - datum
    )
    kind = "gate, riser" if port.is_riser else port.kind
    if port.is_blocked and not is_straight_up(plan, path_mm):
        kind += ", askew"
    elif port.is_blocked:
        kind += ", blocked"
    length_mm = float(np.linalg.norm(np.diff(path_mm, axis=0), axis=1).sum())
    long = formats.length_text(length_mm, error_mm=1.0)
    return (port.label, kind, x, y, formats.length_text(port.diameter_mm), long)


def peak_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Number, opening, height, rise above its saddle, air, roof, width there."""
    labels = {k: str(n) for n, k in enumerate(plan.air.vents, start=1)}
    if plan.air.gate is not None:
        labels[plan.air.gate] = "G"
    rows = []
    for k, peak in enumerate(plan.air.peaks):
        roof = "point" if peak.is_on_mesh else f"level, {peak.roof_mm:.0f} mm long"
        rows.append(
            (
                str(peak.number),
                labels.get(k, "closed"),
                formats.length_text(peak.height_mm, error_mm=0.1),
                formats.length_text(peak.rise_mm, error_mm=0.1),
                _air(peak.air_mm3),
                roof,
                formats.length_text(peak.width_mm, error_mm=0.1),
            )
        )
    return rows


def _seconds(low_s: float, high_s: float) -> str:
    digits = max(0, 1 - math.floor(math.log10(max(high_s, 1e-3))))
    return f"{low_s:.{digits}f} to {high_s:.{digits}f} s"


def gate_sentence(plan: Plan) -> str:
    """Where it feeds, bore, cup and fill time with the bounds of the viscosity."""
    gate = plan.gate
    way = (
        f"a riser, {gate.length_mm:.0f} mm of channel [c], fed from below"
        if gate.is_riser
        else "on a high point, fed from the top"
    )
    least = formats.length_text(gate.least_bore_mm)
    basis = "p" if plan.job.gate_mm is None else "a"
    regime = "" if gate.is_laminar else ", at the least: the flow is not laminar"
    return (
        f"Gate G is {way}: {gate.why}. Bore {formats.length_text(gate.bore_mm)} [{basis}], at "
        f"least {least} [c]: the cavity fills in "
        f"{_seconds(gate.fill_low_s, gate.fill_high_s)} [c]{regime} (limit {gate.limit_s:.0f} s, "
        f"Reynolds number {gate.reynolds:.0f}). Cup {gate.cup_mm:.0f} mm across [a], rim "
        f"{gate.cup_high_mm:.0f} mm over the box [a]; keep {gate.reservoir_ml:.2g} ml in it, "
        "which is in the weights. "
        "All vents end above its rim."
    )


def gate_lines(plan: Plan) -> list[str]:
    """Places for the gate, best first."""
    return [_gate_line(n, option) for n, option in enumerate(plan.gate.options, start=1)]


def _gate_line(number: int, option: GateOption) -> str:
    return f"{number}. {option.why} (about {option.cost_min:.0f} min with its vents [a])."


def fill_sentences(plan: Plan) -> list[str]:
    """What can keep the cavity from filling."""
    fill = plan.fill
    out = [f"Filled from gate G the cavity keeps {_air(1000 * fill.caught_ml)} of air."]
    for basin in fill.basins[:3]:
        out.append(
            f"{basin.volume_ml:.2g} ml [c] fill over an edge {basin.sill_mm:.0f} mm up, a drop of "
            f"{basin.drop_mm:.0f} mm: pour slowly there."
        )
    for region in fill.thin[:2]:
        out.append(
            f"Thinnest: {region.gap_mm:.1f} mm over {region.way_mm:.0f} mm; resin reaches about "
            f"{region.reach_mm:.0f} mm in its pot life [c]."
        )
    if fill.bubble_mm is not None:
        clean, rigid = fill.bubble_mm
        out.append(
            f"Bubbles from {clean:.2g} to {rigid:.2g} mm up rise {fill.bubble_way_mm:.0f} mm "
            f"before the resin gels ({fill.bubble_time_s:.0f} s); smaller ones stay [c]."
        )
    low, high = fill.pot_fraction[1], fill.pot_fraction[0]
    out.append(
        f"A pressure pot at {fill.pot_bar[0]:g} to {fill.pot_bar[1]:g} bar shrinks a bubble to "
        f"{100 * high:.0f} to {100 * low:.0f} % of its volume [c], if the mould has cured under "
        "the same pressure; only in a vessel rated for it."
    )
    return out


def pour_sentences(plan: Plan) -> list[str]:
    """Air in the silicone, half by half."""
    out = []
    for pour in plan.pours.pours:
        if not pour.caught:
            out.append(f"{pour.half.capitalize()} half: silicone rises freely everywhere.")
            continue
        text = (
            f"{pour.half.capitalize()} half: {_air(pour.caught_mm3)} of air stays under the part "
            f"in {_count(len(pour.caught), 'place')}; brush there first, as drawn below."
        )
        if pour.tilt_deg:
            text += (
                f" Tilted {pour.tilt_deg:.0f} degrees, raised at {pour.toward_deg:.0f} degrees "
                f"seen along the draw, {_air(pour.tilted_mm3)} stays."
            )
        out.append(text)
    return out


def rocking_sentence(plan: Plan) -> str:
    """Whether rocking the mould saves vents."""
    rocking = plan.rocking
    if not rocking.tilts:
        return "Rocking the mould saves no vent here."
    ways = ", then ".join(
        f"{tilt.tilt_deg:.0f} degrees towards {tilt.toward_deg:.0f}" for tilt in rocking.tilts
    )
    first = plan.air.vents[:1] if plan.air.gate is None else ()
    kept = ", ".join(str(plan.air.peaks[k].number) for k in (*first, *rocking.vents))
    return (
        f"Rocking saves {_count(rocking.n_saved, 'vent')}: open only gate and high points {kept}, "
        f"then tilt {ways}; "
        f"{_air(rocking.left_mm3)} of air stays."
    )


def trade_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Draw, how it stands, vents, silicone; minutes for draw, stand, air, together."""
    rows = []
    for pair in plan.trade.combinations:
        draw = ", ".join(f"{value:.2f}" for value in pair.draw)
        rows.append(
            (
                "here" if pair.is_chosen else "",
                draw,
                stand_words(pair),
                str(pair.n_vents),
                f"{pair.silicone_ml:.3g} ml",
                f"{pair.draw_min:.0f}",
                f"{pair.stand_min:.0f}",
                f"{pair.air_min:.0f}",
                f"{pair.cost_min:.0f}",
            )
        )
    return rows
