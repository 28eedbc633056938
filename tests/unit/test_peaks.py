"""High points and the air they keep: closed forms, and every definition checked by hand."""

import bodies
import numpy as np
import pytest
import shapes
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from castplan.columns import peaks
from castplan.columns.peaks import find_peaks, spread_level

# Sampling error of a volume at 256 columns across: a tower 13 to 70 columns wide.
SAMPLING = 5e-3
NOISE_MM = 0.01  # rounding of a mesh, as the stage takes it


def tree_of(body, rotation=bodies.ALONG["z"], *, min_rise_mm=NOISE_MM):
    field = bodies.look(body.vertices_mm, body.faces, rotation)
    return field, find_peaks(field, min_rise_mm=min_rise_mm)


def turned(body, seed):
    """The body turned, and the frame that turns it back."""
    turn = shapes.rotation(seed)
    return body._replace(vertices_mm=body.vertices_mm @ turn.T), turn.T


# -- closed forms -----------------------------------------------------------------


@pytest.mark.parametrize("seed", [None, 1, 2])
def test_lower_tower_keeps_its_own_volume(seed):
    body = shapes.two_towers((60, 30, 10), 16, (20, 35))
    body, frame = turned(body, seed) if seed else (body, np.eye(3))
    _, tree = tree_of(body, frame)
    assert tree.top_mm == pytest.approx([45, 30], abs=1e-6)
    # Over the base's top: 20 mm of a 16 mm square tower.
    assert tree.rise_mm == pytest.approx([45, 20], abs=1e-6)
    assert tree.saddle_mm == pytest.approx([0, 10], abs=1e-6)
    assert tree.air_mm3[1] == pytest.approx(16 * 16 * 20, rel=SAMPLING)
    assert tree.air_mm3[0] == pytest.approx(body.volume_mm3, rel=SAMPLING)
    assert tree.parent.tolist() == [-1, 0]


@pytest.mark.parametrize("seed", [None, 1, 2, 3, 4])
@pytest.mark.parametrize("heights", [(8, 14, 11, 20), (20, 14, 11, 8), (8, 8.5, 9, 9.5, 20, 5)])
def test_points_that_share_a_saddle_keep_none_of_each_others_air(heights, seed):
    # All posts meet on the base's top at once, but for rounding: the order in
    # which they are joined there must not matter.
    body = bodies.posts(heights, 6.0, 15.0, 5.0)
    body, frame = turned(body, seed) if seed else (body, np.eye(3))
    _, tree = tree_of(body, frame)
    lower = sorted(heights)[-2::-1]
    assert tree.rise_mm == pytest.approx([max(heights) + 5, *lower], abs=1e-6)
    assert tree.air_mm3[1:] == pytest.approx([36 * h for h in lower], rel=0.02)
    assert tree.parent.tolist() == [-1] + [0] * len(lower)


def test_a_point_on_a_higher_shoulder_belongs_to_that_shoulder():
    # Tower A carries a small post; A joins B's tower on the base. The post's
    # saddle is A's shoulder: nested, so A's air holds the post's.
    solid = bodies.cuboid((0, 60), (0, 20), (0, 5)) + bodies.cuboid((0, 20), (0, 20), (0, 25))
    solid += bodies.cuboid((2, 8), (2, 8), (0, 31)) + bodies.cuboid((12, 18), (12, 18), (0, 35))
    solid += bodies.cuboid((40, 60), (0, 20), (0, 50))
    field = bodies.look(*bodies.arrays(solid))
    tree = find_peaks(field, min_rise_mm=NOISE_MM)
    assert tree.top_mm == pytest.approx([50, 35, 31], abs=1e-9)
    assert tree.saddle_mm == pytest.approx([0, 5, 25], abs=1e-9)
    assert tree.parent.tolist() == [-1, 0, 1]
    expected = [solid.volume(), 20 * 20 * 20 + 36 * (6 + 10), 36 * 6]
    assert tree.air_mm3 == pytest.approx(expected, rel=0.01)


def test_arms_of_a_u_meet_at_its_bend():
    body = bodies.u_rod((30, 45), 8, 14, 6)
    for seed in (None, 1, 2):
        one, frame = turned(body, seed) if seed else (body, np.eye(3))
        _, tree = tree_of(one, frame)
        assert tree.rise_mm == pytest.approx([45, 30 - 6], abs=1e-6)
        assert tree.air_mm3[1] == pytest.approx(8 * 8 * (30 - 6), rel=SAMPLING)


@pytest.mark.parametrize(
    ("maker", "upside_down"),
    [
        (shapes.staircase, False),  # up a stair there is one highest step
        (shapes.staircase, True),
        (shapes.bell, False),  # the ceiling of the hollow is no high point of the part
        (shapes.bell, True),  # a level rim all round is one
        (shapes.lipped_cup, False),
        (shapes.tray, False),
        (shapes.t_slot, True),
        (bodies.hollow_box, False),
        (bodies.u_rod, True),
    ],
)
def test_one_high_point_and_no_more(maker, upside_down):
    body = maker()
    _, tree = tree_of(body, np.diag([1.0, -1.0, -1.0]) if upside_down else np.eye(3))
    assert tree.rise_mm.size == 1
    assert tree.air_mm3[0] == pytest.approx(body.volume_mm3, rel=SAMPLING)


def test_split_top_is_two_points():
    # A T-slot open at the top leaves two ridges that meet under the slot.
    body = shapes.t_slot()
    _, tree = tree_of(body)
    assert tree.rise_mm == pytest.approx([30, 15], abs=1e-9)
    # The lip over the undercut and the ridge beside it, one side of the slot.
    assert tree.air_mm3[1] == pytest.approx((16 * 8 + 10 * 7) * 50, rel=SAMPLING)


def test_separate_bodies_have_a_root_each():
    box = shapes.box(10, 10, 10)
    vertices, faces = bodies.joined(bodies.moved(box, (0, 0, 0)), bodies.moved(box, (30, 0, 7)))
    field = bodies.look(vertices, faces)
    tree = find_peaks(field, min_rise_mm=NOISE_MM)
    assert sorted(tree.parent.tolist()) == [-1, -1]
    assert sorted(tree.saddle_mm) == pytest.approx([-5, 2], abs=1e-9)
    assert tree.air_mm3 == pytest.approx([1000, 1000], rel=SAMPLING)


def test_chain_of_links_has_a_root_for_each_link():
    body = bodies.chain()
    field = bodies.look(body.vertices_mm, body.faces, shapes.rotation(3))
    tree = find_peaks(field, min_rise_mm=field.pitch_mm)
    roots = tree.parent < 0
    assert roots.sum() == 2
    assert tree.air_mm3[roots] == pytest.approx([0.5 * body.volume_mm3] * 2, rel=SAMPLING)


def test_bodies_that_share_a_face_are_one_body():
    # 32-bit coordinates set the two sides of the joint up to 4e-6 mm apart;
    # seeds 3 and 7 are ones where every column of the joint came apart.
    low = shapes.box(40, 30, 20)
    high, faces = shapes.mirrored(*bodies.moved(shapes.box(52, 39, 20), (0, 0, 20)))
    for seed in (3, 7, 11):
        turn = shapes.rotation(seed)
        vertices, both = bodies.joined((low.vertices_mm, low.faces), (high, faces))
        vertices = (vertices @ turn.T).astype(np.float32).astype(np.float64)
        field = bodies.look(vertices, both, turn.T, pitch_mm=0.3)
        tree = find_peaks(field, min_rise_mm=NOISE_MM)
        assert tree.rise_mm == pytest.approx([40], abs=1e-4)


# -- the definition, on random fields ---------------------------------------------


def component(field, edges, interval, level_mm):
    """Intervals joined to one strictly above a level, (n,) bool."""
    n = field.top_mm.size
    lower = np.minimum(field.top_mm[edges[:, 0]], field.top_mm[edges[:, 1]])
    kept = edges[lower > level_mm]
    graph = coo_array((np.ones(len(kept)), (kept[:, 0], kept[:, 1])), shape=(n, n))
    _, label = connected_components(graph, directed=False)
    return label == label[interval]


@pytest.mark.parametrize("is_whole", [True, False])
@pytest.mark.parametrize("seed", range(12))
def test_every_point_is_what_it_says(seed, is_whole):
    field = bodies.random_field(seed=seed, is_whole=is_whole)
    edges = bodies.joins(field)
    tree = find_peaks(field)
    assert (np.diff(tree.rise_mm) <= 0).all() and (tree.rise_mm > 0).all()
    assert np.unique(tree.interval).size == tree.interval.size
    for row, interval in enumerate(tree.interval):
        top, saddle = tree.top_mm[row], tree.saddle_mm[row]
        assert top == field.top_mm[interval]
        inside = component(field, edges, interval, saddle)
        # It is the highest of what hangs together above its saddle ...
        assert field.top_mm[inside].max() == top
        # ... the air is that volume ...
        clear = np.clip(field.top_mm - np.maximum(field.bottom_mm, saddle), 0, None)
        assert tree.air_mm3[row] == pytest.approx(clear[inside].sum())
        # ... and just below the saddle it hangs together with one as high.
        wider = component(field, edges, interval, saddle - 1e-9)
        if tree.parent[row] < 0:
            assert field.bottom_mm[wider].min() == saddle
            assert np.array_equal(inside, wider)
        else:
            parent = tree.parent[row]
            assert wider[tree.interval[parent]]
            assert tree.top_mm[parent] >= top
            assert tree.parent[parent] < 0 or tree.saddle_mm[parent] < saddle
    assert tree.air_mm3[tree.parent < 0].sum() == pytest.approx(field.volume_mm3)


@pytest.mark.parametrize("seed", range(6))
def test_spread_reaches_what_hangs_together(seed):
    field = bodies.random_field(seed=seed, n_x=7, n_y=7)
    edges = bodies.joins(field)
    arrays = (field.first, field.bottom_mm, field.top_mm, field.column_of, field.n_x)
    for interval in range(0, field.top_mm.size, 7):
        for floor_mm in (2.5, 5.5):
            if field.top_mm[interval] < floor_mm:
                continue
            found = spread_level(*arrays, interval, floor_mm)
            expected = np.flatnonzero(component(field, edges, interval, floor_mm))
            assert sorted(found) == expected.tolist()


def test_least_rise_leaves_out_the_lower_points_only():
    field = bodies.random_field(seed=3, n_x=14, n_y=14, is_whole=False)
    every, some = find_peaks(field), find_peaks(field, min_rise_mm=2.0)
    kept = (every.rise_mm > 2.0) | (every.parent < 0)
    assert 0 < kept.sum() < kept.size
    assert some.interval.tolist() == every.interval[kept].tolist()
    assert some.air_mm3.tolist() == every.air_mm3[kept].tolist()


@pytest.mark.parametrize("n", [0, 1, 2, 5000])
def test_intervals_are_swept_from_the_top_and_of_those_as_high_by_number(n):
    # Against numpy's own stable sort; many are as high, some of them at either zero.
    heights_mm = np.round(np.random.default_rng(n).normal(size=n), 1)
    expected = np.argsort(-heights_mm, kind="stable")
    assert np.array_equal(peaks.from_the_top(heights_mm), expected)
