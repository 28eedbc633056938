"""How sound a mesh is: holes, bodies, crossings, noise, resolution."""

import numpy as np

from castplan.part import check, orient, rims
from castplan.part.crossings import count_crossing
from castplan.part.noise import estimate_noise_mm
from castplan.part.records import Body, Health, Hole, Part

# A body of less than this share of the largest one's area is a speck.
SPECK_FRACTION = 0.01
# Facets flatter than this against their longest edge have no area to speak of.
_FLAT = 1e-9


def examine(part: Part) -> Health:
    """Look a mesh over.

    Parameters
    ----------
    part : Part

    Returns
    -------
    Health
    """
    n_surface = part.check.n_vertices
    vertices_mm, faces = part.vertices_mm[:n_surface], np.asarray(part.faces, dtype=np.int64)
    edges = check.edges_of(faces, n_vertices=n_surface)
    loops = rims.trace_rims(edges, vertices_mm)
    lengths = np.linalg.norm(
        vertices_mm[edges.pairs[:, 0]] - vertices_mm[edges.pairs[:, 1]], axis=1
    )
    area_mm2 = check.facet_areas_mm2(vertices_mm, faces)
    corners = vertices_mm[faces]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    n_crossing, n_tested = count_crossing(vertices_mm, part.faces)
    return Health(
        holes=_holes(vertices_mm, loops),
        bodies=_bodies(part, edges),
        n_duplicates=_count_duplicates(faces),
        n_zero_area=int(np.count_nonzero(area_mm2 <= _FLAT * longest**2)),
        n_crossing=int(n_crossing),
        n_tested=int(n_tested),
        noise_mm=estimate_noise_mm(vertices_mm, faces, edges.pairs),
        edge_mm=float(np.median(lengths)),
    )


def noise_of(part: Part) -> float | None:
    """Noise of a part's own surface, mm; None where its facets cannot tell, 0 for a drawing."""
    n_surface = part.check.n_vertices
    vertices_mm, faces = part.vertices_mm[:n_surface], np.asarray(part.faces, dtype=np.int64)
    edges = check.edges_of(faces, n_vertices=n_surface)
    return estimate_noise_mm(vertices_mm, faces, edges.pairs)


def _holes(vertices_mm, loops):
    sizes = rims.measure_rims(vertices_mm, loops)
    order = np.argsort(-sizes.area_mm2, kind="stable")
    return tuple(
        Hole(
            rim_length_mm=float(sizes.rim_mm[k]),
            area_mm2=float(sizes.area_mm2[k]),
            middle_mm=tuple(float(v) for v in sizes.middle_mm[k]),
            rim_mm=vertices_mm[loops[k]],
        )
        for k in order
    )


def _bodies(part, edges):
    faces = np.asarray(part.faces, dtype=np.int64)
    found = orient.find_bodies(
        part.vertices_mm, faces, edges, (part.cap_faces, np.zeros(len(part.cap_faces)))
    )
    n = len(found.n_facets)
    middle = part.vertices_mm[faces].mean(axis=1)
    count = np.bincount(found.of_facet, minlength=n)
    middles = [
        np.bincount(found.of_facet, weights=middle[:, axis], minlength=n) / count
        for axis in range(3)
    ]
    largest_mm2 = found.area_mm2.max()
    return tuple(
        Body(
            kind=_kind(found.adds_nothing[k], found.volume_mm3[k], found.area_mm2[k] / largest_mm2),
            n_triangles=int(found.n_facets[k]),
            volume_mm3=float(found.volume_mm3[k]),
            area_mm2=float(found.area_mm2[k]),
            middle_mm=tuple(float(axis[k]) for axis in middles),
        )
        for k in np.argsort(-found.area_mm2, kind="stable")
    )


def _kind(adds_nothing, volume_mm3, area_fraction):
    if adds_nothing:
        return "inner shell"
    if volume_mm3 < 0:
        return "void"
    return "speck" if area_fraction < SPECK_FRACTION else "part"


def _count_duplicates(faces):
    key = np.sort(faces, axis=1)
    return len(key) - len(np.unique(key, axis=0))
