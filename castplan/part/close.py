"""A back for a scan that has none: closed to a plane, or given a thickness.

Only on request: what is behind a show face is the shop's to know.
"""

from typing import NamedTuple

import numpy as np

from castplan import units
from castplan.errors import GeometryError, InputError, Option
from castplan.part.rims import measure_rims
from castplan.part.sheet import thicken
from castplan.texts.told import tell

# Rims this large against the largest are the scan's own border, smaller ones holes.
_BORDER_FRACTION = 0.25
# A surface that keeps less of its area than this when seen from its best side goes
# round the part: it has no side.
_SIDED_FRACTION = 0.3


class Closing(NamedTuple):
    """How to close a one-sided scan: a thickness in mm, or to a plane if None."""

    thickness_mm: float | None = None


class Closed(NamedTuple):
    """Vertices (n, 3) and faces (m, 3) with the new back, and what was done to get there."""

    vertices_mm: np.ndarray
    faces: np.ndarray
    changes: tuple[str, ...]


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


def close_back(surface, loops, closing: Closing, *, name: str) -> Closed:
    """Give an open surface the back that was asked for.

    Parameters
    ----------
    surface : (vertices_mm, faces)
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
            do=("Leave ", Option("--thickness"), " and ", Option("--close-to-plane"), " away."),
        )
    if closing.thickness_mm is None:
        return _to_plane(*surface, loops)
    return _thicken(*surface, closing.thickness_mm)


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
        (
            tell(
                "mesh_change.closed_plane",
                n=len(large),
                area=units.digits(area_cm2, 3),
                wall=units.digits(furthest_mm, 2),
            ),
        ),
    )


def _thicken(vertices_mm, faces, thickness_mm):
    """The sheet made solid, and what was done to it."""
    sheet = thicken(vertices_mm, faces, thickness_mm=thickness_mm)
    return Closed(sheet.vertices_mm, sheet.faces, _told(sheet, thickness_mm))


def _told(sheet, thickness_mm):
    """What was done to a sheet, one sentence each."""
    told = [
        tell(
            "mesh_change.thickened",
            thickness=f"{thickness_mm:g}",
            area=units.digits(sheet.area_mm2 / 100, 4),
            plate=units.digits(sheet.area_mm2 * thickness_mm / 1000, 3),
            volume=units.digits(sheet.volume_mm3 / 1000, 3),
        )
    ]
    if sheet.cell_mm is not None:
        key = "sheet_remade" if sheet.is_remade else "sheet_infilled"
        told.append(tell(f"mesh_change.{key}", cell=units.digits(sheet.cell_mm, 2)))
    if sheet.filled_mm:
        told.append(
            tell(
                "mesh_change.sheet_filled",
                n=len(sheet.filled_mm),
                width=units.digits(sheet.filled_mm[0], 2),
                limit=f"{sheet.limit_mm:g}",
            )
        )
    if sheet.open_mm:
        told.append(
            tell(
                "mesh_change.sheet_open",
                n=len(sheet.open_mm),
                least=units.digits(sheet.open_mm[-1], 2),
                width=units.digits(sheet.open_mm[0], 2),
            )
        )
    if sheet.n_scraps:
        told.append(tell("mesh_change.sheet_scraps", n=sheet.n_scraps))
    return tuple(told)
