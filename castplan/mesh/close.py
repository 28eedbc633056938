"""A back for a scan that has none: closed to a plane, or given a thickness.

Only on request: what is behind a show face is the shop's to know.
"""

from typing import NamedTuple

import numpy as np

from castplan.errors import GeometryError, InputError
from castplan.mesh.rims import measure_rims
from castplan.texts import say

# Rims this large against the largest are the scan's own border, smaller ones holes.
_BORDER_FRACTION = 0.25
# How far a corner may stand from its face against the thickness: at a sharp
# edge the offset faces meet far out.
_MAX_MITRE = 3.0
# A surface that keeps less of its area than this when seen from its best side goes
# round the part: it has no side.
_SIDED_FRACTION = 0.3


class Closing(NamedTuple):
    """How to close a one-sided scan: a thickness in mm, or to a plane if None."""

    thickness_mm: float | None = None


class Closed(NamedTuple):
    """Vertices (n, 3) and faces (m, 3) with the new back, and what was done."""

    vertices_mm: np.ndarray
    faces: np.ndarray
    change: str


def check_closing(closing: Closing) -> None:
    """Refuse a thickness that is none.

    Raises
    ------
    InputError
    """
    thickness_mm = closing.thickness_mm
    if thickness_mm is not None and not 0 < thickness_mm < 1000:
        raise InputError(
            "--thickness",
            found=f"{thickness_mm:g}",
            need="a number of mm above 0",
            do="Give the thickness of the part behind its show face.",
        )


def facing_of(vertices_mm, faces) -> tuple[float, float, float] | None:
    """The way an open surface looks as a whole, unit length; None where it goes round.

    Its facets' areas added as vectors: all that its rim alone decides.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int64
    """
    corners = vertices_mm[faces]
    double = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    total = double.sum(axis=0)
    size = float(np.linalg.norm(total))
    if size < _SIDED_FRACTION * float(np.linalg.norm(double, axis=1).sum()):
        return None
    return tuple(float(v) for v in total / size)


def close_back(vertices_mm, faces, loops, closing: Closing, *, name: str) -> Closed:
    """Give an open surface the back that was asked for.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int64
    loops : list of (k,) int64
        Rims from `rims.trace_rims`.
    closing : Closing
    name : str

    Returns
    -------
    Closed

    Raises
    ------
    GeometryError
        The surface is closed already.
    """
    if not loops:
        raise GeometryError(
            name,
            found="a closed mesh",
            need="an open one to close",
            do="Leave --thickness and --close-to-plane away.",
        )
    if closing.thickness_mm is None:
        return _to_plane(vertices_mm, faces, loops)
    return _thicken(vertices_mm, faces, loops, closing.thickness_mm)


def _to_plane(vertices_mm, faces, loops):
    """Walls from each border straight to a plane behind it, and the plane itself."""
    holes = measure_rims(vertices_mm, loops)
    large = np.flatnonzero(holes.area_mm2 >= _BORDER_FRACTION * holes.area_mm2.max())
    points, facets = [vertices_mm], [faces]
    n_points, furthest_mm = len(vertices_mm), 0.0
    for hole in large:
        loop = loops[hole]
        rim = vertices_mm[loop]
        # The way out of the hole: against the rim's sense as the facets run it.
        middle = rim.mean(axis=0)
        follower = np.roll(rim, -1, axis=0)
        out = -np.cross(rim - middle, follower - middle).sum(axis=0)
        _, _, axes = np.linalg.svd(rim - middle, full_matrices=False)
        out = axes[2] * np.sign(axes[2] @ out or 1.0)
        height = (rim - middle) @ out
        drop = height.max() - height
        furthest_mm = max(furthest_mm, float(drop.max()))
        # A rim that lies on the plane already needs no wall there.
        has_wall = drop > 1e-9 * np.ptp(rim, axis=0).max()
        foot = np.where(has_wall, n_points + np.cumsum(has_wall) - 1, loop)
        points += [(rim + drop[:, None] * out)[has_wall], (middle + height.max() * out)[None]]
        centre = n_points + int(has_wall.sum())
        n_points = centre + 1
        after, foot_after = np.roll(loop, -1), np.roll(foot, -1)
        facets += [
            np.stack((after, loop, foot), axis=1),
            np.stack((after, foot, foot_after), axis=1),
            np.stack((foot_after, foot, np.full(len(loop), centre)), axis=1),
        ]
    area_cm2 = float(holes.area_mm2[large].sum()) / 100
    return Closed(
        np.concatenate(points),
        np.concatenate(facets),
        say(
            "mesh_change.closed_plane",
            n=len(large),
            area=f"{area_cm2:.3g}",
            wall=f"{furthest_mm:.2g}",
        ),
    )


def _thicken(vertices_mm, faces, loops, thickness_mm):
    """A second skin behind the first, and walls round every rim."""
    inner = vertices_mm - thickness_mm * _mitres(vertices_mm, faces)
    n = len(vertices_mm)
    facets = [faces, faces[:, ::-1] + n]
    for loop in loops:
        after = np.roll(loop, -1)
        facets += [
            np.stack((after, loop, loop + n), axis=1),
            np.stack((after, loop + n, after + n), axis=1),
        ]
    thickness = f"{thickness_mm:g}"
    change = say("mesh_change.thickened", thickness=thickness)
    if len(loops) > 1:
        n_through = len(loops) - 1
        change = say("mesh_change.thickened_through", thickness=thickness, n=n_through)
    return Closed(
        np.concatenate((vertices_mm, inner)),
        np.concatenate(facets),
        change,
    )


def _mitres(vertices_mm, faces):
    """For each vertex the step that moves all its faces by one: (n, 3).

    Least squares over the normals of its facets, weighed by their angle there;
    of several solutions (flat, or one edge) the shortest.
    """
    corners = vertices_mm[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1)
    normal = normal / np.where(length > 0, length, 1.0)[:, None]
    squares, sums = np.zeros((len(vertices_mm), 3, 3)), np.zeros((len(vertices_mm), 3))
    for k in range(3):
        to_next = corners[:, (k + 1) % 3] - corners[:, k]
        to_last = corners[:, (k + 2) % 3] - corners[:, k]
        scale = np.linalg.norm(to_next, axis=1) * np.linalg.norm(to_last, axis=1)
        cosine = np.einsum("ij,ij->i", to_next, to_last) / np.where(scale > 0, scale, 1.0)
        weight = np.where(length > 0, np.arccos(np.clip(cosine, -1, 1)), 0.0)
        np.add.at(
            squares, faces[:, k], weight[:, None, None] * normal[:, :, None] * normal[:, None]
        )
        np.add.at(sums, faces[:, k], weight[:, None] * normal)
    # Directions in which no facet pulls noticeably stay out of it.
    step = np.einsum("nij,nj->ni", np.linalg.pinv(squares, rcond=1e-2, hermitian=True), sums)
    long = np.linalg.norm(step, axis=1)
    return step * np.minimum(1.0, _MAX_MITRE / np.where(long > 0, long, 1.0))[:, None]
