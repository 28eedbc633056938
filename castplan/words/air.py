"""Words for air: how the mould stands, where openings leave, how the cavity fills."""

import math

import numpy as np

from castplan import units
from castplan.air.records import AttitudeOption, Combination, GateOption, Route
from castplan.air.records.ways import LONG_S
from castplan.materials.wording import side_text, tilts_text
from castplan.mould.records import Port
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import formats
from castplan.words.decision import Decision
from castplan.words.faces import side_words

_LYING_CUT = {"+z": "cut.lying_upper_up", "-z": "cut.lying_lower_up"}
_RESTS = {
    "+z": "air.lying_upper_half_up",
    "-z": "air.lying_lower_half_up",
    "+x": "air.standing_right_side_up",
    "-x": "air.standing_left_side_up",
    "+y": "air.standing_back_up",
    "-y": "air.standing_front_up",
    "": "air.in_a_cradle",
}
_ROUTES = {
    "groove": "air.groove_in_the_parting",
    "straight": "air.straight_up",
    "slanted": "air.slanted",
    "sideways": "air.sideways_along_the_parting",
    "riser": "air.riser_beside_the_part",
    "none": "air.no_way_out",
}
# Heads of a table stand above its rows, with their widths on paper in mm; None is the rest.
LETTERS = "ABC"
GATE = "G"


def show_sentence(plan: Plan) -> str:
    """Which side will be seen, and whether that was told, guessed or is not known."""
    show = plan.show
    if show.direction is None:
        return say("show_face.unknown")
    axis = side_words(plan, show.direction)
    if show.basis == "given":
        return say("show_face.given", axis=axis)
    return say("show_face.guessed", side=say(f"show_face.{show.why}"), axis=axis)


def stand_words(option: AttitudeOption | Combination, *, is_cut: bool = False) -> str:
    """``standing, right side up, tilted 15 degrees``; sides as drawn from above.

    A block that is cut open has lips, not halves.
    """
    words = say((_LYING_CUT if is_cut else {}).get(option.rest) or _RESTS[option.rest])
    return (
        say("air.tilted_degrees", words=words, tilt=f"{option.tilt_deg:.0f}")
        if option.is_tilted
        else words
    )


def raise_words(option: AttitudeOption) -> str:
    """Which side of the box a tilt raises, as drawn in the pour sketch; nothing at no tilt."""
    if not option.is_tilted:
        return ""
    return say(
        "air.raise_its_side_at_degrees",
        side=side_text(option.toward_deg),
        toward=f"{option.toward_deg:.0f}",
    )


def _air(volume_mm3: float) -> str:
    return say("number.none") if units.is_nothing(volume_mm3) else formats.trapped_text(volume_mm3)


def attitude_decision(plan: Plan) -> Decision:
    """How to stand the mould, and why."""
    chosen = plan.air.attitude.chosen
    stand = stand_words(chosen, is_cut=plan.split.is_cut)
    if chosen.is_tilted:
        stand = say("air.stand_raised", stand=stand, raised=raise_words(chosen))
    key = "air.stand_mould_asked" if plan.air.attitude.is_asked_for else "air.stand_mould"
    return Decision(what=say(key, stand=stand), why=str(chosen.why))


OPTION_HEADS = (
    ("", 8, True),
    ("air.stand_it", 54),
    ("air.vents", 14),
    ("air.minutes", 34),
    ("air.why", None),
)


def option_rows(plan: Plan) -> list[tuple[str, str, str, str, str]]:
    """Letter, how it stands, vents, minutes, why."""
    return [
        (
            letter,
            "; ".join(
                text
                for text in (stand_words(option, is_cut=plan.split.is_cut), raise_words(option))
                if text
            ),
            str(option.n_vents),
            f"{option.cost_min:.0f}",
            formats.capital(option.why),
        )
        for letter, option in zip(LETTERS, plan.air.attitude.options, strict=False)
    ]


ROUTE_HEADS = (
    ("", 9, True),
    ("air.way", 31),
    ("air.bore", 18),
    ("air.long", 21),
    ("air.leaves_by", 34),
    ("air.straw", 18),
    ("air.when", None),
)


def route_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Label, way, bore, length, where it leaves the box, straw, when to place it."""
    return [_route_row(route) for route in plan.mould.vents.routes]


def _route_row(route: Route):
    right, up = route.exit_from_corner_mm
    return (
        route.label,
        _way(route),
        formats.length_text(route.bore_mm, error_mm=0.1),
        formats.length_text(route.length_mm, error_mm=1.0),
        say(
            "air.right_up",
            exit_face=say(f"air.face_{route.exit_face}"),
            right=f"{right:.0f}",
            up=f"{up:.0f}",
        ),
        formats.length_text(route.straw_mm, error_mm=1.0) if route.straw_mm else say("air.cup"),
        str(route.when),
    )


def _way(route: Route):
    if route.route == "slanted":
        return say("air.slanted_degrees", slant=f"{route.slant_deg:.0f}")
    return say(_ROUTES[route.route])


def port_ways(plan: Plan) -> list[tuple[Port, np.ndarray]]:
    """Every port with the way it really runs, (k, 3), draw frame, from the cavity outward."""
    routes = {route.label: route.path_mm for route in plan.mould.vents.routes}
    return [(port, routes.get(port.label, port.path_mm)) for port in plan.mould.block.ports]


def as_it_rests(plan: Plan, points_mm) -> np.ndarray:
    """Points of the draw frame as the box rests at the pour, the view of the pour sketch."""
    return plan.air.openings.frame.to_frame(plan.split.draw.frame.to_part(np.asarray(points_mm)))


def is_straight_up(plan: Plan, port: Port) -> bool:
    """Whether a port's channel leaves the box straight over its place in the cavity."""
    return all(
        route.is_straight_up for route in plan.mould.vents.routes if route.label == port.label
    )


def port_row(plan: Plan, port: Port, path_mm, *, pitch_mm: float) -> tuple[str, ...]:
    """Number, kind, x and y of its mouth from the datum, bore, and how long the channel is."""
    datum = np.asarray(plan.mould.block.datum_mm)
    x, y = (
        f"{formats.rounded(value, error=max(pitch_mm, 0.1))} mm ({units.inch_fraction(value)} in)"
        for value in as_it_rests(plan, path_mm)[-1, :2] - datum
    )
    kind = say("air.gate_riser" if port.is_riser else f"plan_view.{port.kind}")
    if port.is_blocked and not is_straight_up(plan, port):
        kind = say("air.askew", opening=kind)
    elif port.is_blocked:
        kind = say("air.blocked", opening=kind)
    length_mm = float(np.linalg.norm(np.diff(path_mm, axis=0), axis=1).sum())
    long = formats.length_text(length_mm, error_mm=1.0)
    return (port.label, kind, x, y, formats.length_text(port.diameter_mm), long)


def gates_of(plan: Plan, *, cavity: int) -> list[Port]:
    """The gates of one cavity, in the order they are poured in."""
    ports = plan.mould.block.ports
    return [port for port in ports if port.kind == "gate" and port.cavity == cavity]


def peak_openings(plan: Plan) -> list[str]:
    """Label of the opening on each high point: G, a vent's number, or empty for none."""
    labels = {k: str(n) for n, k in enumerate(plan.air.openings.vents, start=1)}
    if plan.air.openings.gate is not None:
        labels[plan.air.openings.gate] = GATE
    for k in plan.air.openings.gates_too:
        cavity = plan.air.openings.peaks[k].cavity
        labels[k] = next((port.label for port in gates_of(plan, cavity=cavity)), GATE)
    return [labels.get(k, "") for k in range(len(plan.air.openings.peaks))]


def peak_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Number, opening, height, rise above its saddle, air, roof, width there."""
    rows = []
    for peak, opening in zip(plan.air.openings.peaks, peak_openings(plan), strict=True):
        roof = (
            say("air.point")
            if peak.is_on_mesh
            else say("air.level_mm_long", roof=f"{peak.roof_mm:.0f}")
        )
        rows.append(
            (
                str(peak.number),
                opening or say("air.closed"),
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
    return say("air.to_s", low=f"{low_s:.{digits}f}", high=f"{high_s:.{digits}f}")


def gate_sentence(plan: Plan) -> str:
    """Where it feeds, bore, cup and fill time with the bounds of the viscosity."""
    gate, feed = plan.mould.gate, plan.air.feed
    way = say("air.on_a_high_point_fed")
    if feed.is_riser:
        way = say("air.a_riser_mm_of_channel", length=f"{gate.length_mm:.0f}")
    elif feed.options and feed.chosen.peak is None:
        way = say("air.half_way_along_fed")
    least = formats.length_text(gate.least_bore_mm)
    sentence = say(
        "air.gate_g_is_bore_at" if gate.is_laminar else "air.gate_g_not_laminar",
        way=way,
        why=feed.why,
        bore=formats.length_text(gate.bore_mm),
        least=least,
        fill_low=_seconds(gate.fill_low_s, gate.fill_high_s),
        limit=f"{gate.limit_s:.0f}",
        reynolds=f"{gate.reynolds:.0f}",
        cup=f"{gate.cup_mm:.0f}",
        cup_high=f"{gate.cup_high_mm:.0f}",
        reservoir=units.digits(gate.reservoir_ml, 2),
    )
    others = feed.chosen.first_of_others if feed.options else ()
    if not others or plan.split.is_open:
        return sentence
    labels = [gates_of(plan, cavity=gate.cavity)[0].label for gate in others]
    return f"{sentence} {say('air.each_gate', n=len(others), labels=', '.join(labels))}"


def run_sentences(plan: Plan) -> list[str]:
    """How long resin runs along a long part, and in which order its gates are poured."""
    gate, run = plan.mould.gate, plan.air.feed.run
    if run is None:
        return []
    most = say("air.more_than_s", least=f"{LONG_S:.0f}")
    out = [
        say(
            "air.runs_along",
            length=f"{run.length_mm:.0f}",
            time=most if run.is_long else _seconds(run.low_s, run.high_s),
            limit=f"{gate.limit_s:.0f}",
            pot=f"{run.pot_life_s:.0f}",
        )
    ]
    labels = [port.label for port in gates_of(plan, cavity=run.cavity)]
    if len(labels) > 1:
        alone = most if run.is_long_alone else f"{run.alone_s:.0f} s"
        out.append(say("air.pour_gates_in_turn", labels=", ".join(labels), alone=alone))
    return out


def gate_lines(plan: Plan) -> list[str]:
    """Places for the gate, best first."""
    return [_gate_line(n, option) for n, option in enumerate(plan.air.feed.options, start=1)]


def _gate_line(number: int, option: GateOption) -> str:
    return say(
        "air.about_min_with_its_vents",
        number=number,
        why=formats.capital(option.why),
        cost=f"{option.cost_min:.0f}",
    )


def fill_sentences(plan: Plan) -> list[str]:
    """What can keep the cavity from filling."""
    fill = plan.mould.fill
    is_open = plan.split.is_open
    out = [say("air.filled_open" if is_open else "air.filled_keeps_no_air")]
    if not units.is_nothing(1000 * fill.caught_ml):
        out = [say("air.filled_from_gate_g_the", caught=_air(1000 * fill.caught_ml))]
    for basin in () if is_open else fill.basins[:3]:  # poured where it is wanted
        out.append(
            say(
                "air.ml_c_fill_over_an",
                volume=units.digits(basin.volume_ml, 2),
                sill=f"{basin.sill_mm:.0f}",
                drop=f"{basin.drop_mm:.0f}",
            )
        )
    for region in fill.thin[:2]:
        out.append(
            say(
                "air.thinnest_mm_over_mm_resin",
                gap=f"{region.gap_mm:.1f}",
                way=f"{region.way_mm:.0f}",
                reach=f"{region.reach_mm:.0f}",
            )
        )
    if fill.bubble_mm is not None:
        clean, rigid = fill.bubble_mm
        out.append(
            say(
                "air.bubbles_from_to_mm_up",
                clean=units.digits(clean, 2),
                rigid=units.digits(rigid, 2),
                bubble_way=f"{fill.bubble_way_mm:.0f}",
                bubble_time=f"{fill.bubble_time_s:.0f}",
            )
        )
    low, high = fill.pot_fraction[1], fill.pot_fraction[0]
    out.append(
        say(
            "air.a_pressure_pot_at_to",
            pot_bar=f"{fill.pot_bar[0]:g}",
            pot_bar_2=f"{fill.pot_bar[1]:g}",
            high=f"{100 * high:.0f}",
            low=f"{100 * low:.0f}",
        )
    )
    return out


def pour_sentences(plan: Plan) -> list[str]:
    """Air in the silicone, half by half."""
    out = []
    for pour in plan.mould.pours.pours:
        half = "open" if plan.split.is_open else pour.half
        if not pour.caught:
            freely = "cut.rises_freely" if half == "whole" else f"air.rises_freely_{half}"
            out.append(say(freely))
            continue
        sentences = [
            say(
                "cut.air_stays" if half == "whole" else f"air.air_stays_{half}",
                caught=_air(pour.caught_mm3),
                caught_2=formats.counted(len(pour.caught), "place"),
            )
        ]
        if pour.tilt_deg:
            sentences.append(
                say(
                    "air.tilted_degrees_raised_at_degrees",
                    tilt=f"{pour.tilt_deg:.0f}",
                    toward=f"{pour.toward_deg:.0f}",
                    tilted=_air(pour.tilted_mm3),
                )
            )
        out.append(" ".join(sentences))
    return out


def rocking_sentence(plan: Plan) -> str:
    """Whether rocking the mould saves vents."""
    rocking = plan.air.rocking
    if not rocking.tilts:
        return say("air.rocking_the_mould_saves_no")
    first = plan.air.openings.vents[:1] if plan.air.openings.gate is None else ()
    kept = ", ".join(str(plan.air.openings.peaks[k].number) for k in (*first, *rocking.vents))
    is_full = units.is_nothing(rocking.left_mm3)
    return say(
        "air.rocking_saves_no_air" if is_full else "air.rocking_saves_open_only_gate",
        n_saved=formats.counted(rocking.n_saved, "vent"),
        kept=kept,
        ways=tilts_text(rocking.tilts),
        left=_air(rocking.left_mm3),
    )
