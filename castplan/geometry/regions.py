"""After a cut: bodies that belong to the other side are handed over, faces and all."""

from dataclasses import dataclass

import manifold3d
import numpy as np
from manifold3d import Manifold
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from castplan.geometry.solid import solid_of


@dataclass(frozen=True, eq=False)
class _Side:
    """One side of a cut: per face its body, and the patch of the cut it lies on, or -1."""

    points: np.ndarray
    faces: np.ndarray
    body: np.ndarray
    patch: np.ndarray
    is_main: np.ndarray  # per body: it has a face of the block

    def rim(self):
        """Vertices on the edge of a patch: (vertex, patch) pairs."""
        cut = self.patch >= 0
        on_cut = np.full(len(self.points), -1)
        on_cut[self.faces[cut].ravel()] = np.repeat(self.patch[cut], 3)
        off_cut = np.zeros(len(self.points), dtype=bool)
        off_cut[self.faces[~cut].ravel()] = True
        vertex = np.flatnonzero(off_cut & (on_cut >= 0))
        return vertex, on_cut[vertex]


def hand_over(lower: Manifold, upper: Manifold, *, tool_id: int, block_id: int):
    """Give bodies that a cut separated from the block's wall to the other side.

    Parameters
    ----------
    lower, upper : Manifold
        Inside and outside of a tool, made by one `split`, so that the cut has
        the same vertices on both sides.
    tool_id, block_id : int
        Original ids of the tool and of the block whose wall makes a body stay.

    Returns
    -------
    lower, upper : Manifold
    n_moved : int
        Bodies that changed sides.
    """
    sides = (_side(lower, tool_id, block_id), _side(upper, tool_id, block_id))
    n_loose = [int((~side.is_main).sum()) for side in sides]
    if not sum(n_loose):
        return lower, upper, 0
    matches = _match(*sides)
    owner = _owners(sides, matches)
    moved = sum(int((own != k).sum()) for k, own in enumerate(owner))
    if not moved:
        return lower, upper, 0
    made = []
    for own in (0, 1):
        body = _sew(sides, matches, owner, own)
        if body is None or body.status() != manifold3d.Error.NoError:
            return (*_unite(sides, owner), moved)
        made.append(body)
    return made[0], made[1], moved


def _side(half, tool_id, block_id):
    mesh = half.to_mesh64()
    points = np.asarray(mesh.vert_properties)[:, :3]
    faces = np.asarray(mesh.tri_verts).astype(np.int64)
    origin = np.repeat(
        np.asarray(mesh.run_original_id), np.diff(np.asarray(mesh.run_index).astype(np.int64) // 3)
    )
    is_cut = origin == tool_id
    body = _label(faces, len(points))
    patch = np.full(len(faces), -1)
    patch[is_cut] = _label(faces[is_cut], len(points))
    n_bodies = int(body.max(initial=-1)) + 1
    is_main = np.zeros(n_bodies, dtype=bool)
    is_main[body[origin == block_id]] = True
    return _Side(points, faces, body, patch, is_main)


def _label(faces, n_points):
    """Which connected piece each face belongs to, from 0, (m,)."""
    if not len(faces):
        return np.empty(0, dtype=np.int64)
    one, two = faces[:, [0, 1]].ravel(), faces[:, [1, 2]].ravel()
    graph = coo_matrix((np.ones(one.size, dtype=bool), (one, two)), shape=(n_points, n_points))
    _, label = connected_components(graph, directed=False)
    return np.unique(label[faces[:, 0]], return_inverse=True)[1].ravel()


def _match(below, above):
    """Pairs (patch below, patch above) that are one patch of the cut."""
    where = {}
    for vertex, patch in zip(*above.rim(), strict=True):
        where[above.points[vertex].tobytes()] = int(patch)
    votes = {}
    for vertex, patch in zip(*below.rim(), strict=True):
        other = where.get(below.points[vertex].tobytes())
        if other is not None:
            votes[int(patch), other] = votes.get((int(patch), other), 0) + 1
    pairs, used = [], set()
    for (one, two), _ in sorted(votes.items(), key=lambda item: (-item[1], item[0])):
        if ("below", one) not in used and ("above", two) not in used:
            used |= {("below", one), ("above", two)}
            pairs.append((one, two))
    return pairs


def _body_of_patch(side):
    cut = side.patch >= 0
    out = np.zeros(int(side.patch.max(initial=-1)) + 1, dtype=np.int64)
    out[side.patch[cut]] = side.body[cut]
    return out


def _owners(sides, matches):
    """Side (0 lower, 1 upper) that each body of each side ends on, nearest wall first."""
    owner = [np.where(side.is_main, k, -1) for k, side in enumerate(sides)]
    bodies = [_body_of_patch(side) for side in sides]
    while True:
        found = [own.copy() for own in owner]
        for one, two in matches:
            ends = (bodies[0][one], bodies[1][two])
            for k in (0, 1):
                if owner[k][ends[k]] < 0 <= owner[1 - k][ends[1 - k]]:
                    found[k][ends[k]] = owner[1 - k][ends[1 - k]]
        if all((a == b).all() for a, b in zip(owner, found, strict=True)):
            break
        owner = found
    # What nothing reaches stays on its side.
    return [np.where(own < 0, k, own) for k, own in enumerate(owner)]


def _sew(sides, matches, owner, own):
    """All bodies of one owner as one solid; patches between two of them are taken out."""
    bodies = [_body_of_patch(side) for side in sides]
    open_patches = [set(), set()]
    for one, two in matches:
        if owner[0][bodies[0][one]] == owner[1][bodies[1][two]]:
            open_patches[0].add(one)
            open_patches[1].add(two)
    points, faces, seam, start = [], [], {}, 0
    for k, side in enumerate(sides):
        kept = (owner[k][side.body] == own) & ~np.isin(side.patch, list(open_patches[k]))
        target = start + np.arange(len(side.points))
        for vertex, patch in zip(*side.rim(), strict=True):
            if int(patch) in open_patches[k]:
                # The first side to come sets the vertex, the other is sewn to it.
                target[vertex] = seam.setdefault(side.points[vertex].tobytes(), start + vertex)
        points.append(side.points)
        faces.append(target[side.faces[kept]])
        start += len(side.points)
    points, faces = np.concatenate(points), np.concatenate(faces)
    if not len(faces):
        return None
    used, faces = np.unique(faces, return_inverse=True)
    return solid_of(points[used], faces.reshape(-1, 3))


def _unite(sides, owner):
    """The same by Booleans, where the rims of the patches differ in rounding."""
    gathered = [[], []]
    for k, side in enumerate(sides):
        for b in range(len(side.is_main)):
            used, faces = np.unique(side.faces[side.body == b], return_inverse=True)
            piece = solid_of(side.points[used], faces.reshape(-1, 3))
            gathered[int(owner[k][b])].append(piece)
    return [Manifold.batch_boolean(pieces, manifold3d.OpType.Add) for pieces in gathered]
