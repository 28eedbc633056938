"""Places: told on a face of the box as it rests, or in the part's own axes."""

from dataclasses import dataclass

import numpy as np

from castplan.errors import InputError
from castplan.plan_record import Plan


@dataclass(frozen=True, kw_only=True, eq=False)
class Face:
    """One face of the box as it rests, seen from outside; rest frame.

    `corner_mm` is its lower left corner, from which `across` and `up` run;
    `inward` points into the box.
    """

    name: str
    corner_mm: np.ndarray  # (3,)
    across: np.ndarray  # (3,)
    up: np.ndarray  # (3,)
    inward: np.ndarray  # (3,)

    def point_mm(self, *, across_mm: float, up_mm: float, depth_mm: float = 0.0) -> np.ndarray:
        """A place on the face, or that deep under it, (3,)."""
        return self.corner_mm + across_mm * self.across + up_mm * self.up + depth_mm * self.inward


# Name: where its corner lies in the box (0 low, 1 high), across, up. The upper
# view has the box's front below; the lower one is seen with the same front.
_FACES = {
    "top": ((0, 0, 1), (1, 0, 0), (0, 1, 0)),
    "bottom": ((1, 0, 0), (-1, 0, 0), (0, 1, 0)),
    "front": ((0, 0, 0), (1, 0, 0), (0, 0, 1)),
    "back": ((1, 1, 0), (-1, 0, 0), (0, 0, 1)),
    "right": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "left": ((0, 1, 0), (0, -1, 0), (0, 0, 1)),
}
FACES = tuple(_FACES)


def box_at_rest(plan: Plan) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest corner of the box's inside in the rest frame, (3,) each."""
    low, high = np.array(plan.mould.block.low_mm), np.array(plan.mould.block.high_mm)
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
    box = plan.air.openings.frame.to_frame(
        plan.split.draw.frame.to_part(low + corners * (high - low))
    )
    return box.min(axis=0), box.max(axis=0)


def face_of(plan: Plan, name: str) -> Face:
    """One face of the plan's box.

    Parameters
    ----------
    plan : Plan
    name : str
        One of `FACES`.
    """
    low, high = box_at_rest(plan)
    corner, across, up = (np.array(values, dtype=float) for values in _FACES[name])
    return Face(
        name=name,
        corner_mm=low + corner * (high - low),
        across=across,
        up=up,
        inward=-np.cross(across, up),
    )


def place_on_face(plan: Plan, name: str, at_mm, *, depth_mm: float | None = None):
    """A place in the part frame, told from the corner of a face of the box.

    Parameters
    ----------
    plan : Plan
    name : str
        One of `FACES`.
    at_mm : (across, up)
        From the lower left corner of the face, seen from outside as the box rests.
    depth_mm : float, optional
        Square under the face; without it the first surface of the part there.

    Returns
    -------
    tuple of float
        (x, y, z) [mm]

    Raises
    ------
    InputError
        No part lies under the place.
    """
    (across_mm, up_mm), rest = at_mm, plan.air.openings.frame
    face = face_of(plan, name)
    if depth_mm is None:
        start = rest.to_part(face.point_mm(across_mm=across_mm, up_mm=up_mm))
        part = plan.part
        depth_mm = first_hit_mm(part.vertices_mm[part.faces], start, rest.to_part(face.inward))
        if depth_mm is None:
            raise InputError(
                f"place {name}:{across_mm:g},{up_mm:g}",
                found="no part under it",
                need=f"a place of the {name} face over the part",
                do="Measure from the face's lower left corner, or give the depth behind it.",
            )
    point = rest.to_part(face.point_mm(across_mm=across_mm, up_mm=up_mm, depth_mm=depth_mm))
    return tuple(float(v) for v in point)


def first_hit_mm(corners_mm, start_mm, way) -> float | None:
    """How far along a ray the first triangle lies; None where it meets none.

    Moeller and Trumbore's test (Journal of Graphics Tools 2(1) 1997, 21-28;
    from memory) on all triangles at once.

    Parameters
    ----------
    corners_mm : (m, 3, 3) float64
    start_mm, way : (3,) array_like
        The way has unit length.
    """
    a = corners_mm[:, 0]
    e1, e2 = corners_mm[:, 1] - a, corners_mm[:, 2] - a
    p = np.cross(way, e2)
    det = np.einsum("ij,ij->i", e1, p)
    with np.errstate(divide="ignore", invalid="ignore"):
        s = start_mm - a
        u = np.einsum("ij,ij->i", s, p) / det
        q = np.cross(s, e1)
        v = q @ way / det
        t = np.einsum("ij,ij->i", e2, q) / det
        hit = (det != 0) & (u >= 0) & (v >= 0) & (u + v <= 1) & (t >= 0)
    return float(t[hit].min()) if hit.any() else None
