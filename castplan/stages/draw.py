"""Which way the halves leave the part: search over directions, the best kept."""

from dataclasses import replace

import numpy as np

from castplan.columns import rim
from castplan.columns.gaps import find_gaps
from castplan.columns.scores import score_directions, score_field
from castplan.columns.views import sample_view
from castplan.errors import InputError
from castplan.mesh import directions as ways
from castplan.mesh import frames
from castplan.mesh.standin import thin_out
from castplan.model import DrawCandidate, DrawResult, Job, Part
from castplan.model.memory import remembered
from castplan.texts import say

# Against 20,000 triangles at 96 columns across the order of 400 directions keeps
# a rank correlation of 0.999 or more on the sample parts, at 40 % of the time.
N_STANDIN_TRIANGLES = 4_000
SEARCH_ACROSS = 64  # columns along the longest side while searching
FINE_ACROSS = 96  # for the last steps, on the real mesh
FINAL_ACROSS = 256  # and for the finalists, on the real mesh
N_STARTS = 12
N_FINALISTS = 4
COARSE_STEPS_DEG = (4.0, 2.0, 1.0)  # on the stand-in
FINE_STEPS_DEG = (0.5, 0.25)  # on the real mesh
# Directions closer than this show the same split to the eye.
SAME_DEG = 15.0
# A direction of the part's own making this near is preferred to the search's,
# unless it costs this much more.
SNAP_DEG = 3.0
SNAP_MIN = 0.5
WALK_MIN = 0.05
N_LISTED = 3


@remembered
def find_draw(part: Part, job: Job, *, progress=None) -> DrawResult:
    """Search the hemisphere for the draw that costs the shop least.

    What is trapped by +d is trapped by -d, so half the sphere is enough. All
    directions (an even lattice and the part's own) are scored on a light
    stand-in; the best, at least `SAME_DEG` apart, walk downhill in ever
    smaller steps, first there, then on the real mesh; a direction of the
    part's own making nearby is preferred; the finalists are measured on the
    real mesh in the terms of `DrawWeights`.

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
    judge = _Judge(part, job)
    if job.draw is not None:
        asked = np.asarray(job.draw, dtype=float)
        if not (np.isfinite(asked).all() and np.linalg.norm(asked) > 0):
            raise InputError(
                "--draw", found=f"{job.draw}", need="a direction", do="Give x,y,z, such as 0,0,1."
            )
        only = judge.measure(frames.unit(asked), "asked_for", keep_sign=True)
        return _result([only], np.asarray([only[0].direction]), np.zeros(1), judge, True)

    own, names = ways.own_directions(part)
    tried = np.concatenate([own, ways.lattice(count=job.n_directions)])
    scores = judge.score(tried, progress=lambda fraction: report(0.7 * fraction))
    cost = judge.rough_cost_min(scores)
    cost[: len(own)] -= WALK_MIN  # between equals the part's own directions
    starts = _pick_apart(tried, cost)[:N_STARTS]
    walked, walked_cost = judge.walk(tried[starts], cost[starts], COARSE_STEPS_DEG, is_fine=False)
    report(0.85)
    first = _pick_apart(walked, walked_cost)[:N_FINALISTS]
    finalists, fine_cost = judge.walk(
        walked[first], walked_cost[first], FINE_STEPS_DEG, is_fine=True
    )
    report(0.95)
    measured = [
        judge.measure_best(direction, cost_min, own, names)
        for direction, cost_min in zip(finalists, fine_cost, strict=True)
    ]
    # Of directions that cost the same the part's own comes before the search's.
    order = sorted(
        range(len(measured)),
        key=lambda k: (round(measured[k][0].cost_min, 1), measured[k][0].origin == "search", k),
    )
    return _result(_merge_alike([measured[k] for k in order]), tried, scores[:, 0], judge, False)


def tie_volume_mm3(part: Part) -> float:
    """Trapped volumes up to this count as nothing.

    0.05 % of the part and at least 1 mm3: under a millilitre on any part of
    this trade, and above the sampling noise of the search.
    """
    return max(1.0, 5e-4 * part.check.volume_mm3)


def _result(measured, tried, trapped, judge, is_asked_for):
    # Up to here an origin is a code: it orders the candidates.
    listed = (
        replace(candidate, origin=say(f"draw_origin.{candidate.origin}"))
        for candidate, _ in measured[:N_LISTED]
    )
    return DrawResult(
        frame=measured[0][1],
        direction=measured[0][0].direction,
        candidates=tuple(listed),
        n_directions=len(tried),
        search_pitch_mm=judge.search_pitch_mm,
        is_asked_for=is_asked_for,
        map_directions=tried,
        map_trapped_mm3=trapped,
    )


def _cos(angle_deg):
    return float(np.cos(np.radians(angle_deg)))


def _pick_apart(directions, cost):
    """Rows by cost, best first, leaving out any that repeat a better one's split."""
    kept = []
    for k in np.argsort(cost, kind="stable"):
        if all(abs(directions[k] @ directions[j]) < _cos(SAME_DEG) for j in kept):
            kept.append(int(k))
    return kept


def _merge_alike(measured):
    """List symmetric answers once: same pockets, costs and heights within 1 %."""
    kept = []
    for candidate, frame in measured:
        for n, (other, other_frame) in enumerate(kept):
            if _is_alike(candidate, other):
                kept[n] = (replace(other, n_alike=other.n_alike + 1), other_frame)
                break
        else:
            kept.append((candidate, frame))
    return kept


def _is_alike(a, b):
    return (
        (a.n_pockets, a.n_bridges, a.is_stable) == (b.n_pockets, b.n_bridges, b.is_stable)
        and abs(a.cost_min - b.cost_min) <= 0.01 * b.cost_min
        and abs(a.mould_height_mm - b.mould_height_mm) <= 0.01 * b.mould_height_mm
        and abs(a.trapped_mm3 - b.trapped_mm3) <= 0.02 * b.trapped_mm3 + 1.0
    )


class _Judge:
    """Scores directions on the stand-in, measures finalists on the real mesh."""

    def __init__(self, part, job):
        self.part, self.job, self.weights = part, job, job.draw_weights
        self.hull_mm = frames.hull_points(part)
        longest_mm = max(part.check.extent_mm)
        self.wall_mm = frames.wall_for(job, longest_mm=longest_mm)
        self.search_pitch_mm = longest_mm / SEARCH_ACROSS
        self.fine_pitch_mm = longest_mm / FINE_ACROSS
        self.final_pitch_mm = longest_mm / FINAL_ACROSS
        self.real = (part.vertices_mm, np.concatenate([part.faces, part.cap_faces]))
        self.light = thin_out(
            part, n_triangles=N_STANDIN_TRIANGLES, cell_mm=0.5 * self.search_pitch_mm
        )
        self.tie_mm3 = tie_volume_mm3(part)
        self.sealed_mm3 = self._sealed_mm3()

    def _sealed_mm3(self):
        """Voids closed all round: silicone never reaches them, whatever the draw."""
        if self.part.check.n_bodies == 1 and self.part.check.is_watertight:
            return 0.0  # one closed surface has one inside and one outside
        field = self._field(frames.frame_along((0.0, 0.0, 1.0), self.hull_mm))
        gaps = find_gaps(field)
        is_sealed = (gaps.n_mouths == 0)[gaps.pocket]
        return float((gaps.top_mm - gaps.bottom_mm)[is_sealed].sum() * field.cell_mm2)

    def score(self, directions, *, is_fine=False, progress=None):
        """Rows of `score_directions`, on the stand-in or the real mesh."""
        rotations = np.array([frames.turn_to(d) for d in directions])
        surface = self.real if is_fine else self.light
        pitch_mm = self.fine_pitch_mm if is_fine else self.search_pitch_mm
        return score_directions(
            *surface,
            rotations,
            pitch_mm=pitch_mm,
            sealed_mm3=self.sealed_mm3,
            progress=progress,
        )

    def rough_cost_min(self, scores):
        """Cost of scored directions, without what only a measurement tells."""
        trapped, locked = scores[:, 0], scores[:, 1]
        box = scores[:, 2:] + 2 * self.wall_mm
        silicone_ml = (np.prod(box, axis=1) - self.part.check.volume_mm3) / 1000
        w = self.weights
        extra_min = w.trapped_min_per_ml * (trapped - locked) / 1000
        return (
            w.trapped_min_per_ml * locked / 1000
            + np.minimum(extra_min, w.following_min + w.line_min_per_mm * scores[:, 4])
            + w.height_min_per_mm * box[:, 2]
            + w.silicone_min_per_ml * silicone_ml
        )

    def walk(self, directions, cost, steps_deg, *, is_fine):
        """Walk all directions downhill together; (directions, costs)."""
        directions = np.array(directions)
        cost = np.array(cost)
        if is_fine:
            cost = self.rough_cost_min(self.score(directions, is_fine=True))
        for step_deg in steps_deg:
            rings = np.concatenate([ways.ring(d, step_deg=step_deg) for d in directions])
            tries = self.rough_cost_min(self.score(rings, is_fine=is_fine)).reshape(-1, 6)
            k = tries.argmin(axis=1)
            best = tries[np.arange(len(k)), k]
            # Less than this is sampling noise; a start of the part's own stays.
            better = best < cost - WALK_MIN
            directions[better] = rings.reshape(-1, 6, 3)[np.arange(len(k)), k][better]
            cost[better] = best[better]
        return directions, cost

    def measure_best(self, direction, cost_min, own, names):
        """Measure a finalist, or the part's own direction beside it if as good."""
        near = np.flatnonzero(np.abs(own @ direction) > _cos(SNAP_DEG))
        if near.size:
            costs = self.rough_cost_min(self.score(own[near], is_fine=True))
            # The plainest that is about as good as any, file axes first: axes
            # taken from noisy facets lie a degree off and cost the same.
            good = near[costs <= min(cost_min, costs.min()) + SNAP_MIN]
            if good.size:
                return self.measure(own[good[0]], names[good[0]])
        return self.measure(direction, "search")

    def measure(self, direction, origin, *, keep_sign=False):
        """(DrawCandidate, Frame) of one direction on the real mesh."""
        part, w = self.part, self.weights
        frame = frames.frame_along(direction, self.hull_mm)
        field = self._field(frame)
        if not keep_sign and frames.stands_better_upside_down(field):
            frame = frames.frame_along(-np.asarray(direction), self.hull_mm)
            field = self._field(frame)
        trapped, locked = score_field(field, sealed_mm3=self.sealed_mm3)
        pockets = _count_pockets(field, self.tie_mm3)
        rims = [r for r in rim.find_rims(field) if not r.is_hole]
        # The least a line must climb: from its highest floor to its lowest roof.
        climb_mm = max(0.0, max(r.low_mm.max() for r in rims) - min(r.high_mm.min() for r in rims))
        show_mm = _seam_on_show(rims, frame, self.job.show_face)
        box = field.high_mm - field.low_mm + 2 * self.wall_mm
        box[2] = field.high_mm[2] - field.low_mm[2] + self.job.over_mm + self.job.under_mm
        silicone_ml = (float(np.prod(box)) - part.check.volume_mm3) / 1000
        is_stable = frames.lies_stable(field)
        extra_min = w.trapped_min_per_ml * (trapped - locked) / 1000
        follow_min = w.following_min + w.line_min_per_mm * climb_mm
        cost_min = (
            w.trapped_min_per_ml * locked / 1000
            + min(extra_min, follow_min)
            + w.pocket_min * pockets["n_pockets"]
            + w.bridge_min * pockets["n_bridges"]
            + w.depth_min_per_mm * pockets["depth_mm"]
            + w.height_min_per_mm * float(box[2])
            + w.silicone_min_per_ml * silicone_ml
            + w.show_seam_min_per_mm * (show_mm or 0.0)
            + (0.0 if is_stable else w.unstable_min)
        )
        candidate = DrawCandidate(
            direction=tuple(float(v) for v in frame.up),
            origin=origin,
            n_alike=0,
            trapped_mm3=trapped,
            locked_mm3=locked,
            mould_height_mm=float(box[2]),
            silicone_ml=silicone_ml,
            line_climb_mm=float(climb_mm),
            seam_mm=float(sum(r.length_mm for r in rims)),
            seam_on_show_mm=show_mm,
            is_stable=is_stable,
            cost_min=float(cost_min),
            why=_why(trapped, locked, self.tie_mm3, pockets, float(box[2]), silicone_ml),
            **pockets,
        )
        return candidate, frame

    def _field(self, frame):
        part = self.part
        return sample_view(
            part.vertices_mm,
            part.faces,
            part.cap_faces,
            frame.rotation,
            pitch_mm=self.final_pitch_mm,
        )


def _count_pockets(field, tie_mm3):
    """Pockets that hold, bridges among them, and the deepest way to the open."""
    gaps = find_gaps(field)
    weight = (gaps.top_mm - gaps.bottom_mm) * field.cell_mm2
    volume = np.bincount(gaps.pocket, weights=weight, minlength=gaps.n_pockets)
    holds = (volume > tie_mm3) & (gaps.n_mouths > 0)
    inside = holds[gaps.pocket] if gaps.n_pockets else np.zeros(0, dtype=bool)
    return {
        "n_pockets": int(np.count_nonzero(holds & (gaps.n_mouths == 1))),
        "n_bridges": int(np.count_nonzero(holds & (gaps.n_mouths > 1))),
        "depth_mm": float(gaps.depth_mm[inside].max(initial=0.0)),
    }


def _seam_on_show(rims, frame, show_face):
    """Length of outline whose side looks the way the show face does, mm."""
    if show_face is None:
        return None
    show = frame.to_frame(frames.unit(show_face))
    return float(sum(r.spacing_mm * np.count_nonzero(r.outward @ show[:2] > 0.5) for r in rims))


def _why(trapped, locked, tie_mm3, pockets, height_mm, silicone_ml):
    told = {
        "mould": say("draw_why.mould", height=f"{height_mm:.0f}", silicone=f"{silicone_ml:.0f}"),
        "locked": _ml(locked),
        "extra": _ml(trapped - locked),
        "where": _where(pockets["n_pockets"], pockets["n_bridges"]),
    }
    if trapped <= tie_mm3:
        return say("draw_why.nothing_held", **told)
    if trapped - locked <= tie_mm3:
        return say("draw_why.held", **told)
    if locked <= tie_mm3:
        return say("draw_why.held_by_level", **told)
    return say("draw_why.held_more_by_level", **told)


def _where(n_pockets, n_holes):
    if not n_pockets and not n_holes:
        return say("draw_why.too_small")
    pockets, holes = say("draw_why.pockets", n=n_pockets), say("draw_why.holes", n=n_holes)
    if n_pockets and n_holes:
        return say("draw_why.pockets_and_holes", pockets=pockets, holes=holes)
    return pockets if n_pockets else holes


def _ml(volume_mm3):
    return f"{volume_mm3 / 1000:.2g}"
