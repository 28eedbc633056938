"""The steps of an invented job, for the tests of the schedule."""

import numpy as np
from output.neutral import filled

from castplan.bench.amounts import weigh_out
from castplan.bench.casting import add_casting
from castplan.bench.schedule import order_steps
from castplan.bench.steps import Cups
from castplan.bench.weigh import size_cups
from castplan.mould.bedding import choose_bedding
from castplan.records import (
    DrawResult,
    Frame,
    Job,
    KeysResult,
    Mould,
    MouldResult,
    Part,
    PartingLine,
    PartingResult,
    Pocket,
    Port,
    Route,
    Split,
    UndercutResult,
    VentsResult,
)

UP, DOWN, SIDEWAYS = (0.0, 0, 1), (0.0, 0, -1), (1.0, 0, 0)  # the way up at the pour


def pocket(number, kind, depth_mm=4.0):
    return Pocket(
        number=number,
        kind=kind,
        n_mouths=1,
        volume_mm3=500.0,
        depth_mm=depth_mm,
        centre_mm=(0.0, 0.0, 0.0),
        low_mm=(0.0, 0.0, 0.0),
        high_mm=(1.0, 1.0, 1.0),
        held_by="upper",
    )


def port(label, kind, *, diameter_mm=2.5, is_blocked=False, length_mm=40.0):
    return Port(
        label=label,
        kind=kind,
        place_mm=(0.0, 0.0, 0.0),
        path_mm=np.array([(0.0, 0.0, 0.0), (0.0, 0.0, length_mm)]),
        height_mm=26.0,
        length_mm=length_mm,
        diameter_mm=diameter_mm,
        cup_mm=20.0 if kind == "gate" else 0.0,
        is_riser=False,
        is_blocked=is_blocked,
    )


def route(port, *, pour, up=UP, **changes):
    """A way straight up out of a port; one that part stands above goes sideways."""
    path_mm = np.array([(0.0, 0.0, 0.0), np.multiply(port.length_mm, up)])
    return filled(
        Route,
        label=port.label,
        **{
            "route": "sideways" if port.is_blocked else "straight",
            "length_mm": port.length_mm,
            "bore_mm": port.diameter_mm,
            "path_mm": path_mm,
            "pour": pour,
        }
        | changes,
    )


GATE_AND_VENT = (port("G", "gate", diameter_mm=8.0), port("1", "vent"))


def steps_of(
    *,
    parting_mm=10.0,
    pour=UP,
    line=None,
    pockets=(),
    ports=GATE_AND_VENT,
    routes=None,
    job=None,
    part_ml=100.0,
    lower_ml=100.0,
    upper_ml=160.0,
):
    """The schedule of an invented job: part from z = 0 to 26 mm, box 100 x 60 x 50 mm."""
    job = job or Job()
    frame = Frame(rotation=np.eye(3))
    line = line or filled(PartingLine, kind="level", box_height_mm=parting_mm)
    if routes is None:
        routes = [
            route(port, pour="second" if pour is DOWN else "first", up=pour) for port in ports
        ]
    mould = filled(
        MouldResult,
        low_mm=(0.0, 0.0, -12.0),
        high_mm=(100.0, 60.0, 38.0),
        wall_mm=12.0,
        over_mm=12.0,
        under_mm=12.0,
        box_ml=300.0,
        part_ml=part_ml,
        lower_ml=lower_ml,
        upper_ml=upper_ml,
        bounding_box_ml=228.8,
        sampling_fraction=0.01,
        bedding=choose_bedding(line, job, ends_mm=(-12.0, 38.0), upper_ml=upper_ml),
        ports=ports,
        datum_mm=(0.0, 0.0),
        box_view_mm=np.array([(0, 0), (100, 0), (100, 60), (0, 60)]),
        ports_ml=2.0,
    )
    draw, undercuts, parting = (
        filled(
            DrawResult,
            frame=frame,
            direction=(0.0, 0.0, 1.0),
            candidates=(),
            n_directions=1,
            search_pitch_mm=1.0,
            is_asked_for=True,
        ),
        filled(
            UndercutResult,
            pockets=pockets,
            min_volume_mm3=1.0,
            n_small=0,
            small_mm3=0.0,
            sealed_mm3=0.0,
        ),
        filled(
            PartingResult,
            heights_mm=[parting_mm],
            trapped_mm3=[0.0],
            height_mm=parting_mm,
            free_low_mm=parting_mm,
            free_high_mm=parting_mm,
            trapped_at_mm3=0.0,
            locked_mm3=0.0,
            part_below_mm3=1.0,
            part_above_mm3=1.0,
            filled_above_mm3=0.0,
            filled_below_mm3=0.0,
        ),
    )
    amounts = weigh_out(mould, job)
    part = filled(Part, name="part", vertices_mm=np.eye(3), faces=np.array([[0, 1, 2]]))
    split = filled(Split, draw=draw, undercuts=undercuts, parting=parting, line=line)
    cups = Cups(amounts=amounts, weigh=size_cups(amounts, part, split, job), job=job)
    vents = VentsResult(routes=tuple(routes))
    keys = filled(
        KeysResult,
        places_mm=np.zeros((4, 3)),
        diameter_mm=8.0,
        depth_mm=3.2,
        is_raised=mould.bedding.kind != "clay",
    )
    built = filled(Mould, block=mould, keys=keys, vents=vents)
    return add_casting(order_steps(split, built, cups), mould, cups)


def place(result, *words):
    """Index of the one step that holds all these words."""
    found = [
        index for index, step in enumerate(result.steps) if all(w in str(step.text) for w in words)
    ]
    assert len(found) == 1, (words, found)
    return found[0]


def is_in(result, words):
    return any(words in str(step.text) for step in result.steps)
