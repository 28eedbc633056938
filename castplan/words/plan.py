"""From a plan to words: the sentences that terminal, paper and page share.

Nothing is computed here but roundings, units and the difference of two heights.
"""

from dataclasses import replace

from castplan import units
from castplan.bench.records import Cup, Mix
from castplan.materials.cautions import Caution
from castplan.materials.wording import (
    axis_text,
    limit_text,
    listed,
    wait_text,
    weight_text,
)
from castplan.mould.records import Port
from castplan.plan_record import Plan
from castplan.record import Finding
from castplan.texts import say
from castplan.words import bench as bench_view
from castplan.words import cut as cut_view
from castplan.words import formats
from castplan.words import nest as nest_view
from castplan.words.bed import bed_line, height_words, is_flat_back, span_words
from castplan.words.decision import Decision
from castplan.words.faces import side_words, which_words
from castplan.words.kinds import kind_sentence
from castplan.words.loose import pieces_sentence

_BOXES = {"round": "plan.round_box", "outline": "plan.box_along_the_outline"}
_WAYS = {
    "tilted": "plan.in_one_tilted_plane",
    "stepped": "plan.in_level_stretches_with_steps",
    "following": "plan.along_its_edge_up_and",
}
_FOR = {
    "loose": "plan.for_the_loose_pieces",
    "upper": "plan.for_the_upper_half",
    "lower": "plan.for_the_lower_half",
    "open": "plan.for_the_open_mould",
    "whole": "plan.for_the_open_mould",
}
_SEVERITY_ORDER = {"stop": 0, "warn": 1, "note": 2}


def basis_foot() -> str:
    """What the letters of the bases mean."""
    return say("plan.m_measured_c_computed_d")


def sheet_first() -> str:
    """That the data sheet wins."""
    return say("plan.the_supplier_s_data_sheet")


def axis_words(direction: tuple[float, float, float], *, of_box: bool = False) -> str:
    """``the file's +z``, or the three numbers where no axis is within 2 degrees."""
    return str(axis_text(direction, of_box=of_box))


def axis_of(plan: Plan, direction) -> str:
    """The same in the axes of the plan: of several parts in one box the box's."""
    way = tuple(float(value) for value in direction)
    return axis_words(way, of_box=plan.nest is not None)


def direction_words(direction: tuple[float, float, float], plan: Plan | None = None) -> str:
    """``along the file's +z``, ``along (0.12, 0.50, 0.86) of the file's axes``."""
    axis = axis_words(direction) if plan is None else axis_of(plan, direction)
    return say("plan.along", axis=axis)


def _pour_up(plan: Plan) -> str:
    """``the file's +y up``, and how far it is tilted."""
    words = say("plan.up", up=side_words(plan, plan.air.openings.frame.up))
    chosen = plan.air.attitude.chosen
    if not chosen.is_tilted:
        return words
    return say(
        "plan.tilted_degrees_until_points_up",
        words=words,
        tilt=f"{chosen.tilt_deg:.0f}",
        up=side_words(plan, plan.air.openings.up),
    )


def openings(plan: Plan, kind: str = "") -> tuple[Port, ...]:
    """The ports that lead out, all or those of one kind."""
    shut = {route.label for route in plan.mould.vents.routes if not route.is_open}
    return tuple(
        port
        for port in plan.mould.block.ports
        if port.label not in shut and kind in ("", port.kind)
    )


def vents(plan: Plan) -> tuple[Port, ...]:
    """The vents that lead out."""
    return openings(plan, "vent")


def gates(plan: Plan) -> tuple[Port, ...]:
    """The gates that lead out."""
    return openings(plan, "gate")


def sorted_findings(plan: Plan) -> list[Finding]:
    """Stops first, then warnings, then notes; each in the plan's order."""
    return sorted(plan.findings, key=lambda finding: _SEVERITY_ORDER[finding.severity])


def _drill(plan: Plan) -> str:
    ports, gate = gates(plan), ""
    if ports:
        key = "plan.gate" if len(ports) == 1 else "plan.gates"
        diameter = nest_view.bores_text(ports)
        gate = say(key, label=nest_view.gate_names(ports), diameter=diameter)
    labels = [port.label for port in vents(plan)]
    if not labels:
        return say("plan.open_gate", gate=gate or say("plan.a_gate"))
    names = labels[0] if len(labels) == 1 else _span_of(labels)
    holes = say("plan.vents_named", vents=formats.counted(len(labels), "vent"), names=names)
    if not gate:
        return say("plan.open_vents", vents=holes)
    return say("plan.open_gate_and_vents", gate=gate, vents=holes)


def _span_of(labels: list[str]) -> str:
    """``1 to 3``; one by one where numbers are left out."""
    if int(labels[-1]) - int(labels[0]) == len(labels) - 1:
        return say("plan.to", first=labels[0], last=labels[-1])
    return str(listed(labels))


def _casting(plan: Plan, mix: Mix, cup: Cup) -> str:
    told = {
        "parts": bench_view.parts_text(cup),
        "all": bench_view.both_text(cup),
        "pour_by": limit_text(mix.pour_by_min),
        "demould": wait_text(mix.demould_h),
    }
    again = say("plan.weigh_times", times=mix.times) if mix.times > 1 else ""
    weigh = say("plan.weigh_resin", **told, again=again)
    if not cup.made_up_g:
        return weigh
    needs = weight_text(cup.mass_g - cup.made_up_g)
    return f"{weigh} {say(f'plan.weigh_more_{plan.job.shop.least_mix}', needs=needs)}"


def summary_lines(plan: Plan) -> list[str]:
    """Which mould, then five lines that say what to do, in the order of the work."""
    n_stops = sum(finding.severity == "stop" for finding in plan.findings)
    first = (
        say("plan.clear_first_see_the_findings", n_stops=formats.counted(n_stops, "stop"))
        if n_stops
        else ""
    )
    pours = say("plan.then").join(
        say(_FOR[mix.half], mass=weight_text(mix.mass_g))
        for mix in plan.bench.amounts.mixes
        if mix.half
    )
    castings = [
        _casting(plan, *each) for each in bench_view.cups_as_mixes(plan) if not each[0].half
    ]
    turn = "plan.open_lay" if plan.split.is_open else "plan.turn_it_so_faces_up"
    turn = "cut.lay" if plan.split.is_cut else turn
    turned = say(turn, first=first, direction=side_words(plan, plan.split.draw.direction))
    saved = []
    if plan.nest is not None:
        turned = f"{first}{nest_view.lay_sentence(plan.nest)}"
        saved = [nest_view.saving_sentence(plan.nest)]
    if plan.split.is_open:
        pour = say("plan.open_pour", pour_up=_pour_up(plan))
    elif plan.split.is_cut:
        pour = cut_view.pour_line(plan, pour_up=_pour_up(plan), drill=_drill(plan))
    else:
        pour = say("plan.stand_it_with", pour_up=_pour_up(plan), drill=_drill(plan))
    return [
        *([kind_sentence(plan)] if plan.offers else []),
        turned,
        bed_line(plan),
        say(
            "plan.inside_weigh_silicone",
            shape=say(_BOXES.get(plan.split.box.shape, "plan.box")),
            inside=formats.size_text(cut_view.inside_mm(plan)),
            pours=pours,
        ),
        *([f"{formats.capital(pieces_sentence(plan))}."] if plan.split.pieces else []),
        pour,
        " ".join(castings) or say("plan.no_resin_is_planned"),
        *saved,
    ]


def _draw_reason(plan: Plan) -> str:
    best, *others = plan.split.draw.candidates
    trapped = formats.trapped_text(best.trapped_mm3)
    why = plan.split.draw.speaks_for_it
    if plan.nest is not None:
        return say("nest.draw_why", gap=formats.length_text(plan.nest.gap_mm, error_mm=0.5))
    if plan.split.is_open:
        return say("plan.open_draw", share=f"{100 * plan.split.back.back_fraction:.0f} %")
    if why == "asked":
        return say("plan.as_asked_split_level_it", trapped=trapped)
    n_tried = formats.counted(plan.split.draw.n_directions, "direction")
    if why == "pair":
        return say("plan.of_it_makes_the_least_with", n_tried=n_tried, trapped=trapped)
    if why == "work":
        return say("plan.of_it_makes_the_least", n_tried=n_tried, trapped=trapped)
    reason = say("plan.of_split_level_it_traps", n_tried=n_tried, trapped=trapped)
    if units.is_nothing(best.trapped_mm3):
        reason = say("plan.of_it_traps_nothing", n_tried=n_tried)
    if others:
        reason += say("plan.the_next", trapped=formats.trapped_text(others[0].trapped_mm3))
    return reason


def _parted(plan: Plan) -> Decision:
    """How it is split, and what is pulled out of it first."""
    split, pieces = _split(plan), pieces_sentence(plan)
    if not pieces:
        return split
    return replace(split, what=f"{split.what}. {formats.capital(pieces)}")


def _split(plan: Plan) -> Decision:
    line = plan.split.line
    if plan.split.is_cut:
        return cut_view.cut_decision(plan)
    if plan.split.is_open:
        trapped = formats.trapped_text(line.trapped_mm3)
        is_free = units.is_nothing(line.trapped_mm3)
        why = "plan.open_split_why" if is_free else "plan.open_split_held"
        return Decision(
            what=say("plan.open_split"), why=say(why) if is_free else say(why, trapped=trapped)
        )
    if is_flat_back(plan):
        return Decision(
            what=say("plan.split_it_at_its_flat"), why=say("plan.no_other_height_traps_less")
        )
    traps = say("plan.it_traps", trapped=formats.trapped_text(line.trapped_mm3))
    if line.kind != "level":
        way = say(_WAYS[line.kind])
        level = formats.trapped_text(plan.split.parting.trapped_at_mm3)
        reason = (
            say("plan.as_asked", traps=traps)
            if line.is_asked_for
            else say("plan.a_level_split", traps=traps, level=level)
        )
        what = say("plan.split_it_above_the_base", way=way, span=span_words(plan))
        return Decision(what=what, why=reason)
    if line.is_asked_for:
        return Decision(
            what=say("plan.split_it_level_above_the", height=height_words(plan)), why=traps
        )
    low, high = (
        formats.rounded(z_mm - plan.mould.block.low_mm[2], error=plan.sampling.pitch_mm)
        for z_mm in (plan.split.parting.free_low_mm, plan.split.parting.free_high_mm)
    )
    others = say("plan.anywhere_from_to_mm_traps", low=low, high=high)
    if low == high:
        others = say("plan.every_other_height_traps_more")
    return Decision(
        what=say("plan.split_it_level_above_the_2", height=height_words(plan)), why=others
    )


def _air_reason(plan: Plan) -> str:
    air, n_vents = plan.air.openings, len(vents(plan))
    reason = say("plan.let_the_air_out", n=n_vents, n_vents=formats.counted(n_vents, "vent"))
    if not n_vents:
        reason = say("plan.no_vent_is_needed")
    if not units.is_nothing(air.small_mm3):
        kept = formats.trapped_text(air.small_mm3)
        small = formats.counted(air.n_small, "small_high_point")
        reason += say("plan.without_a_vent_may_keep", small=small, kept=kept)
    return reason


def _turned(plan: Plan) -> str:
    if plan.nest is not None:
        return say("nest.turn", n=len(plan.nest.parts))
    turn = "cut.open_it" if plan.split.is_cut else "plan.turn_it"
    direction = plan.split.draw.direction
    turned, which = say(turn, direction=side_words(plan, direction)), which_words(plan, direction)
    return f"{turned}. {which}" if which else turned


def decisions(plan: Plan) -> tuple[Decision, Decision, Decision]:
    """Draw, split and pour: what was decided and why."""
    turn = Decision(what=_turned(plan), why=_draw_reason(plan))
    if plan.split.is_open:
        pour = Decision(
            what=say("plan.open_pour_it", pour_up=_pour_up(plan)), why=say("plan.open_pour_why")
        )
        return turn, _parted(plan), pour
    ports, gate = gates(plan), ""
    if ports:
        key = "plan.through_gate" if len(ports) == 1 else "plan.through_gates"
        key = "plan.through_gate_below" if ports[0].is_riser else key
        gate = say(key, label=nest_view.gate_names(ports))
    return (
        turn,
        _parted(plan),
        Decision(
            what=say(
                "plan.pour_it_with",
                gate=gate or say("plan.where_you_like"),
                pour_up=_pour_up(plan),
            ),
            why=_air_reason(plan),
        ),
    )


def sampling_sentence(plan: Plan) -> str:
    """How finely the part was looked at, and how well that fits."""
    sampling = plan.sampling
    difference = sampling.volume_difference_fraction
    pitch = units.digits(sampling.pitch_mm, 2)
    if difference is not None:
        return say(
            "cut.sampled" if plan.split.is_one_pour else "plan.sampled",
            pitch=pitch,
            difference=formats.percent_text(abs(difference)),
            halves=formats.percent_text(plan.mould.block.sampling_fraction),
        )
    return say(
        "plan.sampled_open", n=sampling.n_decided, pitch=pitch, n_decided=f"{sampling.n_decided:,}"
    )


def caution_short(caution: Caution) -> str:
    """Title and first sentence, for beside a step."""
    return f"{caution.title}: {caution.first}"


def caution_codes(caution: Caution) -> str:
    """UN GHS hazard statement codes by substance, where they come from, and limits in air."""
    named = [f"{one.name}: {', '.join(one.h_codes)}" for one in caution.substances]
    codes = f"{'; '.join(named)} ({caution.source})" if named else str(caution.source)
    return say("plan.in_air", codes=codes, limits=caution.limits) if caution.limits else codes
