"""Facets made finer: the surface stays, both sides of an edge agree."""

import numpy as np
import pytest
import shapes

from castplan.geometry.refine import across_edges, edge_lengths, split_edges

# Area and volume of a polyhedron do not depend on how its faces are divided
# (elementary); a surface is closed if every directed edge has its opposite once.


def area_mm2(points, faces):
    a, b, c = (points[faces[:, k]] for k in range(3))
    return 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()


def is_closed(faces):
    there = [tuple(e) for e in faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2).tolist()]
    return len(set(there)) == len(there) and {(b, a) for a, b in there} == set(there)


@pytest.mark.parametrize("seed", range(6))
def test_any_choice_of_edges_leaves_the_surface_as_it_was(seed):
    body = shapes.hook()
    wanted = np.random.default_rng(seed).random((len(body.faces), 3)) < 0.1 * (seed + 1)
    points, faces, parent = split_edges(body.vertices_mm, body.faces, wanted)
    assert len(faces) > len(body.faces)
    assert area_mm2(points, faces) == pytest.approx(body.area_mm2, rel=1e-12)
    a, b, c = (points[faces[:, k]] for k in range(3))
    volume = np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6
    assert volume == pytest.approx(body.volume_mm3, rel=1e-12)
    assert is_closed(faces)
    # Each facet's children cover it.
    children = np.bincount(
        parent, weights=0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1), minlength=1
    )
    a, b, c = (body.vertices_mm[body.faces[:, k]] for k in range(3))
    assert children == pytest.approx(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1))


def test_no_choice_changes_nothing():
    body = shapes.box()
    points, faces, parent = split_edges(
        body.vertices_mm, body.faces, np.zeros((len(body.faces), 3), dtype=bool)
    )
    assert np.array_equal(points, body.vertices_mm) and np.array_equal(faces, body.faces)
    assert np.array_equal(parent, np.arange(len(faces)))


def test_halving_every_edge_quarters_every_facet():
    body = shapes.box()
    every = np.ones((len(body.faces), 3), dtype=bool)
    points, faces, _ = split_edges(body.vertices_mm, body.faces, every)
    assert len(faces) == 4 * len(body.faces)
    assert edge_lengths(points, faces).max() == pytest.approx(
        0.5 * edge_lengths(body.vertices_mm, body.faces).max()
    )


def test_the_facet_across_an_edge_shares_it_and_nothing_is_across_a_rim():
    body = shapes.hook()
    other = across_edges(body.faces, len(body.vertices_mm))
    for facet, across in enumerate(other):
        for k, there in enumerate(across):
            edge = {body.faces[facet][k], body.faces[facet][(k + 1) % 3]}
            assert there != facet and edge <= set(body.faces[there].tolist())
    assert across_edges(np.array([[0, 1, 2]]), 3).tolist() == [[0, 0, 0]]
