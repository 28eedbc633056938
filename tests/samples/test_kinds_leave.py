"""Every kind of mould made of solids: nothing of the box is lost, and every piece leaves.

The kinds are those that a mould maker would name at sight (common practice, no source);
that pieces leave is asked of voxels (`tests/voxel_sweep.py`), volumes of trimesh.
"""

import kind_bodies
import numpy as np
import pytest
import shapes
import trimesh
from voxel_sweep import Lattice, as_mesh, blocked_mm3, met_mm3

from castplan.planning import build_plan, build_solids
from castplan.records import Job

COARSE = {"n_directions": 60, "n_attitudes": 60, "pitch_mm": 0.8}
PITCH_MM = 0.8
BODIES = {
    "half ball": (kind_bodies.half_ball, {"open"}),
    "dumb-bell": (kind_bodies.dumb_bell, {"two-part"}),
    "plate with crossing holes": (kind_bodies.pinned_plate, {"loose"}),
    "cone with a lip": (kind_bodies.lipped_cone, {"open", "cut"}),
    "ball": (kind_bodies.ball, {"cut"}),
}
# Of two solids that slide along each other the voxels at their walls may fall to either
# by rounding; what would really be in the way is a hundred times as much in these bodies.
TOUCH_SHARE = 0.002


# What the three first ones leave open.
LONG = ("cone with a lip", "ball")


@pytest.fixture(
    scope="module",
    params=[pytest.param(n, marks=pytest.mark.long if n in LONG else ()) for n in BODIES],
)
def made(request):
    make, kinds = BODIES[request.param]
    points, faces = kind_bodies.mesh_of(make())
    plan = build_plan(shapes.part_of(points, faces), Job(**COARSE))
    part = trimesh.Trimesh(
        plan.part.vertices_mm @ plan.split.draw.frame.rotation.T, plan.part.faces, process=False
    )
    return plan, kinds, part


def test_the_kind_is_the_one_that_is_named_at_sight(made):
    plan, kinds, _ = made
    assert plan.split.kind in kinds


def test_pieces_part_and_ports_are_the_box(made):
    plan, _, part = made
    box = plan.split.box
    size_mm = np.subtract(box.high_mm, box.low_mm)
    assert box.shape == "rectangle"
    solids = build_solids(plan, {"halves"})
    pieces_mm3 = sum(abs(as_mesh(solid).volume) for solid in solids)
    ports_mm3 = 1000 * plan.mould.block.ports_ml
    total_mm3 = pieces_mm3 + abs(part.volume) + ports_mm3
    assert total_mm3 == pytest.approx(float(size_mm.prod()), rel=1e-3)


def test_every_piece_leaves(made):
    plan, _, part = made
    leaving = {"open": _open, "cut": _lips, "loose": _pieces, "two-part": _pieces}
    for moving, standing, way in leaving[plan.split.kind](plan, part):
        away = blocked_mm3(moving, standing, way, pitch_mm=PITCH_MM)
        assert away <= TOUCH_SHARE * abs(part.volume) + _gives_mm3(plan)


def _gives_mm3(plan):
    """What the silicone is allowed to stretch out of: the plan's own pockets that flex."""
    return 1.5 * sum(
        pocket.volume_mm3
        for pocket, flex in zip(plan.split.undercuts.pockets, plan.split.flex.pockets, strict=True)
        if flex.verdict == "flexes out"
    )


def _open(plan, part):
    (block,) = build_solids(plan, {"halves"})
    yield as_mesh(block), [part], (0, 0, 1)


def _pieces(plan, part):
    """Loose pieces one after the other out of all that is left, then each half off the part."""
    upper, lower, *loose = build_solids(plan, {"halves"})
    meshes = [as_mesh(solid) for solid in loose]
    halves = [as_mesh(upper), as_mesh(lower)]
    for k, piece in enumerate(plan.split.pieces):
        way = plan.split.draw.frame.to_frame(piece.direction)
        yield meshes[k], [part, *halves, *meshes[k + 1 :]], way
        # Left in, it would hold the halves: that is what it is a piece for.
        assert blocked_mm3(meshes[k], [part], (0, 0, 1), pitch_mm=PITCH_MM) > 0.5 * piece.freed_mm3
    yield halves[0], [part], (0, 0, 1)
    yield halves[1], [part], (0, 0, -1)


def _lips(plan, part):
    """The lip over the cut upward; of the rest what lies under it downward, else backward."""
    slit = plan.mould.slit
    upper, rest = (as_mesh(solid) for solid in build_solids(plan, {"lips"}))
    yield upper, [part], (0, 0, 1)
    low, high = rest.bounds
    for front, way in ((True, (0, 0, -1)), (False, tuple(-v for v in slit.way))):
        ends = np.array([low - 1.0, high + 1.0])
        axis = int(np.argmax(np.abs(slit.way)))
        ends[0 if (slit.way[axis] > 0) == front else 1, axis] = slit.way[axis] * slit.stop_mm
        cutter = trimesh.creation.box(bounds=ends)
        yield trimesh.boolean.intersection([rest, cutter], engine="manifold"), [part], way


def test_the_wrong_way_is_seen():
    """A rod pulled along the draw meets the plate; a block dragged sideways the half-ball."""
    rod = trimesh.creation.cylinder(3.0, 60.0)
    rod.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, (1, 0, 0)))
    plate = trimesh.creation.box((60.0, 36.0, 14.0))
    bored = trimesh.boolean.difference([plate, rod], engine="manifold")
    assert blocked_mm3(rod, [bored], (0, 1, 0), pitch_mm=0.5) == 0.0
    # Half of what stands over the rod: the plate over its upper side, seen along z.
    inside_mm3 = np.pi * 9.0 * 36.0
    met = blocked_mm3(rod, [bored], (0, 0, 1), pitch_mm=0.5)
    assert met == pytest.approx(inside_mm3, rel=0.02)  # all of it lies under the plate


def test_a_voxel_is_counted_where_it_lies():
    ball = trimesh.creation.icosphere(subdivisions=4, radius=10.0)
    lattice = Lattice([ball], (1, 2, 3), pitch_mm=0.5)
    inside = lattice.fill(ball)
    # 5,000 facets leave out 0.3 % of the ball; voxels err by their surface's share, evenly.
    assert inside.sum() * 0.5**3 == pytest.approx(4 / 3 * np.pi * 1000, rel=0.01)
    assert met_mm3(inside, np.zeros_like(inside), 0.5) == 0.0
