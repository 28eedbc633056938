"""Rubber eased out of a notch, by a library for hyperelastic solids: a judge of the judge.

FElupe's elements with a dual pressure, its neo-Hookean rubber, its contact with rigid
planes and its Newton steps at rest, where `rubber_pull` has its own of each and moves
in time; only the grid of undeformed points is shared. FElupe is a library for tests
alone; nothing of castplan needs it.

Four planes push: the notch's bottom, which moves out until it lies in the part's skin,
that skin, and the two sides, for rubber that is still within the notch. So a notch that
is wider behind its mouth or has slanting sides is not judged here, nor what is pulled
straight, where rubber jumps and no state at rest leads on.
"""

import math
import warnings

import felupe
import numpy as np
from rubber_pull import BULK_OVER_SHEAR, PATCH_MM, Notch, _lines, _mesh
from scipy import sparse

N_INCREMENTS = 40
SMALLEST = 1 / 1024  # of the way, when Newton finds no state
FAR_MM = 100.0
# The way within the notch over which its sides grow stiff, and the size of elements (None:
# as `rubber_pull` has it); the next where Newton finds no state with the one before. Sides
# that are softer than this let thick rubber out too early: at 0.6 mm a hook of 2 x 4 in
# 16 mm comes out a third lower than at 0.3. Elements of 0.5 mm are about a sixth lower.
TRIED_MM = ((0.1, None), (0.3, None), (0.3, 0.3), (0.1, 0.5), (0.2, 0.5))
PENALTY = 5.0  # of the rubber's own stiffness at a point


class _Side(felupe.ContactRigidPlane):
    """A side of the notch, for points that were within it when the increment began.

    Near its mouth it grows softer, so that a point does not leave it with a jump.
    """

    stiff = 1.0

    def _kinematics(self, dx):
        gap, normal, curved = super()._kinematics(dx)
        # Of the force and of its stiffness alike, which both are of second order in it.
        root = np.sqrt(self.stiff) * np.ones(len(dx))
        return np.where(root > 0, root * gap, FAR_MM), root[:, None] * normal, curved


def stretch_at_rest(notch: Notch) -> float:
    """Largest principal stretch less one until the rubber is out, mean over a patch.

    Raises
    ------
    ValueError
        For a notch that planes do not describe, or where no state at rest is found.
    """
    if notch.flare or notch.is_core:
        raise ValueError("a notch with slanting sides, or a core")
    fault = None
    for soft_mm, size_mm in TRIED_MM:
        try:
            return _stretch(notch, size_mm=size_mm, soft_mm=soft_mm)
        except ValueError as error:
            fault = error
    raise fault


def _stretch(notch, *, size_mm, soft_mm):
    size_mm = size_mm or min(max(notch.depth_mm / 8, 0.12), 0.4)
    xs, zs, in_notch = _lines(notch, size_mm)
    nodes, quads = _mesh(notch, xs, zs, in_notch)
    n, is_ring = len(nodes), not math.isinf(notch.radius_mm)
    # A library's ring has its axis along the first coordinate.
    across, along = (1, 0) if is_ring else (0, 1)
    start_mm = notch.radius_mm if is_ring else 0.0
    points = np.zeros((n, 2))
    points[:, across], points[:, along] = start_mm + nodes[:, 0], nodes[:, 1]
    mesh = felupe.Mesh(points, quads[:, [0, 3, 2, 1]] if is_ring else quads, "quad")
    bottom = np.zeros(2)
    bottom[across] = start_mm - notch.depth_mm
    skin = np.zeros(2)
    skin[across] = start_mm
    top = skin.copy()
    top[along] = notch.high_mm
    mesh.add_points(np.array([bottom, skin, top]))
    region = felupe.RegionQuad(mesh)
    kind = felupe.FieldAxisymmetric if is_ring else felupe.FieldPlaneStrain
    field = felupe.FieldContainer([kind(region, dim=2)])
    rubber = felupe.NeoHooke(mu=1.0)
    solid = felupe.SolidBodyNearlyIncompressible(rubber, field, bulk=BULK_OVER_SHEAR)
    is_held = nodes[:, 1] < zs[0] + 1e-9
    is_still = is_held | (notch.is_backed & (nodes[:, 0] > notch.wall_mm - 1e-9))
    is_tongue = nodes[:, 0] < -1e-9
    normal = np.eye(2)[across]
    planes = [
        felupe.ContactRigidPlane(
            field, np.flatnonzero(where), centre, normal, multiplier=PENALTY, items=[solid]
        )
        for where, centre in ((is_tongue, n), (np.abs(nodes[:, 0]) < 1e-9, n + 1))
    ]
    ends = ((nodes[:, 1] < 1e-9, n + 1, 1.0), (nodes[:, 1] > notch.high_mm - 1e-9, n + 2, -1.0))
    sides = [
        _Side(
            field,
            np.flatnonzero(is_tongue & where),
            centre,
            way * np.eye(2)[along],
            multiplier=PENALTY,
            items=[solid],
        )
        for where, centre, way in ends
    ]
    planes += sides

    def boundary(where, *, axis=None, centre=()):
        mask = np.r_[where, np.isin((n, n + 1, n + 2), centre)]
        skip = (False, False) if axis is None else tuple(k != axis for k in (0, 1))
        return felupe.Boundary(field[0], mask=mask, skip=skip)

    nothing = np.zeros(n, dtype=bool)
    bounds = {
        "held": boundary(is_held, centre=(n + 1, n + 2)),
        "still": boundary(is_still, axis=across),
        "bottom": boundary(nothing, axis=along, centre=(n,)),
        "moved": boundary(nothing, axis=across, centre=(n,)),
    }
    free, fixed = felupe.dof.partition(field, bounds)
    patches, around = _patches(nodes, quads, notch), np.ones_like(region.dV)
    if is_ring:
        around = field[0].radius
    weight = (region.dV * around).sum(axis=0)
    stretch, done, step = 0.0, 0.0, 1 / N_INCREMENTS
    while done < 1:
        share = min(done + step, 1.0)
        kept = field[0].values.copy(), [item.checkpoint() for item in (solid, *planes)]
        bounds["moved"].value = notch.depth_mm * share
        for side in sides:
            side.stiff = np.clip(-side._gap_vectors()[:, across] / soft_mm, 0, 1)
        try:
            # A step too long turns elements over; it is halved.
            with np.errstate(invalid="ignore"), warnings.catch_warnings():
                warnings.simplefilter("ignore", sparse.linalg.MatrixRankWarning)
                felupe.newtonraphson(
                    items=[solid, *planes],
                    dof0=free,
                    dof1=fixed,
                    ext0=felupe.dof.apply(field, bounds, free),
                    maxiter=30,
                    tol=1e-6,
                    verbose=0,
                )
        except (ValueError, RuntimeError) as error:
            field[0].values[:] = kept[0]
            for item, state in zip((solid, *planes), kept[1], strict=True):
                item.restore(state)
            step /= 2
            if step < SMALLEST:
                raise ValueError(f"no state at rest beyond {done:.0%} of the way") from error
            continue
        done, step = share, min(2 * step, 1 / N_INCREMENTS)
        gradient = np.moveaxis(field.extract()[0], (0, 1), (-2, -1))
        most = np.linalg.svd(gradient, compute_uv=False)[..., 0]
        mean = (most * region.dV).sum(axis=0) / region.dV.sum(axis=0)
        stretch = max(stretch, float((patches @ (mean * weight) / (patches @ weight)).max()) - 1)
    return stretch


def _patches(nodes, quads, notch):
    """Which elements lie in the patch round each element near the notch."""
    middle = nodes[quads].mean(axis=1)
    depth, high = notch.depth_mm, notch.high_mm
    near = (
        (middle[:, 0] < 3 * depth)
        & (middle[:, 1] > -3 * depth - high)
        & (middle[:, 1] < 2 * high + 3 * depth)
    )
    off = np.abs(middle[near][:, None] - middle[None])
    return (off <= 0.5 * PATCH_MM + 1e-9).all(axis=2).astype(float)
