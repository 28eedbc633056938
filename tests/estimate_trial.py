"""Generated parts: what `estimate` tells from their sides against what their plans weigh out.

Bodies are unions and differences of boxes, cylinders and balls by manifold3d,
seeded; each is planned along its height. Run it for the figures:
``python tests/estimate_trial.py 100``, other parts with ``... 100 --from 5000``.
"""

import argparse
from dataclasses import dataclass

import manifold3d
import numpy as np
import shapely
import shapes

from castplan.bench.estimate import estimate
from castplan.planning import build_plan
from castplan.records import EstimateResult, Job, Plan

TAPE_MM = 1.0
JUG_FRACTION = 0.03


@dataclass(frozen=True)
class Trial:
    """One part: its plan, and what was told without it."""

    plan: Plan
    blind: EstimateResult  # from three sides
    wet: EstimateResult  # and its volume in water

    @property
    def misses(self) -> list[str]:
        """Ranges that do not hold what the plan weighs out."""
        weigh = self.plan.bench.weigh.cups
        planned = {
            "silicone_g": sum(cup.mass_g for cup in weigh if cup.card == self.plan.job.silicone),
            "resin_g": sum(cup.mass_g for cup in weigh if cup.card == self.plan.job.resin),
        }
        return [
            f"{how} {name}: {getattr(told, name).low:.0f} to {getattr(told, name).high:.0f}"
            f" ({getattr(told, name).value:.0f}), planned {mass_g:.0f}"
            for how, told in (("blind", self.blind), ("wet", self.wet))
            for name, mass_g in planned.items()
            if not getattr(told, name).low <= mass_g <= getattr(told, name).high
        ]


def make_body(rng) -> manifold3d.Manifold:
    """A part of 20 to 200 mm of one to five lumps, some of them cut away."""
    size = np.exp(rng.uniform(np.log(20), np.log(150)))
    sides = size * rng.uniform(0.25, 1.0, 3)
    body = _lump(rng, sides)
    for _ in range(int(rng.integers(0, 5))):
        lump = _lump(rng, sides * rng.uniform(0.2, 0.8, 3))
        lump = lump.translate(tuple(sides * rng.uniform(-0.5, 0.5, 3)))
        body = body - lump if rng.random() < 0.4 else body + lump
    bodies = sorted(body.decompose(), key=lambda one: -one.volume())
    return bodies[0]


def _lump(rng, sides):
    kind = int(rng.integers(0, 3))
    if kind == 0:
        return manifold3d.Manifold.cube(tuple(sides), True)
    if kind == 1:
        round_ = manifold3d.Manifold.cylinder(1.0, 0.5, circular_segments=48, center=True)
    else:
        round_ = manifold3d.Manifold.sphere(0.5, 48)
    return round_.scale(tuple(sides))


def try_part(seed: int) -> Trial | None:
    """Plan one generated part and estimate it from its tape; None for one too small to cast."""
    rng = np.random.default_rng(seed)
    body = make_body(rng)
    mesh = body.to_mesh()
    low, high = np.array(body.bounding_box()).reshape(2, 3)
    volume_ml = body.volume() / 1000
    if (high - low).min() < 3.0 or volume_ml < 0.5:
        return None
    part = shapes.part_of(mesh.vert_properties[:, :3].astype(float), mesh.tri_verts)
    plan = build_plan(
        part,
        Job(
            mould="two-part",
            draw=(0.0, 0.0, 1.0),
            n_attitudes=8,
            pitch_mm=float((high - low).max()) / 80,
        ),
    )
    # A tape goes round the narrowest rectangle that holds the part seen from above.
    points = shapely.multipoints(mesh.vert_properties[:, :2])
    ring = shapely.get_coordinates(shapely.minimum_rotated_rectangle(points))
    across = np.linalg.norm(np.diff(ring[:3], axis=0), axis=1)
    tape = np.array([*sorted(across)[::-1], (high - low)[2]]) + rng.uniform(-TAPE_MM, TAPE_MM, 3)
    sides = dict(zip(("length_mm", "width_mm", "height_mm"), map(float, tape), strict=True))
    jug_ml = min(volume_ml * (1 + rng.uniform(-JUG_FRACTION, JUG_FRACTION)), tape.prod() / 1000)
    return Trial(
        plan=plan,
        blind=estimate(**sides, job=Job()),
        wet=estimate(**sides, job=Job(water_ml=jug_ml)),
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("seeds", type=int, help="how many parts are made")
    parser.add_argument("--from", dest="first", type=int, default=0, help="the first seed")
    asked = parser.parse_args()
    n_tried = n_held = 0
    for seed in range(asked.first, asked.first + asked.seeds):
        trial = try_part(seed)
        if trial is None:
            continue
        n_tried, n_held = n_tried + 1, n_held + (not trial.misses)
        block = trial.plan.mould.block
        told = f"{block.part_ml:.1f} ml, ports {block.ports_ml:.1f} ml"
        print(seed, told, *trial.misses, sep="; ", flush=True)
    print(f"{n_held} of {n_tried}")
