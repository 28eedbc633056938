"""How the part was sampled, and how it looks."""

import numpy as np

from castplan._arrays import frozen_path
from castplan.record import record


@record
class Sketch:
    """A line drawing of the part seen along one direction, in view coordinates.

    `outline` are closed rings (holes too), `lines` open polylines of visible
    edges; each an (n, 2) array. `pockets` are rings per pocket number.
    """

    name: str  # "draw" (from above), "front" and "side" in the draw frame; "pour"
    pitch_mm: float
    outline: tuple[np.ndarray, ...]
    lines: tuple[np.ndarray, ...]
    pockets: tuple[tuple[int, np.ndarray], ...]

    def __post_init__(self):
        object.__setattr__(self, "outline", tuple(frozen_path(r) for r in self.outline))
        object.__setattr__(self, "lines", tuple(frozen_path(r) for r in self.lines))
        object.__setattr__(self, "pockets", tuple((n, frozen_path(r)) for n, r in self.pockets))


# Sampled and exact volume further apart than this: the mesh crosses itself,
# or the pitch is too coarse for its walls.
OVERLAP_FRACTION = 0.01


@record
class Sampling:
    """How finely the part was sampled, and how well that fits its exact volume."""

    pitch_mm: float
    n_columns: int
    n_unclosed: int
    n_decided: int  # columns decided by the generalised winding number
    volume_mm3: float
    volume_difference_fraction: float | None  # against the exact volume; None if open

    @property
    def bodies_overlap(self) -> bool:
        """More apart than sampling puts them: bodies overlap, or do not bound what they seem to."""
        off = self.volume_difference_fraction
        return off is not None and abs(off) > OVERLAP_FRACTION
