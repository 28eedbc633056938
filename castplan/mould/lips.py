"""The block of a mould that is cut open, as a solid: whole, and as its two lips."""

import manifold3d
import numpy as np
import shapely
from manifold3d import Manifold

from castplan.geometry import block, solid
from castplan.mould.cut import Cut
from castplan.mould.halves import body_of, off_flats, tidy
from castplan.mould.records import Slit, Solid
from castplan.part.records import Part


def make_round_block(part: Part, cut: Cut) -> Solid:
    """The block as it comes out of its box: not cut yet.

    Parameters
    ----------
    part : Part
    cut : Cut
        Of which it needs box and openings.

    Raises
    ------
    GeometryError
        The mesh does not bound a solid.
    """
    return block.as_record("mould", tidy(_poured(part, cut))[0])


def make_lips(part: Part, cut: Cut, slit: Slit) -> tuple[Solid, Solid]:
    """The lip over the cut, and all the rest with the hinge: they share the cut's faces.

    Parameters
    ----------
    part : Part
    cut : Cut
    slit : Slit
        How far the knife goes.

    Returns
    -------
    upper, lower : Solid
        To be looked at: the knife's zig-zag is left out.

    Raises
    ------
    GeometryError
        The mesh does not bound a solid.
    """
    surface, keys = off_flats(part, cut.frame, cut.surface, cut.keys)
    low, high = np.asarray(cut.box.low_mm), np.asarray(cut.box.high_mm)
    axis = int(np.argmax(np.abs(slit.way)))
    ends = np.array([low[:2], high[:2]]) + np.array([[-1.0], [1.0]]) * block.MARGIN_MM
    ends[0 if slit.way[axis] > 0 else 1, axis] = slit.way[axis] * slit.stop_mm
    flat = shapely.get_coordinates(shapely.box(*ends[0], *ends[1]).normalize().reverse())[:-1]
    before = solid.prism(flat, low_mm=low[2] - 1.0, high_mm=high[2] + 1.0)
    under = block.keyed_block(surface, keys, bottom_mm=low[2] - block.MARGIN_MM)
    lower, upper = _poured(part, cut).split(before - under)[::-1]
    made = [tidy(lip)[0] for lip in (upper, lower)]
    return block.as_record("upper lip", made[0]), block.as_record("lower lip", made[1])


def _poured(part, cut):
    body = body_of(part, cut.frame)
    low, high = cut.box.low_mm, cut.box.high_mm
    void = solid.prism(cut.box.outline_mm, low_mm=low[2], high_mm=high[2]) - body
    bores = block.port_solids(cut.ports, cut.box, body, cut.routes)
    return void - Manifold.batch_boolean(bores, manifold3d.OpType.Add) if bores else void
