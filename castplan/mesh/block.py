"""Tools that several solids share: the keyed block under the parting, and the bores."""

import math

import numpy as np
from manifold3d import Manifold, OpType

from castplan.mesh import solid
from castplan.model import Frame, Job, KeysResult, MouldResult, PartingSurface, Port, Route, Solid

# Beyond the box, so that no face of a tool lies on one of the block's.
MARGIN_MM = 5.0
# The cup of the gate opens at 45 degrees, steeper where that takes more than
# this share of its way.
CUP_SHARE = 0.5
# How far a bore goes into the part, as a share of its thickness there.
DIP_SHARE = 0.45


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
    mould: MouldResult,
    frame: Frame,
    pour_frame: Frame,
    body: Manifold,
    job: Job,
    routes: tuple[Route, ...] = (),
) -> list[Manifold]:
    """Bores of gate and vents, and the gate's cup, in the draw frame.

    A port goes where its route leads, straight up if it has none; a route
    that leads nowhere leaves it out.

    Parameters
    ----------
    mould : MouldResult
    frame, pour_frame : Frame
        Draw frame; the frame that the ports stand in.
    body : Manifold
        The part.
    job : Job
    routes : tuple of Route

    Returns
    -------
    list of Manifold
    """
    up = frame.rotation @ pour_frame.up
    by_label = {route.label: route for route in routes}
    bores = []
    for port in mould.ports:
        place = frame.to_frame(pour_frame.to_part(np.asarray(port.place_mm)))
        route = by_label.get(port.label)
        if route is not None and route.route == "none":
            continue
        way, length_mm = up, port.length_mm
        if route is not None:
            way = np.asarray(route.exit_mm) - place
            length_mm = float(np.linalg.norm(way))
            way = way / length_mm
        # Into the part, so that the bore opens fully, but not through it.
        deepest_mm = DIP_SHARE * _thickness_mm(body, place, -way, job.gate_mm)
        dip_mm = min(0.5 * port.diameter_mm, deepest_mm)
        end = place + way * (length_mm + MARGIN_MM)
        bores.append(solid.bore(place - dip_mm * way, end, diameter_mm=port.diameter_mm))
        deep_mm = cup_depth_mm(port, job)
        if deep_mm > 0:
            mouth = place + way * length_mm
            spread = (job.cup_mm - port.diameter_mm) * (deep_mm + MARGIN_MM) / deep_mm
            bores.append(
                solid.bore(
                    mouth - deep_mm * way,
                    mouth + MARGIN_MM * way,
                    diameter_mm=port.diameter_mm,
                    end_diameter_mm=port.diameter_mm + spread,
                )
            )
    return bores


def cup_depth_mm(port: Port, job: Job) -> float:
    """Depth of the cup that a gate opens into, mm; 0 for a vent or a wider bore."""
    if port.kind != "gate" or job.cup_mm <= port.diameter_mm:
        return 0.0
    return min(0.5 * (job.cup_mm - port.diameter_mm), CUP_SHARE * port.length_mm)


def cup_mm3(port: Port, job: Job) -> float:
    """What the cup takes beyond the gate's own bore, mm3: a cone's frustum less a cylinder."""
    deep, wide, bore = cup_depth_mm(port, job), job.cup_mm / 2, port.diameter_mm / 2
    return math.pi * deep * (wide**2 + wide * bore - 2 * bore**2) / 3


def _thickness_mm(body, place, way, reach_mm):
    """Solid of the part from a place on it along a way, mm; at most `reach_mm`."""
    start = place - 0.05 * way
    hits = body.ray_cast(tuple(start), tuple(place + reach_mm * way))
    far = [hit.distance * (reach_mm + 0.05) - 0.05 for hit in hits]
    return far[1] - max(far[0], 0.0) if len(far) > 1 else reach_mm
