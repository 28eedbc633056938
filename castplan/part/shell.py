"""The holes, bodies and volume of a surface, and what its holes leave open."""

import numpy as np

from castplan.part import doubt, orient, rims


class Shell:
    """One version of a surface: its holes with their caps, its bodies, its volume.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int64
    edges : check.Edges
        Of the faces.
    """

    def __init__(self, vertices_mm, faces, edges) -> None:
        self.loops = rims.trace_rims(edges, vertices_mm)
        self.holes = rims.measure_rims(vertices_mm, self.loops)
        self.caps = rims.close_rims(vertices_mm, self.loops)
        self.vertices_mm = np.concatenate((vertices_mm, self.caps.middles_mm))
        # Each hole's area once, on the first facet that caps it.
        open_mm2 = np.zeros(len(self.caps.faces))
        first = np.searchsorted(self.caps.hole, np.arange(len(self.loops)))
        open_mm2[first] = self.holes.area_mm2
        self.bodies = orient.find_bodies(
            self.vertices_mm, faces, edges, (self.caps.faces, open_mm2)
        )
        self.n_inner = int(self.bodies.adds_nothing.sum())
        self.volume_mm3 = float(self.bodies.volume_mm3[~self.bodies.adds_nothing].sum())

    def doubt_mm3(self, faces) -> float:
        """What the holes leave open of the surface made of `faces`, either way."""
        return doubt.doubt_mm3(
            (self.vertices_mm, faces), self.loops, self.holes, volume_mm3=abs(self.volume_mm3)
        )
