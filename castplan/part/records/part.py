"""The checked mesh."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import record
from castplan.texts.told import Told

# Amounts are rounded to more than this share (half a gram in a hundred).
DOUBT_FRACTION = 0.005


@record
class MeshCheck:
    """What the mesh file holds, before anything is planned on it.

    All of it describes the mesh as planned, after `changes`; only dropped,
    merged and non-manifold are counts of the file.
    """

    n_triangles: int
    n_vertices: int
    n_merged_vertices: int
    n_dropped_triangles: int
    join_mm: float  # corners on open edges nearer than this were joined
    n_bodies: int
    n_inner_shells: int  # bodies inside solid, which add nothing
    n_open_edges: int
    n_nonmanifold_edges: int  # of more than two facets
    n_holes: int
    hole_mm2: float
    largest_hole_mm2: float
    doubt_mm3: float  # either way, what may be missing over the holes
    is_watertight: bool
    is_one_sided: bool
    is_winding_consistent: bool
    is_inverted: bool
    volume_mm3: float
    area_mm2: float
    extent_mm: tuple[float, float, float]
    file_unit: str | None
    unit: str
    mm_per_unit: float
    changes: tuple[Told, ...]  # what was done to the mesh on the way in
    n_parts: int = 1  # files or copies laid side by side in one box
    # The way the scanned surface looks where its back was made here, unit length.
    scanned_side: tuple[float, float, float] | None = None

    @property
    def is_volume_in_doubt(self) -> bool:
        """Whether its holes change the amounts by more than they are rounded to."""
        return self.doubt_mm3 > DOUBT_FRACTION * self.volume_mm3


@record
class Part:
    """A checked mesh in millimetres.

    `cap_faces` close the holes of an open scan with fans from each hole's
    middle (extra vertices at the end of `vertices_mm`). They are not surface:
    they only mark which columns a hole makes doubtful.
    """

    name: str
    vertices_mm: np.ndarray  # (n, 3)
    faces: np.ndarray  # (m, 3) int32, normals point out of the part
    cap_faces: np.ndarray  # (k, 3) int32
    check: MeshCheck

    def __post_init__(self):
        freeze(self, "vertices_mm", shape=(None, 3))
        freeze(self, "faces", shape=(None, 3), dtype=np.int32)
        freeze(self, "cap_faces", shape=(None, 3), dtype=np.int32)
