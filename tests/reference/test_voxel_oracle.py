"""Pockets of random bodies against brute force on voxels.

The bodies are convex bricks joined and taken away. The columns see the mesh
that manifold3d makes of them; the oracle never does: it asks for each voxel
whether its middle lies in the bricks, by their half-spaces, in a frame of its
own (square to the draw, not askew), and labels with scipy.ndimage. Trapped is
void with part both above and below; a mouth is a connected patch of void that
is not trapped and touches the pocket from the side; depth is the shortest way
out, counted sideways, by Dijkstra over the vertical runs of the pocket.
"""

import functools
import math
from typing import NamedTuple

import bodies
import manifold3d
import numpy as np
import pytest
import shapes
from scipy import ndimage, sparse
from scipy.sparse import csgraph
from scipy.spatial import ConvexHull

from castplan.columns.gaps import find_gaps
from castplan.split.undercuts import list_pockets

# How many bodies, and what is asked at least of them: seeds, pockets, bridges, sealed voids.
ENOUGH = {10: (8, 8, 3, 3), 46: (30, 20, 8, 8)}
COLUMNS_MM = 0.2  # pitch of the columns
VOXEL_MM = np.array([0.4, 0.4, 0.17])  # finest along the draw: thin edges cover there
# What lies at the edge of what voxels can tell is left out, whatever the columns
# say: pockets under this volume or nowhere three voxels wide, and those that change
# kind, mouths or place when every wall of the body is moved out or in by this much
# (thin walls, thin necks).
# So are those within two voxels of others that come to more than a twentieth of
# them: whether these join is for a finer grid.
LEAST_MM3 = 15.0
MOVED_MM = 0.12
KINDS = ("pocket", "bridge", "sealed")
FULL = np.ones((3, 3, 3))
MARGIN = 4  # empty voxels all round


class Found(NamedTuple):
    """One pocket as the oracle sees it."""

    kind: str
    n_mouths: int
    volume_mm3: float
    centre_mm: np.ndarray
    depth_mm: float
    skin_mm2: float  # of its voxels: up to twice a slanted wall
    width_mm: float  # of the widest cube of voxels in it
    near_mm3: float = 0.0  # other pockets within two voxels, and so on from these


# -- random bodies: bricks as meshes and as half-spaces ----------------------------


def _brick(rng, *, is_tool):
    """(vertices, is it taken away) of a random box, prism or pebble, turned at random."""
    kind = rng.integers(3)
    size = rng.uniform(4, 8, 3) if is_tool else rng.uniform(8, 22, 3)
    if is_tool and rng.random() < 0.6:
        size[0] = rng.uniform(10, 40)  # a drill
    if kind == 0:
        points = shapes.box(*size).vertices_mm
    elif kind == 1:
        points = shapes.frustum(size[1] / 2, size[1] / 2, size[0], 12).vertices_mm
        points = (points - [0, 0, size[0] / 2])[:, [2, 0, 1]]
    else:
        points = bodies.directions(12, seed=int(rng.integers(1 << 30))) * size / 2
    turn = shapes.rotation(int(rng.integers(1 << 30))) if rng.random() < 0.6 else np.eye(3)
    return points @ turn.T + rng.uniform(-7, 7, 3), is_tool


def random_body(seed):
    """Bricks of one body: the first a block, then some added and some taken away."""
    rng = np.random.default_rng(seed)
    bricks = [(shapes.box(*rng.uniform(14, 24, 3)).vertices_mm, False)]
    plan = [False] * int(rng.integers(1, 4)) + [True] * int(rng.integers(2, 5))
    return bricks + [_brick(rng, is_tool=bool(cut)) for cut in plan]


def as_mesh(bricks):
    """(vertices, faces) by manifold3d."""
    solid = manifold3d.Manifold()
    for points, is_tool in bricks:
        hull = manifold3d.Manifold.hull_points(np.array(points))
        solid = solid - hull if is_tool else solid + hull
    return bodies.arrays(solid)


def is_inside(bricks, rotation, axes, *, grown_mm):
    """Whether voxels lie in the body, by the faces of each brick's hull alone.

    Every wall is moved out by `grown_mm`: bricks grow, tools shrink.
    """
    inside = np.zeros([len(at) for at in axes], dtype=bool)
    for corners, is_tool in bricks:
        planes = np.unique(np.round(ConvexHull(corners @ rotation.T).equations, 9), axis=0)
        planes[:, 3] -= -grown_mm if is_tool else grown_mm
        reach = corners @ rotation.T
        some = tuple(
            slice(*np.searchsorted(at, (low - 1.0, high + 1.0)))
            for at, low, high in zip(axes, reach.min(axis=0), reach.max(axis=0), strict=True)
        )
        x, y, z = np.meshgrid(
            *(at[part] for at, part in zip(axes, some, strict=True)), indexing="ij", sparse=True
        )
        within = np.ones(np.broadcast_shapes(x.shape, y.shape, z.shape), dtype=bool)
        for a, b, c, d in planes:
            within &= (a * x + b * y + d) + c * z <= 0
        inside[some][within] = not is_tool
    return inside


# -- the oracle --------------------------------------------------------------------


def oracle(bricks, rotation, low_mm, high_mm, *, grown_mm=0.0):
    """Every pocket that voxels show, in the frame of the rotation."""
    axes = [
        np.arange(low_mm[k] - MARGIN * size, high_mm[k] + (MARGIN + 1) * size, size)
        for k, size in enumerate(VOXEL_MM)
    ]
    part = is_inside(bricks, rotation, axes, grown_mm=grown_mm)
    below = np.logical_or.accumulate(part, axis=2)
    above = np.logical_or.accumulate(part[:, :, ::-1], axis=2)[:, :, ::-1]
    trapped = ~part & below & above
    free = ~part & ~trapped
    label, _ = ndimage.label(trapped)
    volume_mm3 = np.bincount(label.ravel()) * VOXEL_MM.prod()
    cluster, _ = ndimage.label(ndimage.binary_dilation(trapped, FULL), FULL)
    cluster_mm3 = np.bincount(cluster[trapped], minlength=1) * VOXEL_MM.prod()
    found = []
    for k, box in enumerate(ndimage.find_objects(label), start=1):
        if volume_mm3[k] >= LEAST_MM3:
            where = tuple(slice(s.start - 3, s.stop + 3) for s in box)
            low = [axes[m][where[m].start] for m in range(3)]
            under, over = (free & ~below)[where], (free & ~above)[where]
            look = _look(label[where] == k, free[where], under, over, low)
            mine = cluster[box][label[box] == k][0]
            found.append(look._replace(near_mm3=float(cluster_mm3[mine] - volume_mm3[k])))
    return found


def _look(inside, free, under_part, over_part, low_mm):
    contact, faces = _sideways(inside, free)
    mouths = _count(contact, faces, least=max(2, 0.02 * _largest(contact, faces)))
    if mouths == 1:
        # One opening all round, which either half could hold from two sides only.
        holds = []
        for away in (under_part & ~over_part, over_part & ~under_part):
            thick = ndimage.binary_dilation(contact & ~away, FULL)
            holds.append(_count(thick, np.where(away, 0, faces), least=0.03 * faces.sum()))
        mouths = max(1, min(holds))
    where = np.argwhere(inside)
    depth_mm = 0.0
    if mouths:
        depth_mm = _depth_mm(inside, contact)
    return Found(
        kind="sealed" if not mouths else ("pocket" if mouths == 1 else "bridge"),
        n_mouths=mouths,
        volume_mm3=float(len(where) * VOXEL_MM.prod()),
        centre_mm=np.array(low_mm) + where.mean(axis=0) * VOXEL_MM,
        depth_mm=depth_mm,
        skin_mm2=_skin_mm2(inside),
        width_mm=3 * VOXEL_MM[0] if ndimage.binary_erosion(inside, FULL).any() else 0.0,
    )


def _skin_mm2(inside):
    faces = [np.count_nonzero(np.diff(inside, axis=k)) for k in range(3)]
    return float(np.array(faces) @ (VOXEL_MM.prod() / VOXEL_MM))


def _sideways(inside, free):
    """Free voxels beside the pocket, and how many of its faces each touches."""
    faces = np.zeros(inside.shape, dtype=int)
    for axis in (0, 1):
        for step in (1, -1):
            faces += np.roll(inside, step, axis=axis)
    return free & (faces > 0), np.where(free, faces, 0)


def _areas(contact, faces):
    label, n = ndimage.label(contact, FULL)
    return np.bincount(label.ravel(), weights=faces.ravel(), minlength=n + 1)[1:]


def _largest(contact, faces):
    return max(_areas(contact, faces), default=0)


def _count(contact, faces, *, least):
    return int((_areas(contact, faces) >= least).sum())


def _depth_mm(inside, contact):
    """90th percentile by volume of the way out, counted sideways."""
    starts = inside & ~np.roll(inside, 1, axis=2)
    run = np.cumsum(starts.ravel()).reshape(inside.shape) * inside - 1  # C order: along z
    n = int(starts.sum())
    rows, cols, ways = [], [], []
    for dx, dy in ((1, 0), (0, 1), (1, 1), (1, -1)):
        other = np.roll(run, (-dx, -dy), axis=(0, 1))
        both = (run >= 0) & (other >= 0)
        if dx and dy:  # not round a corner
            for side in ((-dx, 0), (0, -dy)):
                both &= np.roll(run, side, axis=(0, 1)) >= 0
        pairs = np.unique(np.stack([run[both], other[both]], axis=1), axis=0)
        rows.append(pairs[:, 0])
        cols.append(pairs[:, 1])
        ways.append(np.full(len(pairs), math.hypot(dx, dy) * VOXEL_MM[0]))
    graph = sparse.csr_matrix(
        (np.concatenate(ways), (np.concatenate(rows), np.concatenate(cols))), shape=(n, n)
    )
    gate = np.unique(run[_sideways(contact, inside)[0]])
    way = csgraph.dijkstra(graph, directed=False, indices=gate, min_only=True) + VOXEL_MM[0] / 2
    length = np.bincount(run[inside], minlength=n)
    order = np.argsort(way)
    share = np.cumsum(length[order]) / length.sum()
    return float(way[order][np.searchsorted(share, 0.9)])


# -- the comparison ----------------------------------------------------------------


def is_same(one, two):
    """Whether two sightings are of the same pocket: middles within a millimetre."""
    return np.linalg.norm(one.centre_mm - two.centre_mm) < 1.0


def clear_pockets(bricks, rotation, field):
    """Pockets that stay what they are when the body's walls are moved a little."""
    plain, thick, lean = (
        oracle(bricks, rotation, field.low_mm, field.high_mm, grown_mm=grown)
        for grown in (0.0, MOVED_MM, -MOVED_MM)
    )
    for one in plain:
        others = [[two for two in moved if is_same(one, two)] for moved in (thick, lean)]
        is_told = one.width_mm and one.near_mm3 < 0.05 * one.volume_mm3
        if is_told and all(len(same) == 1 and same[0][:2] == one[:2] for same in others):
            yield one


@functools.cache
def seen(seed):
    """(what the oracle saw, what the columns saw there) for every clear pocket of a body."""
    pairs = []
    bricks = random_body(seed)
    vertices, faces = as_mesh(bricks)
    rotation = shapes.rotation(1000 + seed)
    field = bodies.look(vertices, faces, rotation, pitch_mm=COLUMNS_MM)
    gaps = find_gaps(field)
    listed = list_pockets(field, bodies.loose(gaps), part_mm3=field.volume_mm3)
    for pocket in clear_pockets(bricks, rotation, field):
        same = [
            p
            for p in listed.pockets
            if np.linalg.norm(np.array(p.centre_mm) - pocket.centre_mm) < 1.0
            and abs(p.volume_mm3 - pocket.volume_mm3) < 0.3 * pocket.volume_mm3
        ]
        pairs.append((seed, pocket, same[0] if len(same) == 1 else None))
    return pairs


@pytest.fixture(scope="module", params=[10, pytest.param(46, marks=pytest.mark.long)])
def n_bodies(request):
    return request.param


@pytest.fixture(scope="module")
def sightings(n_bodies):
    return [pair for seed in range(n_bodies) for pair in seen(seed)]


def test_there_is_enough_to_compare(sightings, n_bodies):
    kinds = [pocket.kind for _, pocket, _ in sightings]
    counted = (len({seed for seed, _, _ in sightings}), *map(kinds.count, KINDS))
    assert all(n >= least for n, least in zip(counted, ENOUGH[n_bodies], strict=True))


def test_every_clear_pocket_is_found(sightings):
    lost = [(seed, pocket) for seed, pocket, same in sightings if same is None]
    assert lost == []


def test_kind_and_mouths_agree(sightings):
    differ = [
        (seed, pocket.kind, pocket.n_mouths, same.kind, same.n_mouths)
        for seed, pocket, same in sightings
        if same and (pocket.kind, pocket.n_mouths) != (same.kind, same.n_mouths)
    ]
    assert differ == []


def test_volumes_agree(sightings):
    # A voxel's middle decides for all of it: at a wall seen at random that is right
    # but for noise, an eighth of a voxel over the pocket's skin at worst.
    for _, pocket, same in filter(lambda row: row[2], sightings):
        noise_mm3 = VOXEL_MM[0] / 8 * pocket.skin_mm2
        over_mm3 = same.volume_mm3 - pocket.volume_mm3
        assert -noise_mm3 < over_mm3 < noise_mm3 + pocket.near_mm3


def test_depths_agree(sightings):
    # Steps and diagonals are up to 1.082 times longer than the straight way; the
    # way starts within a voxel of the true mouth, and of the columns' one.
    slack = VOXEL_MM[0] + 2 * COLUMNS_MM
    for _, pocket, same in filter(lambda row: row[2], sightings):
        truth_mm = pocket.depth_mm
        assert truth_mm / 1.082 - slack < same.depth_mm < truth_mm + slack


def test_the_oracle_knows_a_bored_block():
    # 25 mm deep, 12 x 6: one mouth; and the same block bored right through.
    block = (shapes.box(40, 30, 20).vertices_mm, False)
    blind = (shapes.box(25, 12, 6).vertices_mm + np.array([7.6, 0, 0]), True)
    through = (shapes.box(50, 12, 6).vertices_mm, True)
    low, high = np.array([-20, -15, -10]), np.array([20, 15, 10])
    for tool, kind, n_mouths, long_mm in ((blind, "pocket", 1, 24.9), (through, "bridge", 2, 40)):
        (found,) = oracle([block, tool], np.eye(3), low, high)
        assert (found.kind, found.n_mouths) == (kind, n_mouths)
        assert found.volume_mm3 == pytest.approx(long_mm * 12 * 6, rel=0.1)
        deep_mm = long_mm if kind == "pocket" else long_mm / 2
        assert found.depth_mm == pytest.approx(0.9 * deep_mm, abs=0.5)
