"""Where an opening does harm: on the face that shows, on worked faces, where the shop says."""

from dataclasses import astuple
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from scipy import sparse
from scipy.sparse import csgraph
from scipy.spatial import cKDTree

from castplan.air.records import HARMS
from castplan.geometry import directions, frames
from castplan.geometry.spread import spread_over
from castplan.geometry.standin import thin_out
from castplan.job import Job
from castplan.part.records import Part

# A heavier mesh is looked at on a stand-in.
MAX_FACETS, N_STANDIN = 60_000, 40_000
# Points of the surface, and of them those that an opening is judged by: with an eighth of
# both the share of a face differed by 0.13 between two meshes of one body, with these by 0.03.
N_POINTS, N_NEAR = 64_000, 64
USUAL_VENT_MM = 2.5  # an opening whose bore is not known yet
# An opening with more than this of the face that shows round it is told (assumed).
SHOWN_SHARE = 0.25
SHOWS_COS = 0.5  # a facet within 60 degrees of the show face's own way is seen as part of it
# A knurl or a row of teeth turns in and out again and again: over a circle of this
# radius folds of both senses add up to this much angle per mm. One corner of 90
# degrees across it makes 0.125, a pitch of 5 mm with flanks of 45 degrees 0.31.
WORKED_RADIUS_MM = 8.0
WORKED_RAD_PER_MM = 0.18
# And it has at least so many grooves there that do not meet and are alike in length
# and angle, within this share, or, where they cross as in a diamond knurl, so much of
# them: a pocket with a boss in it has two, and those are not alike.
N_GROOVES, ALIKE_FRACTION = 4, 0.3
CROSSED_RAD_PER_MM = 0.4
# Less is the faceting of a round. On a scan the noise folds every edge: there a fold
# is so many times the middle edge, up to the flank of a sharp groove.
FOLD_DEG, NOISE_TIMES, SHARP_DEG = 20.0, 5.0, 45.0
# Folds of the same face lie this near to those that have most others round them.
_SAME_FACE_MM = 4.0
SLIVER_MM = 0.2  # a step lower than this is a fault of the mesh, no fold
# An opening whose rim comes so near to a groove is cut off and sanded over it.
WORKED_REACH_MM = 1.0
# Folds are added up in cubes of this side, or of this share of the part.
_CELL_MM, _CELL_FRACTION = 2.0, 1 / 150
_N_CELLS = 128  # looked at round a fold, at most


class Guard:
    """What an opening costs beyond its making, by where it stands.

    Parameters
    ----------
    part : Part
    job : Job
        `show_face`, `keep_off` and the minutes of `air_weights`.
    """

    def __init__(self, part: Part, job: Job):
        self._part = part
        self._show = None if job.show_face is None else frames.unit(job.show_face)
        self._shows = None  # of each point of the surface, once it is asked for
        marks = np.reshape(np.array(job.keep_off or (), dtype=float), (-1, 4))
        self._centres_mm, self._radii_mm = marks[:, :3], marks[:, 3]
        self._weights = job.air_weights
        self._asked = job.show_face, job.keep_off, *astuple(job.air_weights)

    def __eq__(self, other):
        """A guard of the same part that was asked the same tells the same."""
        return isinstance(other, Guard) and (
            self._part is other._part and self._asked == other._asked
        )

    __hash__ = None

    @property
    def turn(self) -> np.ndarray:
        """The part's own axes, (3, 3), by which places that cost as much are told apart."""
        return directions.own_turn(self._part)

    def minutes(self, places_mm, *, is_all_or_none: bool = False) -> np.ndarray:
        """Minutes of harm of openings at places (k, 3) of the part frame, (k,).

        An opening over the edge of the face that shows costs its share; with
        `is_all_or_none` as much as in the middle of it, or moving it from there to
        the edge would seem a gain.
        """
        places = np.reshape(np.asarray(places_mm, dtype=float), (-1, 3))
        weights, share = self._weights, self.show_share(places)
        return (
            weights.show_port_min * (share > 0 if is_all_or_none else share)
            + weights.worked_port_min * self.is_worked(places)
            + weights.keep_off_min * self.is_marked(places)
        )

    def is_marked(self, places_mm, *, reach_mm: float = 0.0) -> np.ndarray:
        """Which places (k, 3) lie where the shop wants no opening, or so near to it, (k,)."""
        places = np.reshape(np.asarray(places_mm, dtype=float), (-1, 3))
        if not len(self._centres_mm):
            return np.zeros(len(places), dtype=bool)
        away = np.linalg.norm(places[:, None] - self._centres_mm[None], axis=2)
        return (away < self._radii_mm + reach_mm).any(axis=1)

    def show_share(self, places_mm) -> np.ndarray:
        """How much of the surface round places (k, 3) is the face that shows, 0 to 1, (k,)."""
        if self._show is None:
            return np.zeros(len(places_mm))
        surface = _surface_of(self._part)
        if self._shows is None:
            self._shows = surface.normals @ self._show > SHOWS_COS
        _, near = surface.tree.query(places_mm, k=N_NEAR)
        return self._shows[near].mean(axis=1)

    def is_worked(self, places_mm, *, bore_mm: float = USUAL_VENT_MM) -> np.ndarray:
        """Which openings at places (k, 3) cut into a knurl, teeth or the like, (k,)."""
        worked = _surface_of(self._part).worked
        if worked is None:
            return np.zeros(len(places_mm), dtype=bool)
        return worked.query(places_mm)[0] < WORKED_REACH_MM + 0.5 * bore_mm

    def harms_at(self, place_mm, *, bore_mm: float) -> tuple[str, ...]:
        """What an opening at a place (3,) of the part frame is told for, of `HARMS`."""
        spot = np.atleast_2d(place_mm)
        found = {
            "show": self.show_share(spot)[0] > SHOWN_SHARE,
            "worked": self.is_worked(spot, bore_mm=bore_mm)[0],
            "marked": self.is_marked(spot)[0],
        }
        return tuple(code for code in HARMS if found.get(code))


class _Surface:
    """The surface in points, and the folds of its knurls and teeth."""

    def __init__(self, part):
        vertices, faces = part.vertices_mm, part.faces
        if len(faces) > MAX_FACETS:
            cell_mm = directions.longest_mm(part) / 512
            vertices, faces = thin_out(part, n_triangles=N_STANDIN, cell_mm=cell_mm)
        spread = spread_over(vertices, faces, count=N_POINTS)
        self.tree, self.normals = cKDTree(spread.points_mm), spread.normals
        self.worked = _worked(_folds(vertices, faces))


@lru_cache(maxsize=2)
def _surface_of(part):
    return _Surface(part)


class _Folds(NamedTuple):
    """Folds of a surface, added up by small cube and by the groove that they belong to."""

    places_mm: np.ndarray  # (k, 3)
    turned_mm: np.ndarray  # (k, 2) length times angle, folded in and out
    groove: np.ndarray  # (k,) int64; -1 where it is folded out


def _worked(folds):
    """Tree of the folds that stand among many others of both senses; None without any."""
    if not len(folds.places_mm):
        return None
    tree = cKDTree(folds.places_mm)
    _, near = tree.query(folds.places_mm, k=_N_CELLS, distance_upper_bound=WORKED_RADIUS_MM)
    # The last rows stand for "none within reach".
    turned = np.vstack([folds.turned_mm, np.zeros((1, 2))])[near].sum(axis=1)
    turned /= np.pi * WORKED_RADIUS_MM**2
    # How much each groove turns as a whole; nothing where it is folded out.
    total = np.bincount(folds.groove + 1, weights=folds.turned_mm[:, 0])
    total[0] = 0.0
    own, others = total[folds.groove + 1], np.append(folds.groove, -1)[near]
    is_alike = np.abs(total[others + 1] - own[:, None]) <= ALIKE_FRACTION * own[:, None]
    alike = np.sort(np.where(is_alike, others, -1), axis=1)
    n_alike = (np.diff(alike, axis=1) > 0).sum(axis=1) + (alike[:, 0] >= 0)
    is_many = (n_alike >= N_GROOVES) | (turned[:, 0] > CROSSED_RAD_PER_MM)
    is_groove = folds.groove >= 0
    is_worked = is_groove & is_many & (turned > WORKED_RAD_PER_MM).all(axis=1)
    if not is_worked.any():
        return None
    # Ridges, and the rim of the face, where half as many folds are in reach as in its middle.
    middle = cKDTree(folds.places_mm[is_worked])
    return cKDTree(folds.places_mm[middle.query(folds.places_mm)[0] < _SAME_FACE_MM])


def _folds(vertices, faces):
    corners = vertices[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.linalg.norm(normal, axis=1)
    normal = normal / np.where(double > 0, double, 1.0)[:, None]
    edge = np.sort(faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2).astype(np.int64), axis=1)
    key = edge[:, 0] * len(vertices) + edge[:, 1]
    order = np.argsort(key, kind="stable")
    same = np.flatnonzero(key[order][1:] == key[order][:-1])
    one, two = order[same], order[same + 1]
    left, right, ends = one // 3, two // 3, edge[one]
    angle = np.arccos(np.clip(np.einsum("ij,ij->i", normal[left], normal[right]), -1, 1))
    length = np.linalg.norm(vertices[ends[:, 1]] - vertices[ends[:, 0]], axis=1)
    is_wide = np.minimum(double[left], double[right]) > SLIVER_MM * length
    order = np.argsort(angle, kind="stable")
    reach = np.cumsum(length[order])
    middle_deg = float(np.degrees(angle[order][np.searchsorted(reach, 0.5 * reach[-1])]))
    least_deg = np.clip(NOISE_TIMES * middle_deg, FOLD_DEG, SHARP_DEG)
    kept = (angle > np.radians(least_deg)) & is_wide
    left, right, ends = left[kept], right[kept], ends[kept]
    angle, length = angle[kept], length[kept]
    # Folded out where the other facet lies behind this one.
    behind = corners[right].mean(axis=1) - corners[left].mean(axis=1)
    is_out = np.einsum("ij,ij->i", behind, normal[left]) < 0
    cell_mm = max(_CELL_MM, _CELL_FRACTION * float(np.ptp(vertices, axis=0).max()))
    pieces = np.ceil(length / cell_mm).astype(np.int64)
    of = np.repeat(np.arange(len(length)), pieces)
    nth = np.arange(len(of)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    begin, end = vertices[ends[of, 0]], vertices[ends[of, 1]]
    middle = begin + ((nth + 0.5) / pieces[of])[:, None] * (end - begin)
    weight = (length * angle / pieces)[of]
    # Grooves are told apart by the corners that their edges share.
    inward = ends[~is_out]
    links = (np.ones(len(inward)), (inward[:, 0], inward[:, 1]))
    joined = sparse.coo_matrix(links, shape=(len(vertices), len(vertices)))
    body = csgraph.connected_components(joined, directed=False)[1]
    groove = np.where(is_out, -1, body[ends[:, 0]])[of]
    keys = np.column_stack([np.floor(middle / cell_mm), groove])
    kinds, cell = np.unique(keys, axis=0, return_inverse=True)
    cell = cell.ravel()
    count = int(cell.max(initial=-1)) + 1
    total = np.bincount(cell, weights=weight, minlength=count)
    sums = [np.bincount(cell, weights=weight * axis, minlength=count) for axis in middle.T]
    turned_mm = np.zeros((count, 2))
    np.add.at(turned_mm, (cell, is_out[of].astype(np.int64)), weight)
    return _Folds(np.column_stack(sums) / total[:, None], turned_mm, kinds[:, 3].astype(np.int64))
