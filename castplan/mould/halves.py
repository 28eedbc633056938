"""The two halves of the mould as solids: box less part, split by the parting surface."""

from dataclasses import replace

import manifold3d
import numpy as np
from manifold3d import Manifold

from castplan.errors import GeometryError
from castplan.geometry import block, regions, solid
from castplan.memory import remembered
from castplan.mould.cut import Cut
from castplan.mould.loose_solids import piece_solids, solid_sum
from castplan.mould.records import Halves, Solid
from castplan.part.records import Part
from castplan.record import Frame

HAIR_MM = 1e-3
# Bodies of silicone smaller than this are left out: slivers of rounding.
CRUMB_MM3 = 1.0
CRUMB_FRACTION = 1e-4
# Between loose pieces that cross no silicone gets in; a cube of 3.7 mm (assumed).
SHUT_IN_MM3 = 50.0


def make_halves(part: Part, cut: Cut) -> Halves:
    """Cut the silicone block in two.

    The block less the part is split by the surface, keys included, in one
    cut, so that both sides share its vertices. A bowl in the part's upper side
    that dips under the surface is cut off from the lower half: it goes to the
    upper one; a dome likewise to the lower.

    Parameters
    ----------
    part : Part
    cut : Cut

    Returns
    -------
    Halves

    Raises
    ------
    GeometryError
        The mesh does not bound a solid.
    """
    box, frame = cut.box, cut.frame
    body = body_of(part, frame)
    low, high = np.asarray(box.low_mm), np.asarray(box.high_mm)
    whole = solid.prism(box.outline_mm, low_mm=low[2], high_mm=high[2]).as_original()
    surface, keys = off_flats(part, frame, cut.surface, cut.keys)
    tool = block.keyed_block(surface, keys, bottom_mm=low[2] - block.MARGIN_MM).as_original()
    void = whole - body
    lower, upper = void.split(tool)
    lower, upper, n_moved = regions.hand_over(
        lower, upper, tool_id=tool.original_id(), block_id=whole.original_id()
    )
    pieces = piece_solids(part, cut, whole, body)
    if pieces:
        lower, upper = lower - solid_sum(pieces), upper - solid_sum(pieces)
    bores = block.port_solids(cut.ports, box, body, cut.routes)
    ports_mm3 = 0.0
    if bores:
        drill = Manifold.batch_boolean(bores, manifold3d.OpType.Add)
        ports_mm3 = (void ^ drill).volume()
        lower, upper = lower - drill, upper - drill
        pieces = [piece - drill for piece in pieces]
    made = [tidy(half, least_mm3=SHUT_IN_MM3 if pieces else 0.0) for half in (upper, lower)]
    return Halves(
        upper=block.as_record("upper half", made[0][0]),
        lower=block.as_record("lower half", made[1][0]),
        box_mm3=whole.volume(),
        cavity_mm3=whole.volume() - void.volume(),
        ports_mm3=ports_mm3,
        n_bodies=(made[0][1], made[1][1]),
        n_moved=n_moved,
        loose=tuple(
            block.as_record(f"loose {piece.label}", body)
            for piece, body in zip(cut.pieces, pieces, strict=True)
        ),
    )


def make_open_block(part: Part, cut: Cut) -> Solid:
    """The block of an open mould: the box less the part that lies on its floor.

    Parameters
    ----------
    part : Part
    cut : Cut
        Of which an open mould needs the box alone.

    Raises
    ------
    GeometryError
        The mesh does not bound a solid.
    """
    body = body_of(part, cut.frame)
    low, high = np.asarray(cut.box.low_mm), np.asarray(cut.box.high_mm)
    # Off the flat back by a hair, or a skin without thickness might stay over it.
    whole = solid.prism(cut.box.outline_mm, low_mm=low[2] + HAIR_MM, high_mm=high[2])
    return block.as_record("mould", tidy(whole - body)[0])


@remembered
def body_of(part: Part, frame: Frame) -> Manifold:
    """The part as a solid in a frame; `GeometryError` where its mesh bounds none."""
    body = solid.part_solid(part, frame.rotation)
    if body is None:
        raise GeometryError(
            part.name,
            found="a surface that does not bound a solid",
            need="a closed mesh with two facets at every edge for the solids of the mould",
            do="Repair the mesh with castplan repair.",
        )
    return body


def off_flats(part, frame, surface, keys):
    """A level parting that runs in a flat of the part, moved a hair into the part.

    Where two solids share a plane, a skin without thickness can be left over
    the flat, which no later cut gets right.
    """
    if np.ptp(surface.heights_mm) > 1e-9:
        return surface, keys
    level = surface.heights_mm[0, 0]
    points = part.vertices_mm @ frame.rotation.T
    is_level = np.abs(points[:, 2] - level) < HAIR_MM
    corners = points[part.faces[is_level[part.faces].all(axis=1)]]
    if not len(corners):
        return surface, keys
    turn = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, 2].sum()
    # Flats that look down have the part above them.
    hair = np.array([0.0, 0.0, -HAIR_MM if turn > 0 else HAIR_MM])
    return (
        replace(surface, heights_mm=surface.heights_mm + hair[2]),
        replace(keys, places_mm=keys.places_mm + hair),
    )


def tidy(body, *, least_mm3=0.0):
    """A half without its crumbs, and how many bodies that is.

    A shell of negative volume is a cavity that the half closes round; it stays.
    """
    points, faces, of_face, volumes_mm3 = solid.pieces_of(body)
    least = max(CRUMB_MM3, CRUMB_FRACTION * volumes_mm3.max(), least_mm3)
    # Shells without volume are left where two cuts touch.
    is_kept = (volumes_mm3 <= -CRUMB_MM3) | (volumes_mm3 >= least)
    n_bodies = int((volumes_mm3[is_kept] > 0).sum())
    if is_kept.all():
        return body, n_bodies
    return solid.solid_of(points, faces[is_kept[of_face]]), n_bodies
