"""Which way the halves leave the part: search over directions, best three kept."""

import os
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from castplan.columns import field as columns
from castplan.columns import levels, raster
from castplan.errors import InputError
from castplan.mesh import frames
from castplan.mesh.standin import thin_out
from castplan.model import DrawCandidate, DrawResult, Job, Part

N_STANDIN_TRIANGLES = 20_000
SEARCH_ACROSS = 96  # columns along the longest side while searching
FINAL_ACROSS = 256  # and for the finalists, on the real mesh
N_FINALISTS = 6
N_REFINED = 4
REFINE_STEPS_DEG = (4.0, 2.0, 1.0, 0.5)
# Directions closer than this show the same split to the eye.
SAME_DEG = 15.0


def find_draw(part: Part, job: Job, *, progress=None) -> DrawResult:
    """Search the hemisphere for the draw that traps least.

    A volume trapped by +d is trapped by -d, so half the sphere is enough.
    Directions: an even lattice, the facet normals that carry most area and
    the directions square to pairs of them, the inertia axes, the file's axes.
    All are scored on a light stand-in; the best are refined there, then judged
    again on the real mesh.

    Parameters
    ----------
    part : Part
    job : Job
        `draw` skips the search, `n_directions` sets the lattice.
    progress : callable, optional
        Called with a fraction from 0 to 1.

    Returns
    -------
    DrawResult

    Raises
    ------
    InputError
        `job.draw` has no length.
    """
    report = progress or (lambda fraction: None)
    hull_mm = frames.hull_points(part)
    longest_mm = max(part.check.extent_mm)
    judge = _Judge(part, hull_mm, wall_mm=frames.wall_for(job, longest_mm=longest_mm))
    if job.draw is not None:
        asked = np.asarray(job.draw, dtype=float)
        if not np.linalg.norm(asked) > 0:
            raise InputError(
                "--draw", found=f"{job.draw}", need="a direction", do="Give x,y,z, such as 0,0,1."
            )
        best = judge.on_real_mesh(frames.unit(asked), "asked for", keep_sign=True)
        return _result(best[1], (best[0],), 1, longest_mm / FINAL_ACROSS, is_asked_for=True)

    directions, origins = propose_directions(part, n_lattice=job.n_directions)
    search_pitch_mm = longest_mm / SEARCH_ACROSS
    standin = thin_out(part, n_triangles=N_STANDIN_TRIANGLES, cell_mm=0.5 * search_pitch_mm)
    scores = score_directions(*standin, directions, pitch_mm=search_pitch_mm, progress=report)
    tie_mm3 = tie_volume_mm3(part)
    finalists = []
    for rank, k in enumerate(_pick_apart(directions, scores[:, 0])):
        better, moved = directions[k], False
        if rank < N_REFINED:
            better, moved = _refine(standin, better, scores[k, 0], search_pitch_mm, tie_mm3)
        # Two starts may walk to the same place.
        if _is_apart(better, [d for d, _ in finalists]):
            finalists.append((better, "search" if moved else origins[k]))
        if len(finalists) == N_FINALISTS:
            break
    judged = [judge.on_real_mesh(d, origin) for d, origin in finalists]
    order = sorted(range(len(judged)), key=lambda k: _rank(judged[k][0], judged, tie_mm3))
    best_three = [judged[k] for k in order[:3]]
    return _result(
        best_three[0][1],
        tuple(candidate for candidate, _ in best_three),
        len(directions),
        search_pitch_mm,
        is_asked_for=False,
    )


def tie_volume_mm3(part: Part) -> float:
    """Trapped volumes closer than this are equal for the choice of a draw.

    0.05 % of the part and at least 1 mm3: under a millilitre on any part of
    this trade, and above the sampling noise of the search.
    """
    return max(1.0, 5e-4 * part.check.volume_mm3)


def _result(frame, candidates, n_tried, pitch_mm, *, is_asked_for):
    return DrawResult(
        frame=frame,
        direction=candidates[0].direction,
        candidates=candidates,
        n_directions=n_tried,
        search_pitch_mm=pitch_mm,
        is_asked_for=is_asked_for,
    )


def _cos(angle_deg):
    return float(np.cos(np.radians(angle_deg)))


def _rank(candidate, judged, tie_mm3):
    """Trapped volume in steps of the tie, then height, then silicone."""
    least = min(c.trapped_mm3 for c, _ in judged)
    step = int((candidate.trapped_mm3 - least) // tie_mm3)
    return step, round(candidate.mould_height_mm, 1), candidate.silicone_ml


# -- directions ---------------------------------------------------------------


def lattice(*, count: int) -> np.ndarray:
    """Nearly even directions over the upper hemisphere, (count, 3).

    The golden-angle spiral (Gonzalez, Mathematical Geosciences 42 (2010) 49-64).
    """
    k = np.arange(count)
    z = (k + 0.5) / count
    angle = k * np.pi * (3 - np.sqrt(5))
    radius = np.sqrt(1 - z**2)
    return np.stack([radius * np.cos(angle), radius * np.sin(angle), z], axis=1)


def propose_directions(part: Part, *, n_lattice: int):
    """Directions worth trying: (k, 3) unit vectors and what proposed each.

    The part's own directions come first, so that an equal score goes to them.
    """
    own, names = [], []

    def add(direction, name):
        d = frames.unit(direction)
        if all(abs(d @ e) < _cos(0.5) for e in own):
            own.append(d)
            names.append(name)

    for k, axis in enumerate(np.eye(3)):
        add(axis, f"the file's {'xyz'[k]} axis")
    normals = main_normals(part, count=8)
    for normal in normals:
        add(normal, "square to a flat face")
    for a in range(min(len(normals), 6)):
        for b in range(a + 1, min(len(normals), 6)):
            across = np.cross(normals[a], normals[b])
            if np.linalg.norm(across) > 0.1:
                add(across, "along two flat faces")
    for axis in frames.inertia_axes(part):
        add(axis, "a main axis of the body")
    even = lattice(count=n_lattice)
    return np.concatenate([np.array(own), even]), names + ["search"] * n_lattice


def main_normals(part: Part, *, count: int) -> np.ndarray:
    """Facet normals that carry most area, opposite ones together, (<= count, 3)."""
    corners = part.vertices_mm[part.faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(cross, axis=1)
    normal = cross[area > 0] / area[area > 0, None]
    # Opposite normals mean the same draw: fold them onto one hemisphere by
    # the first clearly nonzero component, with rounding kept off the fold.
    lead = np.argmax(np.abs(np.round(normal, 6)) > 1e-3, axis=1)
    normal *= np.sign(normal[np.arange(len(normal)), lead])[:, None]
    weight = area[area > 0]
    out = []
    cell = np.round(normal * 20).astype(np.int64) + 20
    _, group = np.unique(cell @ (1, 41, 41 * 41), return_inverse=True)
    total = np.bincount(group, weights=weight)
    sums = np.stack([np.bincount(group, weights=weight * normal[:, k]) for k in range(3)], axis=1)
    middles = sums / np.linalg.norm(sums, axis=1)[:, None]
    for g in np.argsort(-total, kind="stable")[: 4 * count]:
        # Mean over every cell near, so that a cluster cut by a cell's border
        # gives its true middle.
        along = middles @ middles[g]
        near = np.abs(along) > _cos(4.0)
        mean = frames.unit((sums[near] * np.sign(along[near])[:, None]).sum(axis=0))
        if all(abs(mean @ other) < _cos(2.0) for other in out):
            out.append(mean)
        if len(out) == count:
            break
    return np.array(out)


# -- scores -------------------------------------------------------------------


def score_directions(vertices_mm, faces, directions, *, pitch_mm: float, progress=None):
    """Trapped volume of each direction, on two or more threads.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int32, closed
    directions : (k, 3) float64, unit
    pitch_mm : float
    progress : callable, optional

    Returns
    -------
    (k, 2) float64
        [mm3] trapped by the best level split; of it, between surfaces of the
        part, which no split along the direction frees.
    """
    report = progress or (lambda fraction: None)
    out = np.empty((len(directions), 2))

    def one(k):
        rotation = frames.turn_to(directions[k])
        out[k] = _score(columns.sample(vertices_mm, faces, _NO_FACES, rotation, pitch_mm=pitch_mm))

    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        for k, _ in enumerate(pool.map(one, range(len(directions)))):
            report((k + 1) / len(directions))
    return out


_NO_FACES = np.empty((0, 3), dtype=np.int32)


def _score(field):
    """(trapped by the best level split, of it between surfaces), mm3."""
    solid = field.top_mm - field.bottom_mm
    full = np.diff(field.first) > 0
    span = field.highest_mm[full] - field.lowest_mm[full]
    locked = max(float((span.sum() - solid.sum()) * field.cell_mm2), 0.0)
    sweep = levels.sweep_levels(field)
    heights = np.linspace(field.low_mm[2], field.high_mm[2], 65)
    return locked + float(sweep.trapped_mm3(heights).min()), locked


def _is_apart(direction, others):
    """Whether a direction shows another split than each of the others."""
    return all(abs(direction @ other) < _cos(SAME_DEG) for other in others)


def _pick_apart(directions, scores):
    """Rows by score, best first, leaving out any that repeat a better one's split."""
    kept = []
    for k in np.argsort(scores, kind="stable"):
        if _is_apart(directions[k], directions[kept]):
            kept.append(int(k))
    return kept


def _refine(standin, direction, score, pitch_mm, tie_mm3):
    """Walk downhill in ever smaller steps; (direction, whether it moved)."""
    moved = False
    if score <= tie_mm3:
        return direction, moved
    for step_deg in REFINE_STEPS_DEG:
        turn = frames.turn_to(direction)
        angle = np.radians(np.arange(6) * 60.0)
        ring = np.stack([np.cos(angle), np.sin(angle)], axis=1) @ turn[:2]
        tries = direction + np.tan(np.radians(step_deg)) * ring
        tries /= np.linalg.norm(tries, axis=1)[:, None]
        scores = score_directions(*standin, tries, pitch_mm=pitch_mm)[:, 0]
        k = int(np.argmin(scores))
        # A step must pay more than the sampling noise, or the direction that
        # the part itself proposed is the better answer.
        if scores[k] < score - max(tie_mm3, 0.02 * score):
            direction, score, moved = tries[k], scores[k], True
    return direction, moved


class _Judge:
    """Finalists on the real mesh, with what each costs."""

    def __init__(self, part, hull_mm, *, wall_mm):
        self.part = part
        self.hull_mm = hull_mm
        self.wall_mm = wall_mm
        self.pitch_mm = max(part.check.extent_mm) / FINAL_ACROSS

    def on_real_mesh(self, direction, origin, *, keep_sign=False):
        """(DrawCandidate, Frame) of one direction."""
        part = self.part
        frame = frames.frame_along(direction, self.hull_mm)
        field = columns.sample(
            part.vertices_mm, part.faces, part.cap_faces, frame.rotation, pitch_mm=self.pitch_mm
        )
        if not keep_sign and frames.stands_better_upside_down(field):
            frame = frames.frame_along(-np.asarray(direction), self.hull_mm)
        trapped, locked = _score(field)
        low, high = raster.turned_bounds(part.vertices_mm, frame.rotation)
        box = high - low + 2 * self.wall_mm
        silicone_ml = (float(np.prod(box)) - part.check.volume_mm3) / 1000
        return (
            DrawCandidate(
                direction=tuple(float(v) for v in frame.up),
                origin=origin,
                trapped_mm3=trapped,
                locked_mm3=locked,
                mould_height_mm=float(box[2]),
                silicone_ml=silicone_ml,
                why=_why(trapped, locked, tie_volume_mm3(part), float(box[2]), silicone_ml),
            ),
            frame,
        )


def _why(trapped, locked, tie_mm3, height_mm, silicone_ml):
    mould = f"the mould is {height_mm:.0f} mm high and takes about {silicone_ml:.0f} ml"
    if trapped <= tie_mm3:
        return f"nothing is held; {mould}"
    if trapped - locked <= tie_mm3:
        return f"{_ml(locked)} ml is held between surfaces of the part; {mould}"
    if locked <= tie_mm3:
        extra = f"a level split holds {_ml(trapped)} ml, a line that follows the part would not"
        return f"{extra}; {mould}"
    return (
        f"{_ml(locked)} ml is held between surfaces of the part, "
        f"{_ml(trapped - locked)} ml more by a level split; {mould}"
    )


def _ml(volume_mm3):
    return f"{volume_mm3 / 1000:.2g}"
