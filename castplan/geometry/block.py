"""Tools that several solids share: the keyed block under the parting, and the bores."""

import math
from itertools import pairwise

import numpy as np
from manifold3d import Manifold, OpType

from castplan.air.records import Route
from castplan.geometry import solid
from castplan.mould.records import KeysResult, Port, Solid
from castplan.split.records import BoxResult, PartingSurface

# Beyond the box, so that no face of a tool lies on one of the block's.
ON_SIDE_MM = 1e-3  # nearer to a side of the box than this is on it
MARGIN_MM = 5.0
# The cup of the gate opens at 45 degrees, steeper where that takes more than
# this share of its way.
CUP_SHARE = 0.5
# How far a bore goes into the part, as a share of its thickness there.
DIP_SHARE = 0.45
DEEPEST_MM = 20.0  # part looked through for that


def as_record(name: str, body: Manifold) -> Solid:
    """A solid as a record; `name` is what it is called on files."""
    vertices, faces = solid.arrays_of(body)
    return Solid(name=name, vertices_mm=vertices, faces=faces)


def keyed_block(surface: PartingSurface, keys: KeysResult, *, bottom_mm: float) -> Manifold:
    """What lies under the parting surface down to `bottom_mm`, keys pressed in or standing on."""
    block = solid.block_under(surface, bottom_mm=bottom_mm, margin_mm=MARGIN_MM)
    if not len(keys.places_mm):
        return block
    caps = [
        solid.ball_cap(
            place,
            diameter_mm=keys.diameter_mm,
            depth_mm=keys.depth_mm,
            is_raised=keys.is_raised,
        )
        for place in keys.places_mm
    ]
    balls = Manifold.batch_boolean(caps, OpType.Add)
    return block + balls if keys.is_raised else block - balls


def port_solids(
    ports: tuple[Port, ...], box: BoxResult, body: Manifold, routes: tuple[Route, ...] = ()
) -> list[Manifold]:
    """Bores of gate and vents, and the gate's cup, in the draw frame.

    A port goes where its route leads, its own way if it has none; a route
    that leads nowhere leaves it out. Legs of a bent one meet in balls.

    Parameters
    ----------
    ports : tuple of Port
    box : BoxResult
    body : Manifold
        The part.
    routes : tuple of Route

    Returns
    -------
    list of Manifold
    """
    by_label = {route.label: route for route in routes}
    bores = []
    for port in ports:
        route = by_label.get(port.label)
        if route is not None and route.route == "none":
            continue
        path = port.path_mm if route is None else route.path_mm
        legs = np.diff(path, axis=0)
        ways = legs / np.linalg.norm(legs, axis=1, keepdims=True)
        # Into the part, so that the bore opens fully, but not through it.
        deepest_mm = DIP_SHARE * _thickness_mm(body, path[0], -ways[0], DEEPEST_MM)
        points = np.array(path)
        points[0] -= min(0.5 * port.diameter_mm, deepest_mm) * ways[0]
        points[-1] += MARGIN_MM * ways[-1]
        for start, end in pairwise(points):
            bores.append(solid.bore(start, end, diameter_mm=port.diameter_mm))
        bores += [
            Manifold.sphere(0.5 * port.diameter_mm, solid.BALL_SEGMENTS).translate(tuple(bend))
            for bend in points[1:-1]
        ]
        deep_mm = cup_depth_mm(port)
        if deep_mm > 0:
            spread = (port.cup_mm - port.diameter_mm) * (deep_mm + MARGIN_MM) / deep_mm
            out = _straight_out(box, path[-1], ways[-1])
            bores.append(
                solid.bore(
                    path[-1] - deep_mm * out,
                    path[-1] + MARGIN_MM * out,
                    diameter_mm=port.diameter_mm,
                    end_diameter_mm=port.diameter_mm + spread,
                )
            )
    return bores


def _straight_out(box, exit_mm, way):
    """Square out of the side of the box where a channel ends; its own way where that is round.

    A groove follows a parting that climbs; its cup is cut upright all the same.
    """
    for axis, ends in enumerate(zip(box.low_mm, box.high_mm, strict=True)):
        for end, sense in zip(ends, (-1.0, 1.0), strict=True):
            if abs(exit_mm[axis] - end) < ON_SIDE_MM and sense * way[axis] > 0.5:
                return sense * np.eye(3)[axis]
    return way


def cup_depth_mm(port: Port) -> float:
    """Depth of the cup that a gate opens into, mm; 0 for a vent or a wider bore."""
    if port.cup_mm <= port.diameter_mm:
        return 0.0
    last_mm = float(np.linalg.norm(port.path_mm[-1] - port.path_mm[-2]))
    return min(0.5 * (port.cup_mm - port.diameter_mm), CUP_SHARE * last_mm)


def cup_mm3(port: Port) -> float:
    """What the cup takes beyond the gate's own bore, mm3: a cone's frustum less a cylinder."""
    deep, wide, bore = cup_depth_mm(port), port.cup_mm / 2, port.diameter_mm / 2
    return math.pi * deep * (wide**2 + wide * bore - 2 * bore**2) / 3


def _thickness_mm(body, place, way, reach_mm):
    """Solid of the part from a place on it along a way, mm; at most `reach_mm`."""
    start = place - 0.05 * way
    hits = body.ray_cast(tuple(start), tuple(place + reach_mm * way))
    far = [hit.distance * (reach_mm + 0.05) - 0.05 for hit in hits]
    return far[1] - max(far[0], 0.0) if len(far) > 1 else reach_mm
