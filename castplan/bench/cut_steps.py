"""Steps of a block that is poured in one round the whole original and cut open with a knife.

Minutes of handwork are assumed, as in all steps.
"""

from castplan.air.records import VentsResult
from castplan.bench.steps import StepList, blocked_text, port_text
from castplan.materials.wording import axis_text, box_side_text
from castplan.mould.records import Mould, MouldResult
from castplan.split.records import Split
from castplan.texts.told import UNTOLD, Told, clauses, in_a_row, tell

STICKS_MIN = 30.0
CUT_MIN = 30.0


def mark_and_stand(steps: StepList, split: Split, built: Mould) -> None:
    """Mark parting line, openings and the knife's side; stand the original on its sticks."""
    steps.do(
        "mark",
        tell("cut_step.mark", side=_side(built, split)),
        *blocked_text(built.block, built.vents),
        hands_on_min=20,
    )
    steps.do(
        "fix",
        tell("cut_step.fix", sticks=_sticks(built.vents)),
        *_leaning(built.vents),
        tell("cut_step.fix_held", gates=_gates(built.block, built.vents)),
        hands_on_min=STICKS_MIN,
    )


def cut_open(steps: StepList, split: Split, built: Mould) -> None:
    """Free the block, cut it open, and flex it off the original."""
    slit = built.slit
    side = slit.chosen
    steps.do(
        "cut",
        tell("cut_step.free"),
        tell("cut_step.lay", up=axis_text(split.draw.direction), side=_side(built, split)),
        tell(
            "cut_step.cut",
            amplitude=f"{slit.amplitude_mm:.0f}",
            pitch=f"{slit.pitch_mm:.0f}",
            clear=f"{slit.clear_mm:.0f}",
        ),
        _channels(slit.channels),
        tell("cut_step.stop", depth=f"{side.depth_mm:.0f}", hinge=f"{side.hinge_mm:.0f}"),
        hands_on_min=CUT_MIN,
        cautions=("knives",),
    )
    steps.do(
        "open",
        tell("cut_step.open"),
        tell("cut_step.stiff") if side.verdict != "opens" else UNTOLD,
        tell("cut_step.away"),
        hands_on_min=30,
    )


def _side(built, split):
    way = split.draw.frame.point_in_part(built.slit.way)
    return box_side_text(built.slit.chosen.side, way)


def _sticks(vents: VentsResult) -> Told:
    return clauses(
        [
            tell(
                "step.stick",
                port=port_text(route),
                thick=f"{route.bore_mm:g}",
                long=f"{route.length_mm:.0f}",
            )
            for route in vents.routes
            if route.is_open
        ]
    )


def _leaning(vents):
    return [
        tell("step.slanted", port=port_text(route), slant=f"{route.slant_deg:.0f}")
        for route in vents.routes
        if route.route == "slanted"
    ]


def _gates(block: MouldResult, vents: VentsResult) -> Told:
    gates = {port.label for port in block.ports if port.kind == "gate"}
    return clauses([port_text(r) for r in vents.routes if r.label in gates and r.is_open])


def _channels(labels) -> Told:
    """That the cut follows channels in it; empty without such."""
    if not labels:
        return UNTOLD
    kinds = [("gate" if label.startswith("G") else "vent", label) for label in labels]
    named = in_a_row([tell(f"port.{kind}", label=label) for kind, label in kinds])
    return tell("cut_step.channels", n=len(labels), channels=named)
