"""Fewest openings: the tree's dynamic programme against trying every set of them.

Volumes are of the trees made here, by hand.
"""

from itertools import combinations, pairwise

import bodies
import numpy as np
import pytest
import shapes
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from castplan.columns.cover import choose_points, cover_tree, left_with
from castplan.columns.peaks import find_peaks


def caught_mm3(field, edges, openings):
    """Air above the resin that no opening lets out, by the definition, level by level.

    Between two neighbouring end heights nothing changes but lengths: there a
    part of the solid keeps its air when what hangs together above the lower
    height holds no opening's interval.
    """
    levels = np.unique(np.concatenate([field.bottom_mm, field.top_mm]))
    lower = np.minimum(field.top_mm[edges[:, 0]], field.top_mm[edges[:, 1]])
    n, total = field.top_mm.size, 0.0
    for low, high in pairwise(levels):
        is_above = field.top_mm > low
        kept = edges[lower > low]
        graph = coo_array((np.ones(len(kept)), (kept[:, 0], kept[:, 1])), shape=(n, n))
        _, label = connected_components(graph, directed=False)
        is_let_out = np.isin(label, label[[k for k in openings if is_above[k]]])
        spans = is_above & (field.bottom_mm <= low) & ~is_let_out
        total += (high - low) * np.count_nonzero(spans) * field.cell_mm2
    return total


@pytest.mark.parametrize("is_whole", [True, False])
@pytest.mark.parametrize("seed", range(8))
def test_no_set_of_openings_leaves_less(seed, is_whole):
    field = bodies.random_field(seed=seed, n_x=7, n_y=6, is_whole=is_whole, max_intervals=2)
    edges = bodies.joins(field)
    tree = find_peaks(field)
    rows = np.arange(tree.top_mm.size)
    cover = cover_tree(tree, rows, n_most=3)
    assert cover.left_mm3[0] == pytest.approx(field.volume_mm3)
    for n_open in range(min(4, rows.size + 1)):
        chosen = tree.interval[cover.choice(n_open)]
        assert len(chosen) == n_open
        assert caught_mm3(field, edges, chosen) == pytest.approx(cover.left_mm3[n_open])
    # Any set at all, against the same count.
    some = rows[np.random.default_rng(seed).random(rows.size) < 0.4]
    assert left_with(tree, rows, some) == pytest.approx(
        caught_mm3(field, edges, tree.interval[some])
    )
    # Every set of one, and of two, of all points.
    for n_open in (1, 2):
        best = min(
            caught_mm3(field, edges, tree.interval[list(s)])
            for s in combinations(rows[:12], n_open)
        )
        if rows.size <= 12:
            assert cover.left_mm3[n_open] == pytest.approx(best)
        else:
            assert cover.left_mm3[n_open] <= best + 1e-9


def test_the_larger_bubble_is_let_out_first():
    # Heights by hand: 36 mm2 posts; with the tallest open the others keep 504, 396, 288.
    body = bodies.posts((8, 14, 11, 20))
    field = bodies.look(body.vertices_mm, body.faces)
    tree = find_peaks(field, min_rise_mm=0.01)
    cover = cover_tree(tree, np.arange(4), n_most=4)
    base = body.volume_mm3 - 36 * 53
    expected = [body.volume_mm3, 36 * 33, 36 * 19, 36 * 8, 0]
    # A post is 26 columns wide.
    assert cover.left_mm3 == pytest.approx(expected, rel=0.02, abs=1e-9)
    assert base > 0
    assert cover.fewest(limit_mm3=300.0) == 3
    assert cover.fewest(limit_mm3=20.0) == 4
    assert sorted(tree.rise_mm[cover.choice(2)].round(6)) == [14, 25]


def test_a_thin_spike_is_not_worth_a_vent():
    # One opening for a wide bump and a spike beside it, higher but of 4 mm2:
    # the bump's 16 x 16 x 10 mm3 is let out, the spike's 48 mm3 stays.
    solid = bodies.cuboid((0, 60), (0, 30), (0, 10))
    solid += bodies.cuboid((5, 21), (7, 23), (0, 20)) + bodies.cuboid((45, 47), (14, 16), (0, 22))
    field = bodies.look(*bodies.arrays(solid), pitch_mm=0.2)
    tree = find_peaks(field, min_rise_mm=0.01)
    cover = cover_tree(tree, np.arange(tree.top_mm.size), n_most=2)
    (only,) = cover.choice(1)
    assert tree.top_mm[only] == pytest.approx(20)
    assert cover.left_mm3[1] == pytest.approx(4 * 12, rel=0.1)  # the spike is ten columns wide


def test_points_are_chosen_by_rise_and_air():
    body = bodies.posts((8, 14, 11, 20))
    tree = find_peaks(bodies.look(body.vertices_mm, body.faces), min_rise_mm=0.01)
    assert choose_points(tree, min_rise_mm=10, min_air_mm3=20).tolist() == [0, 1, 2]
    assert choose_points(tree, min_rise_mm=1, min_air_mm3=450).tolist() == [0, 1]
    assert choose_points(tree, min_rise_mm=99, min_air_mm3=0).tolist() == [0]


def test_rows_without_their_takers_are_refused():
    body = bodies.posts((8, 14, 11, 20))
    tree = find_peaks(bodies.look(body.vertices_mm, body.faces), min_rise_mm=0.01)
    with pytest.raises(ValueError, match="took it over"):
        cover_tree(tree, [3], n_most=1)


@pytest.mark.parametrize("seed", [1, 2])
def test_turning_mesh_and_attitude_together_changes_nothing(seed):
    body = shapes.two_towers()
    turn = shapes.rotation(seed)
    covers = []
    for vertices, rotation in (
        (body.vertices_mm, np.eye(3)),
        (body.vertices_mm @ turn.T, turn.T),
    ):
        field = bodies.look(vertices, body.faces, rotation, pitch_mm=0.5)
        tree = find_peaks(field, min_rise_mm=0.01)
        covers.append(cover_tree(tree, np.arange(tree.top_mm.size), n_most=2).left_mm3)
    # The same columns through the same body, to rounding.
    assert covers[1] == pytest.approx(covers[0], rel=1e-6, abs=1e-6)
