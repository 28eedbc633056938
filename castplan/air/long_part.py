"""A long part along its length: its sections, and how easily resin runs through them."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from castplan.columns.field import ColumnField
from castplan.geometry.pose import inertia_axes
from castplan.part.records import Part
from castplan.record import Frame

# A part is long where it is this many times as long as it is wide (assumed): there
# resin runs one way, and the sections across it tell how fast.
LONG_TIMES = 5.0
N_SLABS = 48
# Columns of a slab that are asked where an opening does least harm.
N_ASKED = 60
MOVE_MIN = 1.0  # and among which it saves less than this to move (assumed)


@dataclass(frozen=True, eq=False)
class LongPart:
    """Sections of a long part, one in the middle of each of `N_SLABS` equal slabs.

    `eases_mm4` is what a pressure of mu per mm drives through a section: A^3 / (3 P^2)
    of its area and perimeter. That is exact for a thin gap however it is bent, and
    what a convex section carries lies between it and twice it (Polya 1960 and Makai
    1959 on the torsion of convex sections, which is the same equation; from memory).
    So times by it are upper bounds.
    """

    way: np.ndarray  # (3,) unit, along its length, part frame
    low_mm: float  # where it begins along that way
    length_mm: float
    areas_mm2: np.ndarray  # (n,)
    eases_mm4: np.ndarray  # (n,)
    middles_mm: np.ndarray  # (n, 3) part frame

    @property
    def slab_mm(self) -> float:
        """Length of one slab."""
        return self.length_mm / len(self.areas_mm2)

    def slab_of(self, place_mm) -> int:
        """Which slab a place (3,) of the part frame lies in."""
        k = int((float(np.asarray(place_mm) @ self.way) - self.low_mm) // self.slab_mm)
        return min(max(k, 0), len(self.areas_mm2) - 1)


class Tops:
    """Where openings can stand along a long part.

    Parameters
    ----------
    long : LongPart
    field : ColumnField
        The part along up as the box rests.
    rest : Frame
    guard : Guard, optional
        Tells where an opening does harm.
    """

    def __init__(self, long: LongPart, field: ColumnField, rest: Frame, guard=None):
        self.rest, self.guard = rest, guard
        self.depth_mm = max(0.1, 0.7 * field.pitch_mm)
        self.places = np.column_stack([field.centre_mm(field.column_of), field.top_mm])
        along = self.places @ (rest.rotation @ long.way) - long.low_mm
        slab = np.clip(along // long.slab_mm, 0, len(long.areas_mm2) - 1).astype(np.int64)
        self.order = np.argsort(slab, kind="stable")
        self.slabs, first = np.unique(slab[self.order], return_index=True)
        self.bounds = np.append(first, len(slab))

    def at(self, slab: int) -> np.ndarray:
        """The top of the cavity in a slab, where an opening does least harm, rest frame, (3,)."""
        # A coarse field has no column in some of them.
        k = int(np.argmin(np.abs(self.slabs - slab)))
        near = self.places[self.order[self.bounds[k] : self.bounds[k + 1]]]
        near = near[near[:, 2] >= near[:, 2].max() - self.depth_mm]
        near = near[np.unique(np.linspace(0, len(near) - 1, N_ASKED).astype(int))]
        away = np.linalg.norm(near - near.mean(axis=0), axis=1)
        if self.guard is not None:
            minutes = self.guard.minutes(self.rest.to_part(near), is_all_or_none=True)
            away = np.where(minutes < minutes.min() + MOVE_MIN, away, np.inf)
        return near[int(np.argmin(np.round(away, 6)))]


@lru_cache(maxsize=2)
def long_part(part: Part) -> LongPart | None:
    """The sections of a part along its length; None where it is not long."""
    axes = inertia_axes(part)
    across = part.vertices_mm @ axes.T
    spans_mm = np.ptp(across, axis=0)
    longest = int(np.argmax(np.round(spans_mm, 6)))
    if spans_mm[longest] < LONG_TIMES * np.delete(spans_mm, longest).max():
        return None
    way = axes[longest]
    way = way * np.sign(way[np.argmax(np.abs(np.round(way, 6)))])
    low_mm = float((part.vertices_mm @ way).min())
    length_mm = float(spans_mm[longest])
    at_mm = low_mm + (np.arange(N_SLABS) + 0.5) * length_mm / N_SLABS
    corners = part.vertices_mm[np.concatenate([part.faces, part.cap_faces])]
    areas, rims, middles = (
        np.array(v) for v in zip(*(_section(corners, way, s) for s in at_mm), strict=True)
    )
    scale = part.check.volume_mm3 / max(float(areas.sum()) * length_mm / N_SLABS, 1e-9)
    eases = areas**3 / (3 * np.maximum(rims, 1e-9) ** 2)
    return LongPart(
        way=way,
        low_mm=low_mm,
        length_mm=length_mm,
        areas_mm2=areas * scale,
        eases_mm4=eases,
        middles_mm=middles,
    )


def _section(corners, way, at_mm):
    """Area, perimeter and middle of the rim of one section of a closed surface."""
    above = corners @ way - at_mm
    is_over = above > 0
    cut = is_over.any(axis=1) & ~is_over.all(axis=1)
    corners, above, is_over = corners[cut], above[cut], is_over[cut]
    if not len(corners):
        return 0.0, 0.0, at_mm * way
    # The corner that lies alone on its side, and the two edges from it.
    is_lone_over = is_over.sum(axis=1) == 1
    lone = np.where(is_lone_over, is_over.argmax(axis=1), (~is_over).argmax(axis=1))
    row = np.arange(len(lone))
    ends = []
    for step in (1, 2):
        other = (lone + step) % 3
        share = above[row, lone] / (above[row, lone] - above[row, other])
        start = corners[row, lone]
        ends.append(start + share[:, None] * (corners[row, other] - start))
    one, two = ends
    # Facets go round the same way seen from outside, so the rim does too.
    middle = one.mean(axis=0)
    turned = np.cross(one - middle, two - middle) @ way
    area = 0.5 * abs(float(np.where(is_lone_over, turned, -turned).sum()))
    steps = np.linalg.norm(two - one, axis=1)
    rim = float(steps.sum())
    middles = 0.5 * (one + two)
    return area, rim, (steps @ middles) / rim if rim > 0 else middle
