"""A plan made by hand: every number here is INVENTED and serves the output tests only.

The part stands for a cabin coat hook of a 1960s river ferry: a back plate
with an arm and a turned-up tip, inside a box of 120 x 70 x 50 mm. Nothing
here was computed from a mesh; the records only have to hang together as far
as the paper needs (frames, box, ports and sketches agree with each other).
"""

from dataclasses import replace
from itertools import product

import numpy as np
from output.neutral import filled, worded
from output.plan_air import (
    make_attitude,
    make_feed,
    make_fill,
    make_gate,
    make_pours,
    make_rocking,
    make_trade,
    make_vents,
)
from output.plan_bench import bench_records, make_water
from output.plan_flex import make_draft_views, make_flex, make_remedies, make_seam
from output.plan_split import WALL_MM, make_draw, make_line, make_parting, make_undercuts
from output.plan_texts import FINDINGS, STEPS

from castplan import __version__, records
from castplan.part.records import Face, Faces
from castplan.texts.told import tell

EXTENT_MM = (120.0, 70.0, 50.0)
PITCH_MM = 0.3


def _check() -> records.MeshCheck:
    return filled(
        records.MeshCheck,
        n_triangles=18_432,
        n_vertices=9_214,
        n_merged_vertices=46_082,
        n_dropped_triangles=3,
        n_bodies=1,
        n_inner_shells=0,
        n_open_edges=0,
        n_nonmanifold_edges=0,
        n_holes=0,
        hole_mm2=0.0,
        largest_hole_mm2=0.0,
        doubt_mm3=0.0,
        is_watertight=True,
        is_one_sided=False,
        is_winding_consistent=True,
        is_inverted=False,
        volume_mm3=98_431.7,
        area_mm2=31_208.4,
        extent_mm=EXTENT_MM,
        file_unit=None,
        unit="mm",
        mm_per_unit=1.0,
        changes=(),
    )


def _part(name: str) -> records.Part:
    corners_mm = np.array(
        [[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], float
    ) * np.array(EXTENT_MM)
    return filled(
        records.Part,
        name=name,
        vertices_mm=corners_mm,
        faces=np.array([[0, 1, 3], [0, 3, 2]], np.int32),
        cap_faces=np.empty((0, 3), np.int32),
        check=_check(),
    )


POUR = records.Frame(rotation=np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]]))  # +y is up
DATUM_MM = (-WALL_MM, -(EXTENT_MM[2] + WALL_MM))


def port(label, kind, x_mm, y_mm, *, diameter_mm=2.5, height_mm=66.0, is_blocked=False):
    """A gate or vent at (x, y) of the pour view."""
    place = np.array([x_mm, y_mm, height_mm])
    return filled(
        records.Port,
        label=label,
        kind=kind,
        place_mm=(x_mm, y_mm, height_mm),
        path_mm=POUR.to_part(np.array([place, [x_mm, y_mm, 82.0]])),
        cup_mm=20.0 if kind == "gate" else 0.0,
        height_mm=height_mm,
        length_mm=82.0 - height_mm,
        diameter_mm=diameter_mm,
        is_blocked=is_blocked,
    )


GATE = port("G", "gate", 14.2, -12.4, diameter_mm=8.0)
VENTS = (
    port("1", "vent", 8.6, -34.1, height_mm=70.0),
    port("2", "vent", 91.3, -38.8, height_mm=45.0),
    port("3", "vent", 112.7, -21.5, diameter_mm=3.0, height_mm=45.0, is_blocked=True),
)


def _air(n_vents: int) -> records.AirResult:
    peaks = tuple(
        filled(
            records.Peak,
            number=number,
            place_mm=p.place_mm,
            rise_mm=6.0,
            air_mm3=310.0,
            roof_mm2=24.0,
        )
        for number, p in enumerate((GATE, *VENTS), start=1)
    )
    return filled(
        records.AirResult,
        frame=POUR,
        up=(0.0, 1.0, 0.0),
        peaks=peaks,
        gate=0,
        vents=tuple(range(1, min(n_vents, 3) + 1)),
        extra_vents_mm=((20.0, -20.0, 66.0),),
        n_small=12,
        small_mm3=96.0,
        min_height_mm=0.5,
        min_air_mm3=20.0,
    )


def _faces() -> Faces:
    """Six sides by names that a hook may have."""
    sides = ("end", "end", "side", "side", "flat_back", "front")
    return Faces(
        faces=tuple(
            Face(
                direction=tuple(float(v) for v in sense * np.eye(3)[axis]),
                name=tell("face.the", side=tell(f"face.{side}")),
            )
            for side, (axis, sense) in zip(sides, product(range(3), (-1.0, 1.0)), strict=True)
        )
    )


def box_view_mm() -> np.ndarray:
    """Corners of the box in the pour view: x by minus z."""
    low_x, high_x = -WALL_MM, EXTENT_MM[0] + WALL_MM
    low_y, high_y = DATUM_MM[1], WALL_MM
    return np.array([[low_x, low_y], [high_x, low_y], [high_x, high_y], [low_x, high_y]])


def bedding(kind="clay", *, height_mm=0.0, **changes) -> records.Bedding:
    """What the part lies in; a flat back lies 12 mm higher than the bottom of the box."""
    return filled(
        records.Bedding,
        kind=kind,
        **{"board_mm": -WALL_MM + (12.0 if kind == "flat-back" else 0.0), "height_mm": height_mm}
        | changes,
    )


def _mould(ports) -> records.MouldResult:
    return filled(
        records.MouldResult,
        low_mm=(-WALL_MM, -WALL_MM, -WALL_MM),
        high_mm=tuple(side + WALL_MM for side in EXTENT_MM),
        wall_mm=WALL_MM,
        over_mm=12.0,
        under_mm=12.0,
        box_ml=1001.7,
        part_ml=98.4,
        lower_ml=363.8,
        upper_ml=539.5,
        bounding_box_ml=581.7,
        sampling_fraction=0.004,
        bedding=bedding(height_mm=30.2, clay_holes=(1, 2)),
        ports=tuple(ports),
        datum_mm=DATUM_MM,
        box_view_mm=box_view_mm(),
        ports_ml=4.9,
    )


def mix(name: str, *, card: str, mass_g: float, half: str | None = None, times: int = 1):
    """One cup with an invented 100:10 (silicone) or 100:90 (resin) ratio."""
    share = 10.0 if card.startswith("silicone") else 90.0
    density = 1.08 if card.startswith("silicone") else 1.05
    return filled(
        records.Mix,
        name=name,
        card=card,
        net_ml=mass_g / density / 1.1,
        waste_fraction=0.1,
        volume_ml=mass_g / density,
        mass_g=mass_g,
        a_g=mass_g * 100 / (100 + share),
        b_g=mass_g * share / (100 + share),
        density_g_ml=density,
        pot_life_min=45.0 if share == 10.0 else 3.0,
        pour_by_min=22.0 if share == 10.0 else 1.5,
        pour_ml_min=150.0 if share == 10.0 else 300.0,
        demould_h=16.0 if share == 10.0 else 0.5,
        times=times,
        half=half,
    )


def _amounts(copies: int) -> records.AmountsResult:
    mixes = (
        mix("First half", card="silicone-tin-25a", mass_g=641.4, half="upper"),
        mix("Second half", card="silicone-tin-25a", mass_g=432.5, half="lower"),
        mix("Resin, one copy", card="polyurethane-fast-70d", mass_g=120.9, times=copies),
    )
    return filled(
        records.AmountsResult,
        mixes=mixes,
        silicone_g=1073.9,
        resin_g=120.9 * copies,
        bounding_box_g=691.0,
        assumptions=(
            records.Sourced(
                value=12.0,
                unit="mm",
                basis="common practice",
                source="silicone at the sides, simple block mould",
                low=10.0,
                high=15.0,
            ),
            records.Sourced(
                value=0.1, unit="1", basis="from memory", source="waste in cup and on stick"
            ),
            records.Sourced(
                value=1.08, unit="g/ml", basis="data sheet", source="density of the mixed silicone"
            ),
        ),
    )


def _schedule() -> records.ScheduleResult:
    steps = tuple(
        filled(
            records.Step,
            number=number,
            text=text,
            hands_on_min=float(hands),
            wait_min=float(wait),
            is_hold=is_hold,
            cautions=cautions,
        )
        for number, (text, (hands, wait, is_hold, cautions)) in enumerate(STEPS, start=1)
    )
    return filled(
        records.ScheduleResult,
        steps=steps,
        hands_on_min=sum(s.hands_on_min for s in steps),
        wait_min=sum(s.wait_min for s in steps),
        basis="assumed",
    )


def _sketches() -> tuple[records.Sketch, ...]:
    front = [(0, 0), (30, 0), (30, 8), (98, 8), (120, 18), (120, 50), (108, 50), (104, 34)]
    front += [(82, 26), (30, 26), (30, 50), (0, 50)]
    side = [(0, 0), (70, 0), (70, 50), (0, 50)]
    draw = [(0, 0), (30, 0), (30, 25), (120, 25), (120, 45), (30, 45), (30, 70), (0, 70)]
    hole = [(10, 30), (20, 30), (20, 40), (10, 40)]
    tip = [(82, 26), (98, 26), (98, 34), (82, 34)]
    bridge = [(20, 4), (30, 4), (30, 10), (20, 10)]

    def sketch(name, outline, lines=(), pockets=()):
        return filled(
            records.Sketch,
            name=name,
            pitch_mm=PITCH_MM,
            outline=tuple(np.array(r, float) for r in outline),
            lines=tuple(np.array(r, float) for r in lines),
            pockets=tuple((n, np.array(r, float)) for n, r in pockets),
        )

    return (
        sketch(
            "draw",
            [draw, hole],
            [[(30, 25), (30, 45)], [(98, 25), (98, 45)]],
            [(1, [(82, 25), (98, 25), (98, 45), (82, 45)])],
        ),
        sketch("front", [front], [[(30, 8), (30, 26)]], [(1, tip), (2, bridge)]),
        sketch(
            "side", [side], [[(25, 8), (45, 8), (45, 50)]], [(1, [(25, 26), (45, 26), (45, 34)])]
        ),
        sketch("pour", [[(x, -z) for x, z in front]], [[(30, -8), (30, -26)]]),
    )


def make_plan(
    *,
    name="Ferry cabin coat hook",
    paper="A4",
    ports=(GATE, *VENTS),
    findings=FINDINGS,
    copies=4,
    steps=None,
    line_kind="level",
) -> records.Plan:
    """The whole plan, with the parts a layout test varies."""
    schedule = _schedule()
    if steps is not None:
        schedule = replace(schedule, steps=tuple(steps))
    job = filled(records.Job, paper=paper, copies=copies)
    cut = filled(records.Split, draw=make_draw(), parting=make_parting())
    made = bench_records(_part(name), cut, _amounts(copies), schedule, job)
    plan = filled(
        records.Plan,
        faces=_faces(),
        split=filled(
            records.Split,
            kind="two-part",
            draw=make_draw(),
            undercuts=make_undercuts(),
            parting=make_parting(),
            line=make_line(line_kind),
            seam=make_seam(),
            draft_views=make_draft_views(),
            flex=make_flex(),
            remedies=make_remedies(),
        ),
        air=filled(
            records.Air,
            openings=_air(len(ports) - 1),
            attitude=make_attitude(POUR),
            feed=make_feed(),
            rocking=make_rocking(),
            trade=make_trade(),
        ),
        mould=filled(
            records.Mould,
            water=make_water(),
            vents=make_vents(ports, DATUM_MM),
            gate=make_gate(),
            fill=make_fill(),
            pours=make_pours(),
            block=_mould(ports),
        ),
        bench=filled(
            records.Bench,
            weigh=made.weigh,
            timeline=made.timeline,
            fit=made.fit,
            heat=made.heat,
            compat=made.compat,
            buy=made.buy,
            amounts=_amounts(copies),
            schedule=schedule,
        ),
        version=__version__,
        part=_part(name),
        job=job,
        show=records.ShowFace(
            direction=(0.0, 0.0, 1.0), basis="guessed", why="rounded", strength=0.3, weight=0.5
        ),
        sampling=filled(
            records.Sampling,
            pitch_mm=PITCH_MM,
            n_columns=93_334,
            n_unclosed=0,
            n_decided=0,
            volume_mm3=98_260.0,
            volume_difference_fraction=-0.0017,
        ),
        sketches=_sketches(),
        findings=tuple(findings),
    )
    return worded(plan)
