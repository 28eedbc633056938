"""The seam on the mesh: facets shared out between the halves by a minimum cut."""

import numpy as np
from scipy import sparse
from scipy.sparse import csgraph
from scipy.spatial import cKDTree

from castplan.columns.field import ColumnField
from castplan.geometry import directions, frames
from castplan.geometry.standin import thin_out
from castplan.job import Job
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.record import Frame
from castplan.split.records import DraftResult, SeamResult

# A mesh heavier than this is cut on a stand-in.
MAX_FACETS = 60_000
N_STANDIN = 40_000
# A millimetre of seam is worth this volume held the wrong way (assumed): a
# bump of scan noise is not worth the detour, an undercut is.
SEAM_MM2 = 2.0
DEEPEST_MM = 10.0  # an undercut deeper than this is no worse for the cut
# A seam on the show face costs ten times more at the usual weight of its dressing.
SHOW_TIMES_MM_PER_MIN = 50.0
ISLAND_FRACTION = 0.005  # patches smaller than this take the label around them
DRAFT_LIMITS_DEG = (0.0, 1.0, 3.0)
# Rounding of a turned vertical wall is not a negative draft.
DRAFT_ROUNDING_DEG = 0.05
_UNITS = 1000.0  # the flow is solved in whole thousandths


@remembered
def find_seam(part: Part, frame: Frame, field: ColumnField, job: Job) -> SeamResult:
    """Label every facet upper or lower so that least is held and the seam is short.

    Two-label minimum cut over the facets: giving a facet to a half costs its
    area times the depth of part that blocks it that way, parting two
    neighbours costs the length of their edge, more if it climbs or lies on
    the show face (direction labelling of facets: Herholz, Matusik and Alexa,
    CGF 34(2) 2015, doi 10.1111/cgf.12556).

    Parameters
    ----------
    part : Part
    frame : Frame
        The draw frame.
    field : ColumnField
        Sampled along the draw.
    job : Job
        `show_face` makes a seam on that side dear, by the weight of dressing it.

    Returns
    -------
    SeamResult
    """
    vertices, faces = part.vertices_mm, part.faces
    if len(faces) > MAX_FACETS:
        cell_mm = directions.longest_mm(part) / 512
        vertices, faces = thin_out(part, n_triangles=N_STANDIN, cell_mm=cell_mm)
    points = vertices @ frame.rotation.T
    corners = points[faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.linalg.norm(cross, axis=1)
    normal = cross / np.where(double > 0, double, 1.0)[:, None]
    area = 0.5 * double
    pairs, ends = _neighbours(faces, len(points))
    show = None if job.show_face is None else frame.to_frame(frames.unit(job.show_face))
    show_times = SHOW_TIMES_MM_PER_MIN * job.draw_weights.show_seam_min_per_mm
    length, weight = _edge_weights(points, ends, normal, pairs, show, show_times)
    blocked = _blocked_mm(field, corners.mean(axis=1), normal)
    is_upper = _cut(area[:, None] * np.minimum(blocked, DEEPEST_MM), pairs, weight)
    is_upper = _drop_islands(is_upper, area, pairs)
    parted = is_upper[pairs[:, 0]] != is_upper[pairs[:, 1]]
    on_show = None
    if show is not None:
        shows = (normal[pairs] @ show).max(axis=1) > 0.5
        on_show = float(length[parted & shows].sum())
    return SeamResult(
        loops_mm=_chain(points, ends[parted]),
        length_mm=float(length[parted].sum()),
        length_on_show_mm=on_show,
        n_expected=_expected_loops(part),
        draft=_draft(normal[:, 2], area, is_upper),
    )


@remembered
def seam_heights(seam: SeamResult, *, within_mm: float):
    """Function that reads the seam's height beside outline points.

    Parameters
    ----------
    seam : SeamResult
    within_mm : float
        Farther than this, seen along the draw, the seam says nothing.

    Returns
    -------
    callable
        Points (k, 2) in the draw frame to heights (k,), nan where none.
    """
    dense = [_densify(loop, within_mm) for loop in seam.loops_mm]
    line = np.concatenate(dense) if dense else np.empty((0, 3))
    tree = cKDTree(line[:, :2]) if len(line) else None

    def heights(points_mm):
        if tree is None:
            return np.full(len(points_mm), np.nan)
        away, nearest = tree.query(points_mm)
        return np.where(away <= within_mm, line[nearest, 2], np.nan)

    return heights


def _densify(loop, step_mm):
    steps = np.linalg.norm(np.diff(loop, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    at = np.linspace(0.0, along[-1], int(along[-1] / step_mm) + 2)
    return np.stack([np.interp(at, along, loop[:, k]) for k in range(3)], axis=1)


def _neighbours(faces, n_vertices):
    """Facet pairs that share an edge, (e, 2), and the edge's vertices, (e, 2)."""
    edge = np.sort(faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2).astype(np.int64), axis=1)
    key = edge[:, 0] * n_vertices + edge[:, 1]
    order = np.argsort(key, kind="stable")
    same = np.flatnonzero(key[order][1:] == key[order][:-1])
    one, two = order[same], order[same + 1]
    return np.stack([one // 3, two // 3], axis=1), edge[one]


def _edge_weights(points, ends, normal, pairs, show, show_times):
    along = points[ends[:, 1]] - points[ends[:, 0]]
    length = np.linalg.norm(along, axis=1)
    climb = np.abs(along[:, 2]) / np.where(length > 0, length, 1.0)
    factor = 1.0 + climb
    if show is not None:
        factor += show_times * ((normal[pairs] @ show).max(axis=1) > 0.5)
    return length, SEAM_MM2 * length * factor


def _blocked_mm(field, centres, normal):
    """Depth of part above and below just outside each facet, (m, 2): up, down."""
    # A facet that grazes its column is judged from the void beside it.
    outside = centres + normal * field.pitch_mm
    column = field.columns_at(outside[:, :2])
    z = outside[:, 2]
    out = np.zeros((len(centres), 2))
    first, last = field.first[column], field.first[column + 1]
    for k in range(int((last - first).max(initial=0))):
        has = first + k < last
        at = np.minimum(first + k, len(field.bottom_mm) - 1)
        bottom, top = field.bottom_mm[at], field.top_mm[at]
        out[:, 0] += has * np.clip(top - np.maximum(bottom, z), 0, None)
        out[:, 1] += has * np.clip(np.minimum(top, z) - bottom, 0, None)
    return out


def _cut(cost, pairs, weight):
    """Facets on the upper side of the cheapest cut, (m,) bool."""
    m = len(cost)
    source, sink = m, m + 1
    facet = np.arange(m)
    # Ending up lower cuts the link from the source, and so costs what blocks
    # the facet downward; the other way round for the sink.
    rows = np.concatenate([np.full(m, source), facet, pairs[:, 0], pairs[:, 1]])
    cols = np.concatenate([facet, np.full(m, sink), pairs[:, 1], pairs[:, 0]])
    capacity = np.concatenate([cost[:, 1], cost[:, 0], weight, weight])
    whole = np.minimum(np.rint(capacity * _UNITS), 2**30).astype(np.int32)
    graph = sparse.csr_matrix((whole, (rows, cols)), shape=(m + 2, m + 2))
    flow = csgraph.maximum_flow(graph, source, sink).flow
    residual = graph - flow
    residual.data = np.maximum(residual.data, 0)
    residual.eliminate_zeros()
    reached = csgraph.breadth_first_order(residual, source, return_predecessors=False)
    is_upper = np.zeros(m + 2, dtype=bool)
    is_upper[reached] = True
    return is_upper[:m]


def _drop_islands(is_upper, area, pairs):
    """Give patches too small to cast the label around them."""
    for _ in range(3):
        same = is_upper[pairs[:, 0]] == is_upper[pairs[:, 1]]
        m = len(is_upper)
        links = sparse.coo_matrix(
            (np.ones(same.sum()), (pairs[same, 0], pairs[same, 1])), shape=(m, m)
        )
        n, patch = csgraph.connected_components(links, directed=False)
        size = np.bincount(patch, weights=area, minlength=n)
        small = size[patch] < ISLAND_FRACTION * area.sum()
        if not small.any() or small.all():
            break
        is_upper = np.where(small, ~is_upper, is_upper)
    return is_upper


def _chain(points, ends):
    """Edges joined end to end into closed loops, longest first."""
    around = {}
    for a, b in ends.tolist():
        around.setdefault(a, []).append(b)
        around.setdefault(b, []).append(a)
    for others in around.values():
        others.sort()
    loops = []
    for start in sorted(around):
        while around[start]:
            loop, here = [start], start
            while around[here]:
                nxt = around[here].pop()
                around[nxt].remove(here)
                loop.append(nxt)
                here = nxt
                if here == start:
                    break
            loops.append(points[loop])
    lengths = [float(np.linalg.norm(np.diff(loop, axis=0), axis=1).sum()) for loop in loops]
    return tuple(loops[k] for k in np.argsort(-np.array(lengths), kind="stable"))


def _expected_loops(part):
    """Genus and one, by Euler's formula, of a single closed body."""
    check = part.check
    if not check.is_watertight or check.n_bodies != 1:
        return None
    euler = check.n_vertices - check.n_triangles // 2
    return 1 - euler // 2 + 1


def _draft(slope, area, is_upper):
    draft = np.degrees(np.arcsin(np.clip(np.where(is_upper, slope, -slope), -1.0, 1.0)))
    limits = [DRAFT_LIMITS_DEG[0] - DRAFT_ROUNDING_DEG, *DRAFT_LIMITS_DEG[1:]]

    def less(side):
        return tuple(float(area[side & (draft < limit)].sum()) for limit in limits)

    return DraftResult(
        limits_deg=DRAFT_LIMITS_DEG,
        upper_mm2=less(is_upper),
        lower_mm2=less(~is_upper),
        upper_total_mm2=float(area[is_upper].sum()),
        lower_total_mm2=float(area[~is_upper].sum()),
    )
