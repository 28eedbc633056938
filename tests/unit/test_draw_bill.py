"""What a draw costs: pockets over each other come off in one peel, however many they are."""

import manifold3d
import numpy as np
import pytest
import shapes

from castplan.records import Job
from castplan.split.draw import find_draw


def ridged_boss(n_ridges):
    """A plate with a bored boss that has ridges all round, as a thread has, along z."""
    ring = [(9, 0), (14, 0)]
    for k in range(n_ridges):
        ring += [(14, 6 + 2 * k), (15.2, 7 + 2 * k)]
    ring += [(14, 6 + 2 * n_ridges), (9, 6 + 2 * n_ridges)]
    boss = manifold3d.CrossSection([np.array(ring, dtype=float)]).revolve(48)
    plate = manifold3d.Manifold.cube((60, 60, 4), True).translate((0, 0, 2))
    bore = manifold3d.Manifold.cylinder(60, 9.5, 9.5, 48, True)
    mesh = (plate + boss - bore).to_mesh64()
    points = np.asarray(mesh.vert_properties, dtype=float)[:, :3]
    return shapes.part_of(points, np.asarray(mesh.tri_verts))


def test_a_thread_is_drawn_along_its_axis():
    # A degree of tilt joins its turns to one pocket in the columns, not at the bench.
    draw = find_draw(ridged_boss(6), Job(n_directions=96))
    # The file's own axis, to rounding.
    assert abs(draw.direction[2]) == pytest.approx(1.0, abs=1e-9)
    assert draw.candidates[0].is_stable


def test_more_turns_cost_their_rubber_and_no_further_peels():
    job = Job(draw=(0.0, 0.0, 1.0), n_directions=96)
    few, many = (find_draw(ridged_boss(n), job).candidates[0] for n in (3, 6))
    assert many.n_pockets > few.n_pockets > 1
    weights = job.draw_weights
    rubber_min = weights.trapped_min_per_ml * (many.locked_mm3 - few.locked_mm3) / 1000
    box_min = weights.height_min_per_mm * (many.mould_height_mm - few.mould_height_mm)
    box_min += weights.silicone_min_per_ml * (many.silicone_ml - few.silicone_ml)
    # Depths of the same ridges differ by sampling.
    depth_min = weights.depth_min_per_mm * abs(many.depth_mm - few.depth_mm)
    assert many.cost_min - few.cost_min == pytest.approx(rubber_min + box_min, abs=depth_min + 0.01)
