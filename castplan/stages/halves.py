"""The two halves of the mould as solids: box less part, split by the parting surface."""

import manifold3d
import numpy as np
from manifold3d import Manifold

from castplan.errors import GeometryError
from castplan.mesh import regions, solid
from castplan.model import (
    BoxResult,
    Frame,
    Halves,
    Job,
    KeysResult,
    MouldResult,
    Part,
    PartingSurface,
    Solid,
)

# Beyond the box, so that no face of a tool lies on one of the block's.
MARGIN_MM = 5.0
# The cup of the gate opens at 45 degrees, over at most this share of its way.
CUP_SHARE = 0.5


def make_halves(
    part: Part,
    frame: Frame,
    pour_frame: Frame,
    surface: PartingSurface,
    box: BoxResult,
    keys: KeysResult,
    mould: MouldResult,
    job: Job,
) -> Halves:
    """Cut the silicone block in two.

    The block less the part is split by the surface, keys included, in one
    cut, so that both sides share its vertices. A bowl in the part's upper side
    that dips under the surface is cut off from the lower half: it goes to the
    upper one; a dome likewise to the lower.

    Parameters
    ----------
    part : Part
    frame, pour_frame : Frame
        Along the draw; up at the pour.
    surface : PartingSurface
    box : BoxResult
    keys : KeysResult
    mould : MouldResult
        Its ports become bores.
    job : Job

    Returns
    -------
    Halves

    Raises
    ------
    GeometryError
        The mesh does not bound a solid.
    """
    body = solid.part_solid(part, frame.rotation)
    if body is None:
        raise GeometryError(
            part.name,
            found="a surface that does not bound a solid",
            need="a closed mesh with two facets at every edge for the solids of the halves",
            do="Heal the mesh, or plan without --solids.",
        )
    low, high = np.asarray(box.low_mm), np.asarray(box.high_mm)
    block = solid.prism(box.outline_mm, low_mm=low[2], high_mm=high[2]).as_original()
    tool = keyed_block(surface, keys, bottom_mm=low[2] - MARGIN_MM).as_original()
    void = block - body
    lower, upper = void.split(tool)
    lower, upper, n_moved = regions.hand_over(
        lower, upper, tool_id=tool.original_id(), block_id=block.original_id()
    )
    bores = port_solids(mould, frame, pour_frame, body, job)
    ports_mm3 = 0.0
    if bores:
        drill = Manifold.batch_boolean(bores, manifold3d.OpType.Add)
        ports_mm3 = (void ^ drill).volume()
        lower, upper = lower - drill, upper - drill
    made = [_tidy(half) for half in (upper, lower)]
    return Halves(
        upper=as_record("upper half", made[0][0]),
        lower=as_record("lower half", made[1][0]),
        box_mm3=block.volume(),
        cavity_mm3=block.volume() - void.volume(),
        ports_mm3=ports_mm3,
        n_bodies=(made[0][1], made[1][1]),
        n_moved=n_moved,
    )


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
    balls = Manifold.batch_boolean(caps, manifold3d.OpType.Add)
    return block + balls if keys.is_raised else block - balls


def port_solids(mould: MouldResult, frame: Frame, pour_frame: Frame, body: Manifold, job: Job):
    """Bores of gate and vents, and the gate's cup, in the draw frame."""
    up = frame.rotation @ pour_frame.up
    bores = []
    for port in mould.ports:
        place = frame.to_frame(pour_frame.to_part(np.asarray(port.place_mm)))
        # Into the part, so that the bore opens fully, but not through it.
        dip = min(0.5 * port.diameter_mm, 0.5 * _thickness_mm(body, place, -up, job.gate_mm))
        end = place + up * (port.length_mm + MARGIN_MM)
        bores.append(solid.bore(place - dip * up, end, diameter_mm=port.diameter_mm))
        if port.kind == "gate" and job.cup_mm > port.diameter_mm:
            deep = min(0.5 * (job.cup_mm - port.diameter_mm), CUP_SHARE * port.length_mm)
            mouth = place + up * port.length_mm
            wide = port.diameter_mm + (job.cup_mm - port.diameter_mm) * (deep + MARGIN_MM) / deep
            bores.append(
                solid.bore(
                    mouth - deep * up,
                    mouth + MARGIN_MM * up,
                    diameter_mm=port.diameter_mm,
                    end_diameter_mm=wide,
                )
            )
    return bores


def _thickness_mm(body, place, way, reach_mm):
    """Solid of the part from a place on it along a way, mm; at most `reach_mm`."""
    start = place - 0.05 * way
    hits = body.ray_cast(tuple(start), tuple(place + reach_mm * way))
    far = [hit.distance * (reach_mm + 0.05) - 0.05 for hit in hits]
    return far[1] - max(far[0], 0.0) if len(far) > 1 else reach_mm


def _tidy(body):
    """Largest body of a half with every other but crumbs, and how many that are."""
    pieces = sorted(body.decompose(), key=lambda piece: -piece.volume())
    kept = [p for p in pieces if p.volume() > max(1.0, 1e-4 * pieces[0].volume())]
    return (pieces[0] if len(kept) == 1 else Manifold.compose(kept)), len(kept)
