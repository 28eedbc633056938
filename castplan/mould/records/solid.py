"""Solids to make or to print."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import record


@record
class Solid:
    """One closed body, normals outward, draw frame."""

    name: str
    vertices_mm: np.ndarray  # (n, 3)
    faces: np.ndarray  # (m, 3) int32

    def __post_init__(self):
        freeze(self, "vertices_mm", shape=(None, 3))
        freeze(self, "faces", shape=(None, 3), dtype=np.int32)

    @property
    def volume_mm3(self) -> float:
        """Volume by the divergence theorem."""
        a, b, c = (self.vertices_mm[self.faces[:, k]] for k in range(3))
        return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


@record
class Halves:
    """The two halves of the mould as solids, and what is left of the box.

    upper + lower + loose + cavity + ports = box.
    """

    upper: Solid
    lower: Solid
    box_mm3: float
    cavity_mm3: float  # voids that no silicone reaches included
    ports_mm3: float  # gate, cup and vents, beyond the cavity
    n_bodies: tuple[int, int]  # of upper and lower; more than one is a finding
    n_moved: int  # bowls and domes that went to the other half
    loose: tuple[Solid, ...] = ()  # in the order in which they are pulled
