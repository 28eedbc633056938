"""From a plan to words: the sentences that terminal, paper and page share.

Nothing is computed here but roundings, units and the difference of two heights.
"""

import math

import numpy as np

from castplan import units
from castplan.materials.cautions import Caution
from castplan.materials.wording import limit_text, volume_text, wait_text, weight_text
from castplan.model import Finding, MeshCheck, Mix, Plan, Port, Step
from castplan.output import bench_view, formats

BASIS_FOOT = (
    "[m] measured   [c] computed   [d] data sheet   [s] standard, handbook"
    "   [p] common practice   [a] assumed"
)
SHEET_FIRST = "The supplier's data sheet always wins over this card."

_AXES = "xyz"
_BOXES = {"round": "Round box", "outline": "Box along the outline"}
# Within this of a file axis a direction is called by the axis' name.
_AXIS_DEG = 2.0
_LEVEL_DEG = 0.5  # a tilt below this is level: a bench is no better
# A split this close to the lowest point is the base board itself.
_FLAT_BACK_MM = 0.1
_WAYS = {
    "tilted": "in one tilted plane",
    "stepped": "in level stretches with steps between",
    "following": "along its edge, up and down",
}
_MAX_NAMED = 4  # pockets named by their numbers; more are counted
_SEVERITY_ORDER = {"stop": 0, "warn": 1, "note": 2}


def axis_words(direction: tuple[float, float, float]) -> str:
    """``the file's +z``, or the three numbers where no axis is within 2 degrees."""
    largest = max(range(3), key=lambda k: abs(direction[k]))
    norm = math.sqrt(sum(value * value for value in direction))
    if abs(direction[largest]) / norm >= math.cos(math.radians(_AXIS_DEG)):
        return f"the file's {'+' if direction[largest] > 0 else '-'}{_AXES[largest]}"
    numbers = ", ".join(f"{round(value / norm, 2) + 0.0:.2f}" for value in direction)
    return f"({numbers}) of the file's axes"


def direction_words(direction: tuple[float, float, float]) -> str:
    """``along the file's +z``, ``along (0.12, 0.50, 0.86) of the file's axes``."""
    return f"along {axis_words(direction)}"


def pour_tilt_deg(plan: Plan) -> float:
    """How far the box leans from standing on its face at the pour, 0 below half a degree."""
    up, rest_up = np.asarray(plan.air.up), plan.air.frame.up
    cosine = float(np.clip(up @ rest_up / np.linalg.norm(up), -1.0, 1.0))
    tilt_deg = math.degrees(math.acos(cosine))
    return tilt_deg if tilt_deg >= _LEVEL_DEG else 0.0


def _pour_up(plan: Plan) -> str:
    """``the file's +y up``, and how far it is tilted."""
    words = f"{axis_words(tuple(float(value) for value in plan.air.frame.up))} up"
    tilt_deg = pour_tilt_deg(plan)
    if not tilt_deg:
        return words
    return f"{words}, tilted {tilt_deg:.0f} degrees until {axis_words(plan.air.up)} points up"


def _plural(count: int, noun: str) -> str:
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def vents(plan: Plan) -> tuple[Port, ...]:
    """The vents among the ports."""
    return tuple(port for port in plan.mould.ports if port.kind == "vent")


def gates(plan: Plan) -> tuple[Port, ...]:
    """The gates among the ports."""
    return tuple(port for port in plan.mould.ports if port.kind == "gate")


def sorted_findings(plan: Plan) -> list[Finding]:
    """Stops first, then warnings, then notes; each in the plan's order."""
    return sorted(plan.findings, key=lambda finding: _SEVERITY_ORDER[finding.severity])


def split_height_mm(plan: Plan) -> float:
    """The split at the walls of the box, above its floor."""
    return plan.line.box_height_mm - plan.mould.low_mm[2]


def is_flat_back(plan: Plan) -> bool:
    """Whether the part lies on the base board, without a clay bed."""
    is_level = plan.line.kind == "level"
    return is_level and split_height_mm(plan) - plan.mould.under_mm < _FLAT_BACK_MM


def _holding(plan: Plan) -> str:
    """What the rubber does at the pockets when the mould is opened, by their verdicts."""
    trapped = formats.trapped_text(plan.line.trapped_mm3)
    if trapped == "nothing":
        return "nothing holds the silicone"
    says = {"leaves freely": "leaves {} freely", "flexes out": "flexes out of {}"}
    says |= {"may tear": "may tear in {}", "locked": "is locked in {}"}
    parts = []
    for verdict, words in says.items():
        numbers = [flex.number for flex in plan.flex.pockets if flex.verdict == verdict]
        if numbers:
            parts.append(words.format(_pockets(numbers)))
    if not parts:
        return f"flex {trapped} of silicone out when you open"
    last = f" and {parts.pop()}" if len(parts) > 1 else ""
    return f"{trapped} is undercut: the rubber {', '.join(parts)}{last}"


def _pockets(numbers: list[int]) -> str:
    """``pocket 3``, ``pockets 1, 2 and 4``, ``9 pockets``."""
    if len(numbers) > _MAX_NAMED:
        return _plural(len(numbers), "pocket")
    if len(numbers) == 1:
        return f"pocket {numbers[0]}"
    return f"pockets {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def _drill(plan: Plan) -> str:
    gate = " ".join(
        f"gate {port.label}, {formats.length_text(port.diameter_mm)}" for port in gates(plan)[:1]
    )
    labels = [port.label for port in vents(plan)]
    if not labels:
        return f"open {gate or 'a gate'} where the pour sketch says; no vent is needed"
    names = labels[0] if len(labels) == 1 else f"{labels[0]} to {labels[-1]}"
    holes = f"{_plural(len(labels), 'vent')} ({names})"
    return f"open {f'{gate}, and ' if gate else ''}{holes} where the pour sketch says"


def _casting(mix: Mix) -> str:
    cups = f", {mix.times} times" if mix.times > 1 else ""
    return (
        f"Weigh resin A {weight_text(mix.a_g)} + B {weight_text(mix.b_g)} [c]{cups}; "
        f"pour within {limit_text(mix.pour_by_min)}, open after {wait_text(mix.demould_h)}."
    )


def _height(plan: Plan) -> str:
    return formats.both_lengths(split_height_mm(plan), error_mm=plan.sampling.pitch_mm)


def _span(plan: Plan) -> str:
    """Lowest and highest point of a split that is not level, above the base board."""
    ends = [z_mm for rim in plan.line.outlines for z_mm in rim.line_mm] or [plan.line.box_height_mm]
    low, high = (
        formats.rounded(z_mm - plan.mould.low_mm[2], error=plan.sampling.pitch_mm)
        for z_mm in (min(ends), max(ends))
    )
    return f"{low} mm [c]" if low == high else f"{low} to {high} mm [c]"


def _bedding(plan: Plan) -> str:
    if is_flat_back(plan):
        return "Stick it flat to the base board, no clay bed"
    if plan.line.kind == "level":
        return f"Clay up to {_height(plan)} above the base board"
    if plan.line.kind == "tilted":
        return f"Clay in one tilted plane, {_span(plan)} above the base board at the part"
    return (
        f"Clay to the clay strip, {_span(plan)} above the base board, "
        f"and {_height(plan)} at the walls"
    )


def summary_lines(plan: Plan) -> list[str]:
    """Five lines that say what to do, in the order of the work."""
    n_stops = sum(finding.severity == "stop" for finding in plan.findings)
    first = f"Clear {_plural(n_stops, 'stop')} first (see the findings). " if n_stops else ""
    inside_mm = tuple(
        high - low for low, high in zip(plan.mould.low_mm, plan.mould.high_mm, strict=True)
    )
    pours = ", then ".join(
        f"{weight_text(mix.mass_g)} [c]{f' {mix.times} times' if mix.times > 1 else ''} "
        f"for the {mix.half} half"
        for mix in plan.amounts.mixes
        if mix.half
    )
    castings = [_casting(mix) for mix, _ in bench_view.cups_as_mixes(plan) if not mix.half]
    return [
        f"{first}Turn it so {axis_words(plan.draw.direction)} faces up; "
        "the upper half leaves that way.",
        f"{_bedding(plan)}; {_holding(plan)}.",
        f"{_BOXES.get(plan.build.box.shape, 'Box')} {formats.size_text(inside_mm)} inside; "
        f"weigh silicone {pours}.",
        f"Stand it with {_pour_up(plan)}; {_drill(plan)}.",
        " ".join(castings) or "No resin is planned.",
    ]


def _draw_reason(plan: Plan) -> str:
    best, *others = plan.draw.candidates
    trapped = formats.trapped_text(best.trapped_mm3)
    if plan.draw.is_asked_for:
        return f"as asked; split level it traps {trapped}"
    n_tried = _plural(plan.draw.n_directions, "direction")
    if any(other.trapped_mm3 < best.trapped_mm3 for other in others):
        return f"of {n_tried} it makes the least work; split level it traps {trapped}"
    reason = f"of {n_tried}, split level, it traps least, {trapped}"
    if trapped == "nothing":
        reason = f"of {n_tried} it traps nothing"
    if others:
        reason += f" (the next: {formats.trapped_text(others[0].trapped_mm3)})"
    return reason


def _split(plan: Plan) -> str:
    line = plan.line
    if is_flat_back(plan):
        return "Split it at its flat back, which lies on the base board: no other height traps less"
    traps = f"it traps {formats.trapped_text(line.trapped_mm3)}"
    if line.kind != "level":
        way = _WAYS[line.kind]
        level = formats.trapped_text(plan.parting.trapped_at_mm3)
        reason = f"as asked; {traps}" if line.is_asked_for else f"{traps}, a level split {level}"
        return f"Split it {way}, {_span(plan)} above the base board: {reason}"
    if line.is_asked_for:
        return f"Split it level, {_height(plan)} above the base board, as asked: {traps}"
    low, high = (
        formats.rounded(z_mm - plan.mould.low_mm[2], error=plan.sampling.pitch_mm)
        for z_mm in (plan.parting.free_low_mm, plan.parting.free_high_mm)
    )
    others = f"anywhere from {low} to {high} mm traps as little"
    if low == high:
        others = "every other height traps more"
    return f"Split it level, {_height(plan)} above the base board: {others}"


def _air_reason(plan: Plan) -> str:
    air, n_vents = plan.air, len(vents(plan))
    reason = f"{_plural(n_vents, 'vent')} let{'s' if n_vents == 1 else ''} the air out"
    if not n_vents:
        reason = "no vent is needed"
    kept = formats.trapped_text(air.small_mm3)
    if kept != "nothing":
        small = _plural(air.n_small, "small high point")
        reason += f"; {small} without a vent may keep {kept} of air"
    return reason


def decision_sentences(plan: Plan) -> tuple[str, str, str]:
    """Draw, split and pour: what was decided and why, one sentence each."""
    gate = " ".join(
        f"through gate {port.label}{', from below,' if port.is_riser else ''}"
        for port in gates(plan)[:1]
    )
    return (
        f"Turn it so {axis_words(plan.draw.direction)} faces up: {_draw_reason(plan)}.",
        f"{_split(plan)}.",
        f"Pour it {gate or 'where you like'} with {_pour_up(plan)}: {_air_reason(plan)}.",
    )


def sampling_sentence(plan: Plan) -> str:
    """How finely the part was looked at, and how well that fits."""
    sampling = plan.sampling
    difference = sampling.volume_difference_fraction
    fit = (
        "the mesh is open, so there is no exact volume to compare with"
        if difference is None
        else f"its volume comes out {formats.percent_text(abs(difference))} off the exact one"
    )
    unclosed = (
        f"; {_plural(sampling.n_unclosed, 'column')} unclosed, "
        f"{sampling.n_decided:,} of them decided by winding number"
        if sampling.n_unclosed
        else ""
    )
    return (
        f"Sampled every {sampling.pitch_mm:.2g} mm; {fit}; "
        f"the halves are good to {formats.percent_text(plan.mould.sampling_fraction)}{unclosed}."
    )


def caution_short(caution: Caution) -> str:
    """Title and first sentence, for beside a step."""
    first, _, _ = caution.text.partition(". ")
    return f"{caution.title}: {first.rstrip('.')}."


def caution_codes(caution: Caution) -> str:
    """UN GHS hazard statement codes, where they come from, and limits in air."""
    codes = caution.source
    if caution.h_codes:
        codes = f"{', '.join(caution.h_codes)} ({caution.source})"
    return f"{codes}. In air: {caution.limits}" if caution.limits else codes


def step_times(step: Step) -> list[str]:
    """``25 min``, ``wait 16 h``."""
    hands = formats.time_text(step.hands_on_min)
    return [hands, f"wait {formats.time_text(step.wait_min)}"] if step.wait_min else [hands]


def schedule_sentence(plan: Plan) -> str:
    """Hands-on and waiting time of the whole job."""
    schedule = plan.schedule
    return (
        f"{formats.time_text(schedule.hands_on_min)} hands on {formats.mark(schedule.basis)}, "
        f"{formats.time_text(schedule.wait_min)} waiting {formats.mark(schedule.basis)}."
    )


def check_lines(check: MeshCheck, *, inches: bool) -> list[str]:
    """What the file holds, for a look before planning; lengths in inches first if `inches`."""
    size, other = formats.size_text(check.extent_mm), formats.size_inches(check.extent_mm)
    if inches:
        size, other = other, size
    if check.unit == "measured":
        unit = f"Unit: set by the measured length, 1 of the file is {check.mm_per_unit:.5g} mm."
    elif check.file_unit is None:
        alternative, short = ("inches", "in") if check.unit == "mm" else ("millimetres", "mm")
        factor = units.MM_PER_UNIT[short] / check.mm_per_unit
        as_other_mm = tuple(side * factor for side in check.extent_mm)
        unit = (
            f"Unit: read as {check.unit}, the file carries none. Read as {alternative} it would be "
            f"{formats.size_text(as_other_mm)}, {units.size_in_words(max(as_other_mm))}."
        )
    elif check.file_unit == check.unit:
        unit = f"Unit: {check.unit}, as the file says."
    else:
        unit = f"Unit: read as {check.unit}, though the file says {check.file_unit}."
    area_cm2 = check.area_mm2 / 100
    if check.is_watertight:
        closed = (
            f"Closed: yes. Volume {volume_text(units.ml_from_mm3(check.volume_mm3))} [c], "
            f"surface {area_cm2:.3g} cm2 [c]."
        )
    else:
        closed = (
            f"Closed: no. {_plural(check.n_open_edges, 'open edge')} round "
            f"{_plural(check.n_holes, 'hole')}: close them, or compare the planned amounts "
            f"with a weighed or displaced original."
        )
    facing = (
        "all inside out, turned"
        if check.is_inverted
        else "all the same way"
        if check.is_winding_consistent
        else "not all the same way: let the program that made the file rebuild the normals"
    )
    return [
        f"Size: {size} ({other}), {units.size_in_words(max(check.extent_mm))}.",
        unit,
        f"Mesh: {_plural(check.n_triangles, 'triangle')}, {_plural(check.n_vertices, 'corner')}, "
        f"{'1 body' if check.n_bodies == 1 else f'{check.n_bodies:,} bodies'}; "
        f"{check.n_merged_vertices:,} doubled corners joined, "
        f"{_plural(check.n_dropped_triangles, 'empty triangle')} dropped.",
        closed,
        f"Facing: {facing}.",
    ]
