"""The seam on the mesh: closed loops, no longer than needed, and the draft of each half.

Lengths are closed forms of the bodies made here.
"""

import math

import bodies
import bodies_split
import numpy as np
import pytest
import shapes
import trimesh

from castplan.geometry import frames
from castplan.records import Frame, Job
from castplan.split.seam import find_seam, seam_heights


def seam_of(part, rotation=bodies.ALONG["z"], **choices):
    frame = Frame(rotation=np.array(rotation, dtype=float))
    field = bodies.look(
        part.vertices_mm, np.concatenate([part.faces, part.cap_faces]), frame.rotation
    )
    return find_seam(part, frame, field, Job(**choices))


def roughened(part, *, sigma_mm, seed=0):
    """The part with noise along its normals, as a scan would have."""
    mesh = trimesh.Trimesh(part.vertices_mm, part.faces, process=False)
    noise = np.random.default_rng(seed).normal(scale=sigma_mm, size=len(mesh.vertices))
    return shapes.part_of(mesh.vertices + noise[:, None] * mesh.vertex_normals, part.faces)


def ball(n_splits):
    mesh = trimesh.creation.icosphere(subdivisions=n_splits, radius=20.0)
    return shapes.part_of(np.array(mesh.vertices), np.array(mesh.faces, dtype=np.int32))


# -- loops ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "axis", "n_loops"),
    [
        (shapes.box(), "z", 1),
        (shapes.frustum(), "z", 1),
        (bodies_split.bowl()[0], "z", 1),
        (shapes.torus(), "z", 2),
        (shapes.cross_hole_plate(), "x", 2),
        (bodies_split.bored_rod(n_sides=64), "x", 2),
    ],
)
def test_free_bodies_have_one_loop_more_than_holes(body, axis, n_loops):
    # A body of genus g falls into two discs' worth of halves along g + 1 closed curves.
    seam = seam_of(bodies_split.part_of(body), bodies.ALONG[axis])
    assert seam.n_expected == n_loops
    assert len(seam.loops_mm) == n_loops
    for loop in seam.loops_mm:
        assert np.array_equal(loop[0], loop[-1]) and len(loop) > 3
    lengths = [np.linalg.norm(np.diff(loop, axis=0), axis=1).sum() for loop in seam.loops_mm]
    assert lengths == sorted(lengths, reverse=True)
    assert seam.length_mm == pytest.approx(sum(lengths))


def test_seam_of_a_block_runs_once_round_it():
    seam = seam_of(bodies_split.part_of(shapes.box(40, 30, 20)))
    # Level, along its edges: 2 (40 + 30). Anything else is longer.
    assert seam.length_mm == pytest.approx(140)
    assert np.ptp(seam.loops_mm[0][:, 2]) < 1e-9


def test_seam_of_a_double_cone_is_its_widest_ring():
    profile = [(0, -10), (20, 0), (0, 10)]
    seam = seam_of(bodies_split.part_of(shapes.revolved(profile, 64)), bodies.ALONG["z"])
    # A 64-gon of radius 20; no other loop holds nothing.
    assert seam.length_mm == pytest.approx(64 * 2 * 20 * math.sin(math.pi / 64))


@pytest.mark.parametrize("seed", [0, 1])
def test_noise_does_not_make_the_seam_zig_zag(seed):
    clean = ball(4)  # facets of 1.4 mm
    turn = shapes.rotation(5)
    smooth, rough = seam_of(clean, turn), seam_of(roughened(clean, sigma_mm=0.05, seed=seed), turn)
    # By the signs of noisy normals alone the seam wanders with islands; here
    # by a few facets of its hundred.
    assert len(rough.loops_mm) == len(smooth.loops_mm) == 1
    assert rough.length_mm < 1.05 * smooth.length_mm
    # Along mesh edges, at most 2 / sqrt 3 (a triangle's side to its height) longer
    # than the great circle, and a facet's detours.
    assert 2 * math.pi * 20 * 0.99 < smooth.length_mm < 1.25 * 2 * math.pi * 20


def test_signs_of_noisy_normals_would_zig_zag():
    # The comparison can fail: the seam by each facet's own sign is far longer.
    rough = roughened(ball(4), sigma_mm=0.05)
    mesh = trimesh.Trimesh(rough.vertices_mm, rough.faces, process=False)
    up = mesh.face_normals @ shapes.rotation(5)[2] > 0
    parted = up[mesh.face_adjacency[:, 0]] != up[mesh.face_adjacency[:, 1]]
    ends = mesh.vertices[mesh.face_adjacency_edges[parted]]
    naive_mm = np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1).sum()
    seam = seam_of(rough, shapes.rotation(5))
    assert seam.length_mm < 0.97 * naive_mm


def test_heavy_mesh_is_cut_on_a_stand_in():
    seam = seam_of(ball(6))  # 81,920 facets
    assert len(seam.loops_mm) == 1
    # On the stand-in, the equator stays within a facet of it, 0.9 mm.
    assert np.abs(seam.loops_mm[0][:, 2]).max() < 2.0


# -- heights beside the outline ---------------------------------------------------------


def test_heights_are_read_from_the_seam_where_it_is_near():
    part = bodies_split.part_of(shapes.revolved([(0, -10), (20, 0), (0, 10)], 64))
    read = seam_heights(seam_of(part), within_mm=0.5)
    angle = np.linspace(0, 2 * math.pi, 50)
    near = 20 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    assert np.abs(read(near)).max() < 1e-9
    assert np.isnan(read(1.1 * near)).all()


# -- the show face ----------------------------------------------------------------------


def test_seam_keeps_off_the_show_face_where_it_can():
    # A ball cut square to the show face has seam on it whatever is done; a long
    # prism with sloped ends seen from its side can give most of it up.
    part = ball(4)
    tilt = frames.turn_to((0, 0, 1))
    free, shy = seam_of(part, tilt), seam_of(part, tilt, show_face=(1, 0, 0))
    assert free.length_on_show_mm is None
    # The equator looks within 60 degrees of x over a third of its length.
    assert shy.length_on_show_mm is not None
    assert shy.length_on_show_mm < 1.2 * 2 * math.pi * 20 / 3 * 1.25


# -- draft ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("draft_deg", "below_1", "below_3"),
    [(0.0, True, True), (0.5, True, True), (2.0, False, True), (5.0, False, False)],
)
def test_draft_of_a_cone_is_its_half_angle(draft_deg, below_1, below_3):
    high_mm = 20 - 30 * math.tan(math.radians(draft_deg))
    n_sides = 256
    part = bodies_split.part_of(shapes.frustum(20, high_mm, 30, n_sides))
    draft = seam_of(part).draft
    assert draft.limits_deg == (0.0, 1.0, 3.0)
    # Lateral area of the cone's slice, on 256 flats.
    wall_mm2 = math.pi * (20 + high_mm) * math.hypot(30, 20 - high_mm)
    less = np.array(draft.upper_mm2) + np.array(draft.lower_mm2)
    assert less[0] == pytest.approx(0, abs=1e-6)  # upright is not overhung
    assert less[1] == pytest.approx(wall_mm2 if below_1 else 0, rel=1e-3, abs=1e-6)
    assert less[2] == pytest.approx(wall_mm2 if below_3 else 0, rel=1e-3, abs=1e-6)
    total = draft.upper_total_mm2 + draft.lower_total_mm2
    ends_mm2 = shapes.polygon_factor(n_sides) * (20**2 + high_mm**2)
    assert total == pytest.approx(wall_mm2 + ends_mm2, rel=1e-3)


def test_overhung_walls_of_a_dovetail_have_negative_draft():
    body = shapes.dovetail()
    draft = seam_of(bodies_split.part_of(body)).draft
    # Two walls, 50 long, from 6 to 10 off the middle over 10 of height.
    walls_mm2 = 2 * 50 * math.hypot(10, 4)
    assert draft.upper_mm2[0] + draft.lower_mm2[0] == pytest.approx(walls_mm2, rel=1e-6)
