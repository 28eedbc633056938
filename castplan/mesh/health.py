"""How sound a mesh is: holes, bodies, crossings, noise, resolution."""

import numpy as np
from scipy import sparse

from castplan.mesh import check, orient, rims
from castplan.mesh.crossings import count_crossing
from castplan.model import Body, Health, Hole, Part

# A body of less than this share of the largest one's area is a speck.
SPECK_FRACTION = 0.01
# Facets flatter than this against their longest edge have no area to speak of.
_FLAT = 1e-9
# Noise is told on the even facets that scanners make (1 for an equilateral
# one), not on the slivers of a drawing; and from vertices whose facets turn
# less than this from their mean.
_MIN_EVENNESS = 0.7
_SMOOTH_DEG = 40.0
_MIN_SMOOTH = 200
_MAX_SAMPLED = 100_000


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
    sides = _sides_mm(vertices_mm, faces)
    longest = sides.max(axis=1)
    noise_mm = None
    if _is_even(area_mm2, sides):
        noise_mm = estimate_noise_mm(vertices_mm, faces, edges.pairs)
    n_crossing, n_tested = count_crossing(vertices_mm, part.faces)
    return Health(
        holes=_holes(vertices_mm, loops),
        bodies=_bodies(part, edges),
        n_duplicates=_count_duplicates(faces),
        n_zero_area=int(np.count_nonzero(area_mm2 <= _FLAT * longest**2)),
        n_crossing=int(n_crossing),
        n_tested=int(n_tested),
        noise_mm=noise_mm,
        edge_mm=float(np.median(lengths)),
    )


def noise_of(part: Part) -> float | None:
    """Noise of a part's own surface, mm; None where its facets cannot tell."""
    n_surface = part.check.n_vertices
    vertices_mm, faces = part.vertices_mm[:n_surface], np.asarray(part.faces, dtype=np.int64)
    area_mm2 = check.facet_areas_mm2(vertices_mm, faces)
    if not _is_even(area_mm2, _sides_mm(vertices_mm, faces)):
        return None
    edges = check.edges_of(faces, n_vertices=n_surface)
    return estimate_noise_mm(vertices_mm, faces, edges.pairs)


def _sides_mm(vertices_mm, faces):
    corners = vertices_mm[faces]
    return np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)


def _is_even(area_mm2, sides_mm):
    """Facets near enough to equilateral, as a scan's are; a model's long ones tell nothing."""
    evenness = 4 * np.sqrt(3) * area_mm2 / np.maximum((sides_mm**2).sum(axis=1), 1e-300)
    return np.median(evenness) >= _MIN_EVENNESS


def estimate_noise_mm(vertices_mm, faces, pairs) -> float | None:
    """Standard deviation of a scan's noise across its surface, or None.

    Each vertex is compared with the mean of its neighbours, and that
    difference with its neighbours' again: a smooth surface leaves nothing to
    third order, independent noise a known multiple of itself (the row norm of
    the squared umbrella operator, Taubin 1995). The median over the smooth
    vertices passes over edges and corners. After Immerkaer, CVIU 64 (1996)
    300-302, who estimates an image's noise so.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int
    pairs : (k, 2) int
        Edges.
    """
    n = len(vertices_mm)
    facet = np.cross(
        vertices_mm[faces[:, 1]] - vertices_mm[faces[:, 0]],
        vertices_mm[faces[:, 2]] - vertices_mm[faces[:, 0]],
    )
    normal = np.stack(
        [
            sum(np.bincount(faces[:, k], weights=facet[:, axis], minlength=n) for k in range(3))
            for axis in range(3)
        ],
        axis=1,
    )
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
    facet /= np.maximum(np.linalg.norm(facet, axis=1), 1e-300)[:, None]
    least = np.ones(n)
    for k in range(3):
        np.minimum.at(least, faces[:, k], np.einsum("ij,ij->i", facet, normal[faces[:, k]]))
    smooth = np.flatnonzero(least > np.cos(np.radians(_SMOOTH_DEG)))
    if len(smooth) < max(_MIN_SMOOTH, 0.3 * n):
        return None
    if len(smooth) > _MAX_SAMPLED:
        smooth = np.random.default_rng(0).choice(smooth, _MAX_SAMPLED, replace=False)
    ones = np.ones(len(pairs))
    graph = sparse.coo_matrix((ones, (pairs[:, 0], pairs[:, 1])), shape=(n, n)).tocsr()
    graph = graph + graph.T
    degree = np.asarray(graph.sum(axis=1)).ravel()
    umbrella = sparse.identity(n, format="csr") - sparse.diags(1 / np.maximum(degree, 1)) @ graph
    twice = umbrella[smooth] @ umbrella
    across = np.einsum("ij,ij->i", twice @ vertices_mm, normal[smooth])
    gain = np.sqrt(np.asarray(twice.multiply(twice).sum(axis=1)).ravel())
    # 0.6745: median of the absolute value of a standard normal variate.
    return float(np.median(np.abs(across) / gain) / 0.6745)


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
        part.vertices_mm, faces, edges, part.cap_faces, np.zeros(len(part.cap_faces))
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
