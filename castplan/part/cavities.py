"""Cavities that no resin runs between: each needs a gate and a way out of its own."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from castplan.columns.field import ColumnField
from castplan.columns.flood import label_joined
from castplan.geometry import directions
from castplan.part import check
from castplan.part.records import Part
from castplan.record import record

# Corners of a body that are asked which columns are its own.
N_ASKED = 20_000


@record
class Cavities:
    """Which cavity each corner of the mesh bounds, from 0, in the order of their gates."""

    of_vertex: np.ndarray  # (n,) int64
    shares: tuple[float, ...]  # of the part's volume, as sampled


def find_cavities(part: Part, field: ColumnField, *, least_mm3: float) -> Cavities | None:
    """Group the closed surfaces of a part by what resin runs between; None where there is one.

    Surfaces that overlap are one cavity, so is a surface with the voids in it. What
    is smaller than a vent is worth goes with the largest: there is no gate for it.

    Parameters
    ----------
    part : Part
    field : ColumnField
        Of the part, along any direction.
    least_mm3 : float

    Returns
    -------
    Cavities or None
        Parts laid side by side in their order, else the largest first.
    """
    # Of one surface nothing is kept: the field would be held for no use.
    return None if part.check.n_bodies == 1 else _find(part, field, least_mm3)


@lru_cache(maxsize=1)
def _find(part, field, least_mm3):
    of_vertex, n_bodies = _bodies(part)
    joined, n_joined = _joined(field)
    body, piece = _touching(part, field, of_vertex, joined)
    ones = np.ones(len(body), dtype=np.int8)
    size = n_bodies + n_joined
    graph = coo_matrix((ones, (body, n_bodies + piece)), shape=(size, size))
    group = connected_components(graph, directed=False)[1]
    mm3 = np.bincount(
        _group_of(field, group[n_bodies:][joined], joined, np.unique(piece)),
        weights=field.top_mm - field.bottom_mm,
        minlength=int(group.max()) + 1,
    )
    mm3 *= field.cell_mm2
    kept = np.flatnonzero(mm3 >= least_mm3)
    if len(kept) < 2:
        return None
    first = np.full(len(mm3), len(of_vertex))
    np.minimum.at(first, group[of_vertex], np.arange(len(of_vertex)))
    if part.check.n_parts > 1:
        kept = kept[np.argsort(first[kept], kind="stable")]
    else:
        kept = _by_size(part, kept, mm3, group[of_vertex])
    number = np.full(len(mm3), int(np.argmax(mm3[kept])))
    number[kept] = np.arange(len(kept))
    shares = np.bincount(number, weights=mm3, minlength=len(kept)) / mm3.sum()
    return Cavities(
        of_vertex=number[group[of_vertex]], shares=tuple(float(share) for share in shares)
    )


def _by_size(part, kept, mm3, of_vertex):
    """The largest first; of those as large the one farthest along the part's own axes."""
    turn = directions.own_turn(part)
    points = part.vertices_mm[: len(of_vertex)]
    middles = [points[of_vertex == k].mean(axis=0) for k in kept]
    rank = np.empty(len(kept), dtype=np.int64)
    left = list(range(len(kept)))
    for place in range(len(kept)):
        k = left.pop(directions.farthest_along(np.array([middles[j] for j in left]), turn))
        rank[k] = place
    # To three digits: sampling tells equal bodies apart by less.
    size = [float(f"{mm3[k]:.3g}") for k in kept]
    return kept[np.lexsort((rank, np.negative(size)))]


@lru_cache(maxsize=1)
def _bodies(part):
    """Connected surface of each corner of the mesh, (n,), and how many there are."""
    n_surface = part.check.n_vertices
    edges = check.edges_of(np.asarray(part.faces, dtype=np.int64), n_vertices=n_surface)
    n_bodies, of_vertex = check.count_components(edges.pairs, n_vertices=n_surface)
    return of_vertex.astype(np.int64), n_bodies


def _joined(field):
    """Pieces of a field that its columns join: (n,) from 0, and their number."""
    is_any = np.ones(len(field.bottom_mm), dtype=bool)
    return label_joined(
        field.first, field.bottom_mm, field.top_mm, field.column_of, field.n_x, is_any
    )


def _ends(field):
    """Both ends of every interval, (2 n, 3)."""
    middle = field.centre_mm(field.column_of)
    ends = np.concatenate([field.bottom_mm, field.top_mm])
    return np.column_stack([np.concatenate([middle, middle]), ends])


def _touching(part, field, of_vertex, joined):
    """Pairs of a body and a piece of the field that it bounds, each (k,)."""
    order = np.argsort(of_vertex, kind="stable")
    starts = np.flatnonzero(np.diff(of_vertex[order], prepend=-1))
    counts = np.diff(starts, append=len(order))
    asked = np.concatenate(
        [
            order[start + np.unique(np.linspace(0, n - 1, min(n, N_ASKED)).astype(int))]
            for start, n in zip(starts, counts, strict=True)
        ]
    )
    points = part.vertices_mm[asked] @ field.rotation.T
    nearest = cKDTree(_ends(field)).query(points)[1] % len(joined)
    pairs = np.unique(np.column_stack([of_vertex[asked], joined[nearest]]), axis=0)
    return pairs[:, 0], pairs[:, 1]


def _group_of(field, group, joined, touched):
    """Group of every interval; a piece without a corner of the mesh goes with the nearest."""
    is_touched = np.isin(joined, touched)
    if is_touched.all():
        return group
    middles = np.column_stack(
        [field.centre_mm(field.column_of), 0.5 * (field.bottom_mm + field.top_mm)]
    )
    nearest = cKDTree(middles[is_touched]).query(middles[~is_touched])[1]
    group = group.copy()
    group[~is_touched] = group[is_touched][nearest]
    return group


def label_field(part: Part, cavities: Cavities, field: ColumnField) -> np.ndarray:
    """Cavity of every interval of a field of the part, (n,) int64."""
    joined, n_joined = _joined(field)
    number, piece = _touching(part, field, cavities.of_vertex, joined)
    of_piece = np.zeros(n_joined, dtype=np.int64)
    of_piece[piece] = number
    return _group_of(field, of_piece[joined], joined, np.unique(piece))


def only(field: ColumnField, is_kept) -> ColumnField:
    """The same field with some of its intervals."""
    counts = np.bincount(field.column_of[is_kept], minlength=field.n_x * field.n_y)
    return replace(
        field,
        first=np.concatenate([[0], np.cumsum(counts)]).astype(field.first.dtype),
        bottom_mm=field.bottom_mm[is_kept],
        top_mm=field.top_mm[is_kept],
    )


def each_of(part: Part, cavities: Cavities | None, field: ColumnField) -> tuple[ColumnField, ...]:
    """A field of the part cavity by cavity, in their order; all of it where there is one."""
    if cavities is None:
        return (field,)
    labels = label_field(part, cavities, field)
    return tuple(only(field, labels == k) for k in range(len(cavities.shares)))


def part_of(part: Part, cavities: Cavities, *, k: int) -> Part:
    """The part without what bounds other cavities; its check tells of all of them but the volume.

    Parameters
    ----------
    part : Part
    cavities : Cavities
    k : int
        The cavity.
    """
    n_surface = len(cavities.of_vertex)
    faces = part.faces[cavities.of_vertex[part.faces[:, 0]] == k]
    rims = part.cap_faces[:, :2]  # the third corner is the middle of the hole
    caps = part.cap_faces[cavities.of_vertex[np.minimum(rims, n_surface - 1)].max(axis=1) == k]
    used, corners = np.unique(np.concatenate([faces, caps]), return_inverse=True)
    corners = corners.reshape(-1, 3)
    volume_mm3 = part.check.volume_mm3 * cavities.shares[k]
    return Part(
        name=part.name,
        vertices_mm=part.vertices_mm[used],
        faces=corners[: len(faces)],
        cap_faces=corners[len(faces) :],
        check=replace(part.check, volume_mm3=volume_mm3),
    )
