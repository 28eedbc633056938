"""The hand-made plan in the sizes and lengths that a layout has to bear. All INVENTED."""

from dataclasses import replace

from output.plan_air import make_vents
from output.plan_fixture import GATE, VENTS, make_plan, port

from castplan import records


def make_large_plan(*, factor: float, paper="A4") -> records.Plan:
    """The same plan with everything the paper draws multiplied by `factor`."""
    plan = make_plan(paper=paper)

    def grow(point):
        return tuple(factor * value for value in point)

    ports = tuple(
        replace(
            p,
            place_mm=grow(p.place_mm),
            path_mm=factor * p.path_mm,
            length_mm=factor * p.length_mm,
        )
        for p in plan.mould.block.ports
    )
    mould = replace(
        plan.mould.block,
        low_mm=grow(plan.mould.block.low_mm),
        high_mm=grow(plan.mould.block.high_mm),
        datum_mm=grow(plan.mould.block.datum_mm),
        box_view_mm=plan.mould.block.box_view_mm * factor,
        ports=ports,
    )
    sketches = tuple(
        replace(
            s,
            outline=tuple(r * factor for r in s.outline),
            lines=tuple(r * factor for r in s.lines),
            pockets=tuple((n, r * factor) for n, r in s.pockets),
        )
        for s in plan.sketches
    )
    parting = replace(
        plan.split.parting,
        heights_mm=plan.split.parting.heights_mm * factor,
        height_mm=plan.split.parting.height_mm * factor,
        free_low_mm=plan.split.parting.free_low_mm * factor,
        free_high_mm=plan.split.parting.free_high_mm * factor,
    )
    surface = plan.split.line.surface
    line = replace(
        plan.split.line,
        outlines=(),
        box_height_mm=plan.split.line.box_height_mm * factor,
        surface=replace(
            surface,
            x0_mm=surface.x0_mm * factor,
            y0_mm=surface.y0_mm * factor,
            step_x_mm=surface.step_x_mm * factor,
            step_y_mm=surface.step_y_mm * factor,
            heights_mm=surface.heights_mm * factor,
        ),
    )
    return replace(
        plan,
        split=replace(plan.split, parting=parting, line=line),
        mould=replace(plan.mould, block=mould, vents=make_vents(ports, mould.datum_mm)),
        sketches=sketches,
    )


def grid_of_vents(*, step_mm: float, from_mm: tuple[float, float]):
    """A gate and thirty vents in three rows."""
    x0, y0 = from_mm
    return (
        GATE,
        *(
            port(str(k + 1), "vent", x0 + step_mm * (k % 10), y0 + step_mm * (k // 10))
            for k in range(30)
        ),
    )


def forty_findings():
    """Findings of every rank, of one to four lines, out of order."""
    return tuple(
        records.Finding(
            code=f"invented-{k}",
            severity=("note", "warn", "stop")[k % 3],
            stage="draw",
            message=f"Finding {k}" + " says something about the part at length" * (k % 3 + 1) + ".",
            do="Do something about it, with care. " * (k % 4 + 1),
        )
        for k in range(40)
    )


VARIANTS = {
    "as made": make_plan(),
    "Letter": make_plan(paper="Letter"),
    "long name": make_plan(name="Ferry cabin coat hook, upper deck, " * 4),
    "name without a break": make_plan(name="ferry_cabin_coat_hook_" * 8),
    "nothing to open, nothing found": make_plan(ports=(), findings=()),
    "one vent": make_plan(ports=(GATE, VENTS[0])),
    "30 vents": make_plan(ports=grid_of_vents(step_mm=13.0, from_mm=(-4.0, -52.0))),
    "30 vents close together": make_plan(ports=grid_of_vents(step_mm=6.0, from_mm=(20.0, -40.0))),
    "tilted split": make_plan(line_kind="tilted"),
    "stepped split": make_plan(line_kind="stepped", paper="Letter"),
    "following split": make_plan(line_kind="following"),
    "40 findings": make_plan(findings=forty_findings()),
    "40 copies": make_plan(copies=40, paper="Letter"),
    "no steps": make_plan(steps=()),
    "two tiles": make_large_plan(factor=2.2),
    "many tiles": make_large_plan(factor=4.0, paper="Letter"),
    "landscape": make_large_plan(factor=1.3),
    "tiny": make_large_plan(factor=0.12),
}
