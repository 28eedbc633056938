"""The state of a mesh, for a look before planning."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import record


@record
class Hole:
    """One hole: its rim, the flat area over it, its middle in the part frame."""

    rim_length_mm: float
    area_mm2: float
    middle_mm: tuple[float, float, float]
    rim_mm: np.ndarray  # (k, 3)

    def __post_init__(self):
        freeze(self, "rim_mm", shape=(None, 3))


@record
class Body:
    """One connected piece. Its kind is one of `BODY_KINDS`."""

    kind: str
    n_triangles: int
    volume_mm3: float  # holes capped; negative where it faces inward
    area_mm2: float
    middle_mm: tuple[float, float, float]


# Surface finer than so many edges is lost between the vertices.
EDGES_PER_DETAIL = 2.0
# Noise above this shows on the copy (a rough brush stroke; common practice, no source).
SHOWS_MM = 0.05
BODY_KINDS = ("part", "speck", "inner shell", "void")


@record
class Health:
    """What `castplan check` shows beyond the `MeshCheck`; largest first."""

    holes: tuple[Hole, ...]
    bodies: tuple[Body, ...]
    n_duplicates: int  # facets that repeat another's corners
    n_zero_area: int
    n_crossing: int  # facets that cross another
    n_tested: int  # of how many looked at
    noise_mm: float | None  # standard deviation across the surface; 0 for a drawing, None untold
    edge_mm: float  # median length of an edge

    @property
    def is_noise_seen(self) -> bool:
        """Whether the noise shows on the copy."""
        return (self.noise_mm or 0.0) > SHOWS_MM

    @property
    def detail_mm(self) -> float:
        """Length under which detail is lost between the vertices."""
        return EDGES_PER_DETAIL * self.edge_mm
