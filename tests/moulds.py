"""Moulds round the bodies of `shapes`: the stages that build, without a whole plan.

Draw and pour are the file's z; parting surfaces and ports are made by hand.
"""

from types import SimpleNamespace

import bodies
import numpy as np
import shapes
import trimesh
from output.neutral import filled

from castplan import records
from castplan.columns import field as columns
from castplan.mould.bedding import choose_bedding
from castplan.mould.cut import Cut
from castplan.mould.halves import make_halves
from castplan.mould.keys import lay_out_keys
from castplan.split.box import choose_box

UPRIGHT = records.Frame(rotation=np.eye(3))


def surface_over(box, height, *, n=33):
    """A parting surface over a box from ``height(x, y)``, or level."""
    x = np.linspace(box.low_mm[0], box.high_mm[0], n)
    y = np.linspace(box.low_mm[1], box.high_mm[1], n)
    gx, gy = np.meshgrid(x, y)
    heights = height(gx, gy) if callable(height) else np.full(gx.shape, float(height))
    return records.PartingSurface(
        x0_mm=float(x[0]),
        y0_mm=float(y[0]),
        step_x_mm=float(x[1] - x[0]),
        step_y_mm=float(y[1] - y[0]),
        heights_mm=heights,
    )


def bedding_of(field, box, surface, job):
    """What a part lies in whose parting is this surface, clay in no hole."""
    heights_mm = surface.heights_mm
    line = filled(
        records.PartingLine,
        kind="level" if np.ptp(heights_mm) == 0 else "following",
        box_height_mm=float(heights_mm[0, 0]),
    )
    assert box.low_mm[2] == field.low_mm[2] - job.under_mm
    return choose_bedding(line, job, ends_mm=(box.low_mm[2], box.high_mm[2]), upper_ml=1.0)


def split_of(box, surface, **more):
    """What the room of the split hands on: the box, the surface of its line, the draw along z."""
    line = filled(records.PartingLine, surface=surface)
    draw = filled(records.DrawResult, frame=UPRIGHT)
    return filled(records.Split, box=box, line=line, draw=draw, **more)


def port(box, place_mm, *, kind="vent", diameter_mm=2.5, label="1", cup_mm=20.0):
    """A gate or vent straight up from a place to the top of the box."""
    place = np.asarray(place_mm, dtype=float)
    return filled(
        records.Port,
        label=label,
        kind=kind,
        place_mm=tuple(place_mm),
        path_mm=np.array([place, [*place[:2], box.high_mm[2]]]),
        length_mm=box.high_mm[2] - place_mm[2],
        diameter_mm=diameter_mm,
        cup_mm=cup_mm if kind == "gate" else 0.0,
    )


def make_mould(body, height, *, job=None, ports=(), pitch_mm=None):
    """Box, surface, keys and halves round a body.

    `ports` are (place, kind, diameter); the box is laid out first.
    """
    job = job or records.Job()
    vertices, faces = body[:2]
    field = bodies.look(vertices, faces, pitch_mm=pitch_mm)
    box = choose_box(field, job, part_mm3=body.volume_mm3)
    surface = surface_over(box, height)
    made = tuple(
        port(box, place, kind=kind, diameter_mm=diameter, label=str(n))
        for n, (place, kind, diameter) in enumerate(ports)
    )
    mould = filled(
        records.MouldResult,
        low_mm=box.low_mm,
        high_mm=box.high_mm,
        bedding=bedding_of(field, box, surface, job),
        ports=made,
        part_ml=body.volume_mm3 / 1000,
    )
    keys = lay_out_keys(field, split_of(box, surface), mould, job)
    part = shapes.part_of(vertices, faces)
    cut = Cut(frame=UPRIGHT, surface=surface, box=box, keys=keys, ports=made)
    return SimpleNamespace(
        job=job,
        body=body,
        part=part,
        field=field,
        box=box,
        surface=surface,
        mould=mould,
        keys=keys,
        cut=cut,
        halves=make_halves(part, cut),
    )


def as_trimesh(solid):
    """A `Solid` in trimesh, its vertices as they are."""
    return trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False)


def held_mm3(half, vertices_mm, faces, box, *, up: bool, pitch_mm=0.25):
    """Rubber of a half that part surface stands in the way of, by columns.

    Upward, silicone is free when no part lies above it in its column. Loose
    vertices at the corners of the box give part and half the same columns.
    """
    (x0, y0, z0), (x1, y1, z1) = box.low_mm, box.high_mm
    corners = np.array([[x, y, z] for x in (x0, x1) for y in (y0, y1) for z in (z0, z1)])

    def sampled(points, triangles):
        return columns.sample(
            np.concatenate([points, corners]),
            triangles,
            bodies.NO_FACES,
            np.eye(3),
            pitch_mm=pitch_mm,
        )

    part, rubber = sampled(vertices_mm, faces), sampled(half.vertices_mm, half.faces)
    full = np.diff(part.first) > 0
    if up:
        last = np.where(full, part.bottom_mm[np.maximum(part.first[1:] - 1, 0)], -np.inf)
        stop = last[rubber.column_of]
        held = np.clip(np.minimum(rubber.top_mm, stop) - rubber.bottom_mm, 0, None)
    else:
        first = np.minimum(part.first[:-1], part.top_mm.size - 1)
        stop = np.where(full, part.top_mm[first], np.inf)[rubber.column_of]
        held = np.clip(rubber.top_mm - np.maximum(rubber.bottom_mm, stop), 0, None)
    return float(held.sum() * part.cell_mm2)
