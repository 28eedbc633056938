"""What a view in three dimensions shows besides the plan itself."""

import numpy as np

from castplan._arrays import freeze
from castplan.mould.records import Solid
from castplan.record import record

SPILL_MM = 0.05  # what rises stands so far under the edge that the resin runs over
FREE, HELD_UPPER, HELD_LOWER, CLOSED = 0, 1, 2, 3


@record
class SurfaceMaps:
    """The part's surface in facets, with what the rubber and the resin meet on each.

    Values are those just outside (rubber) or inside (resin) the middle of a
    facet, read from the columns of the whole part.
    """

    vertices_mm: np.ndarray  # (n, 3) draw frame
    faces: np.ndarray  # (m, 3) int32
    is_thinned: bool  # fewer facets than the part has, so edges are off by a little
    holder: np.ndarray  # (m,) int8: FREE, HELD_UPPER, HELD_LOWER, or CLOSED: no rubber there
    is_upper: np.ndarray  # (m,) bool, the half whose rubber lies on the facet
    pocket: np.ndarray  # (m,) int32, number of the listed pocket; 0 for none
    peak: np.ndarray  # (m,) int32, number of the high point whose air stays there; 0 for none
    draft_deg: np.ndarray  # (m,) positive where its half leaves freely
    depth_mm: np.ndarray  # (m,) sideways way out of a pocket; 0 outside pockets
    thickness_mm: np.ndarray  # (m,) shortest way through the middle of the wall there
    is_caught: np.ndarray  # (m,) bool, air stays there at the end of the pour
    basin: np.ndarray  # (m,) int32, of the film, that resin runs over an edge into; 0 for none
    air_floor_mm: np.ndarray  # (m,) height over the lowest point above which air stays, or past all
    cut_off_mm: np.ndarray  # (m,) level that cuts that air off; the last level elsewhere
    open_fraction: np.ndarray  # (m,) of the light from all round that comes to it past the part

    def __post_init__(self):
        freeze(self, "vertices_mm", shape=(None, 3))
        freeze(self, "faces", shape=(None, 3), dtype=np.int32)
        n = (len(self.faces),)
        freeze(self, "holder", shape=n, dtype=np.int8)
        for name in ("pocket", "peak", "basin"):
            freeze(self, name, shape=n, dtype=np.int32)
        for name in ("is_upper", "is_caught"):
            freeze(self, name, shape=n, dtype=bool)
        values = ("draft_deg", "depth_mm", "thickness_mm", "air_floor_mm", "cut_off_mm")
        for name in (*values, "open_fraction"):
            freeze(self, name, shape=n)


@record
class Film:
    """The pour in even steps of the volume filled; heights over the part's lowest point."""

    up: tuple[float, float, float]  # draw frame
    low_mm: float  # lowest point of the part along `up`, draw frame's origin
    level_mm: np.ndarray  # (k,) of the resin under the gate
    rising_mm: np.ndarray  # (k,) of what rises: the same, or what it runs over an edge into
    basin_mm: np.ndarray  # (k, b) to where each basin behind an edge is full
    sill_mm: np.ndarray  # (b,) of its edge
    filled_ml: np.ndarray  # (k,)
    caught_ml: np.ndarray  # (k,) cut off from every opening by then
    cavity_ml: float

    def __post_init__(self):
        for name in ("level_mm", "rising_mm", "filled_ml", "caught_ml"):
            freeze(self, name, shape=(None,))
        freeze(self, "sill_mm", shape=(None,))
        freeze(self, "basin_mm", shape=(len(self.level_mm), len(self.sill_mm)))

    @property
    def is_over_edge(self) -> np.ndarray:
        """(k,) Whether the resin runs over an edge: what rises stands under its level."""
        return self.rising_mm < self.level_mm - SPILL_MM


@record
class Scene:
    """Surfaces to turn in the hand: the part with its maps, and the halves if they can be cut."""

    surface: SurfaceMaps
    film: Film
    halves: tuple[Solid, ...]  # upper, lower; empty where no solid can be cut
    why_no_halves: str  # empty where there are halves
