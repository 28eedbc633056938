"""Which way the halves leave the part: search over directions, the best kept."""

from functools import partial

import numpy as np

from castplan import units
from castplan.columns import rim
from castplan.columns.gaps import find_gaps
from castplan.columns.scores import judge_directions, score_directions
from castplan.columns.views import sample_view
from castplan.errors import GeometryError
from castplan.geometry import directions as ways
from castplan.geometry import frames
from castplan.job import Job
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.split import draw_choice
from castplan.split.draw_bill import DrawBill
from castplan.split.draw_seen import seen_of
from castplan.split.records import DrawCandidate, DrawResult
from castplan.texts.told import tell

N_CLOSER = 120  # directions of which all terms are read
N_AT_A_TIME = 24
N_STARTS = 8
N_FINALISTS = 4
MOST_STEPS = 3  # of one length that a walk takes
# A walk that starts beyond this has not come under the best one on any part tried.
REACH_FACTOR, REACH_MIN = 1.4, 10.0
COARSE_STEPS_DEG = (4.0, 2.0, 1.0)  # on the stand-in
# On the real mesh the valleys of a lumpy body lie elsewhere: the walk starts wide again.
FINE_STEPS_DEG = (2.0, 1.0, 0.5, 0.25)
NEAR_STEPS_DEG = (0.5, 0.25)  # of those that come down where a better one is
# Directions closer than this show the same split to the eye.
SAME_DEG = 15.0
# A direction of the part's own making this near may be preferred to the search's.
SNAP_DEG = 20.0
N_LOOKED_AT, N_SNAPS = 4, 2
FINER = (1.0, 2.0)  # what columns are made finer by until they show the outline
WALK_MIN = 0.05
N_LISTED = 3


@remembered
def find_draw(part: Part, job: Job, *, progress=None) -> DrawResult:
    """Search the hemisphere for the draw that costs the shop least.

    What is trapped by +d is trapped by -d, so half the sphere is enough. All
    directions (an even lattice and the part's own) are scored on a light
    stand-in, those that may be best in all terms of `DrawWeights`; the best
    of them, at least `SAME_DEG` apart, walk downhill in ever smaller steps,
    first there, then on the real mesh, and are measured there; a direction of
    the part's own making nearby is preferred.

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
    GeometryError
        The part is too thin for its length to show an outline.
    """
    report = progress or (lambda fraction: None)
    judge = _Judge(part, job)
    if job.draw is not None:
        only = judge.measure(frames.unit(job.draw), "asked_for", keeps_sign=True)
        if only is None:
            raise _unseen(part, judge)
        return _result([only], np.asarray([only[0].direction]), np.zeros(1), judge, True)

    own, names = ways.draw_directions(part, judge.seen.hull_mm, show_face=job.show_face)
    tried = np.concatenate([own, ways.lattice(count=job.n_directions) @ judge.seen.turn])
    scores = judge.score(tried, progress=lambda fraction: report(0.5 * fraction))
    cost = judge.look_closer(tried, judge.bill.rough_min(scores))
    # Between equals the part's own directions, of these its flats: from beside one a walk
    # steps over what starts at it.
    is_flat = np.array([name.startswith(("file", "flat")) for name in names])
    own_min = cost[: len(own)]
    own_min -= np.where(is_flat, 0.5 * draw_choice.snap_min(own_min), WALK_MIN)
    starts = _pick_apart(tried, cost, N_STARTS)
    walked, walked_cost = judge.walk(tried[starts], cost[starts], COARSE_STEPS_DEG, is_fine=False)
    report(0.8)
    first = _pick_apart(walked, walked_cost, N_FINALISTS)
    finalists, fine_cost = judge.walk_apart(walked[first], walked_cost[first])
    report(0.9)
    measured = _measure_apart(judge, finalists, fine_cost, own, names)
    if not measured:
        raise _unseen(part, judge)
    return _result(draw_choice.merge_alike(measured), tried, scores[:, 0], judge, False)


def _measure_apart(judge, finalists, fine_cost, own, names):
    """The finalists on the real mesh; those that come down to the same direction once."""
    measured = []
    for k in np.argsort(fine_cost, kind="stable"):
        taken = np.array([candidate.direction for candidate, _ in measured]).reshape(-1, 3)
        free = np.flatnonzero((np.abs(own @ taken.T) < _cos(SAME_DEG)).all(axis=1))
        found = judge.settle(finalists[k], fine_cost[k], own[free], [names[n] for n in free])
        if found is not None:
            measured.append(found)
        elif not measured:
            break  # a dearer draw that does show would be no answer
    order = draw_choice.in_order([candidate for candidate, _ in measured], judge.seen.turn)
    measured = [measured[k] for k in order]
    up = np.array([candidate.direction for candidate, _ in measured]).reshape(-1, 3)
    return [measured[k] for k in _pick_apart(up, np.arange(len(up)), len(up))]


def _unseen(part, judge):
    return GeometryError(
        part.name,
        found=f"a part so thin that columns {judge.seen.final_pitch_mm:.2g} mm apart, and finer "
        "where it is thin, show no outline of it",
        need="about a 500th of its length in thickness",
        do="Plan a shorter piece of it.",
    )


def tie_volume_mm3(part: Part) -> float:
    """Trapped volumes up to this count as nothing.

    0.05 % of the part and at least 1 mm3: under a millilitre on any part of
    this trade, and above the sampling noise of the search.
    """
    return max(1.0, 5e-4 * part.check.volume_mm3)


def _result(measured, tried, trapped, judge, is_asked_for):
    return DrawResult(
        frame=measured[0][1],
        direction=measured[0][0].direction,
        candidates=tuple(candidate for candidate, _ in measured[:N_LISTED]),
        n_directions=len(tried),
        search_pitch_mm=judge.seen.search_pitch_mm,
        is_asked_for=is_asked_for,
        map_directions=tried,
        map_trapped_mm3=trapped,
    )


def _cos(angle_deg):
    return float(np.cos(np.radians(angle_deg)))


def _reach(cost_min):
    """What a direction may cost at first that is to come under this by walking."""
    return REACH_FACTOR * cost_min + REACH_MIN


def _pick_apart(directions, cost, n_most):
    """Rows by cost, best first, leaving out any that repeat a better one's split."""
    kept = []
    for k in np.argsort(cost, kind="stable"):
        if len(kept) == n_most:
            break
        if all(abs(directions[k] @ directions[j]) < _cos(SAME_DEG) for j in kept):
            kept.append(int(k))
    return kept


class _Judge:
    """Scores directions on the stand-in, measures finalists on the real mesh."""

    def __init__(self, part, job):
        self.part = part
        self.seen = seen_of(part, job.show_face)
        self.bill = DrawBill(
            part=part,
            job=job,
            turn=self.seen.turn,
            wall_mm=frames.wall_for(job, longest_mm=self.seen.longest_mm),
            depth_mm=1.5 * self.seen.final_pitch_mm,
            sealed_mm3=self._sealed_mm3(),
            tie_mm3=tie_volume_mm3(part),
        )

    def _sealed_mm3(self):
        """Voids closed all round: silicone never reaches them, whatever the draw."""
        if self.part.check.n_bodies == 1 and self.part.check.is_watertight:
            return 0.0  # one closed surface has one inside and one outside
        field = self._field(frames.frame_along((0.0, 0.0, 1.0), self.seen.hull_mm))
        gaps = find_gaps(field)
        is_sealed = (gaps.n_mouths == 0)[gaps.pocket]
        return float((gaps.top_mm - gaps.bottom_mm)[is_sealed].sum() * field.cell_mm2)

    def _turns(self, directions):
        return frames.search_turns(directions, self.seen.support_mm, wall_mm=self.bill.wall_mm)

    def score(self, directions, *, progress=None):
        """Rows of `score_directions`, on the stand-in."""
        score = partial(
            score_directions,
            *self.seen.light,
            pitch_mm=self.seen.search_pitch_mm,
            sealed_mm3=self.bill.sealed_mm3,
            progress=progress,
        )
        return np.array(self.seen.look("score", self._turns(directions), score))

    def minutes(self, directions, *, is_fine=False):
        """What directions (k, 3) cost, all terms: on the stand-in or the real mesh, (k,)."""
        if not len(directions):
            return np.zeros(0)
        seen = self.seen
        read = partial(
            judge_directions,
            *(seen.real if is_fine else seen.light),
            judge=self.bill.read,
            pitch_mm=seen.fine_pitch_mm if is_fine else seen.search_pitch_mm,
        )
        found = seen.look("fine" if is_fine else "rough", self._turns(directions), read)
        return np.array([self.bill.minutes(terms) for terms in found])

    def look_closer(self, directions, least_min):
        """All terms of the directions that may be among the best, (k,).

        What is scored is the least that a direction can cost, so that those
        beyond the reach of the best found need no second look; they stay
        behind it.
        """
        cost = np.full(len(directions), np.inf)
        order = np.argsort(least_min, kind="stable")
        n = 0
        while n < min(len(order), N_CLOSER) and least_min[order[n]] <= _reach(cost.min()):
            some = order[n : n + N_AT_A_TIME]
            cost[some] = self.minutes(directions[some])
            n += N_AT_A_TIME
        rest = order[n:]
        cost[rest] = least_min[rest] + _reach(cost.min())
        return cost

    def walk(self, directions, cost, steps_deg, *, is_fine):
        """Walk all directions downhill together; (directions, costs)."""
        directions = np.array(directions)
        cost = self.minutes(directions, is_fine=True) if is_fine else np.array(cost)
        for step_deg in steps_deg:
            moving = np.flatnonzero(cost < _reach(cost.min()))
            for _ in range(MOST_STEPS):
                rings = [
                    ways.ring(directions[k], step_deg=step_deg, turn=self.seen.turn) for k in moving
                ]
                tries = self.minutes(np.concatenate(rings), is_fine=is_fine).reshape(-1, 6)
                k = tries.argmin(axis=1)
                best = tries[np.arange(len(k)), k]
                # Less than this is sampling noise; a start of the part's own stays.
                better = best < cost[moving] - WALK_MIN
                for n in np.flatnonzero(better):
                    directions[moving[n]], cost[moving[n]] = rings[n][k[n]], best[n]
                moving = moving[better]
                if not moving.size:
                    break
        return directions, cost

    def walk_apart(self, directions, cost):
        """Walk on the real mesh; those that end where a better one does stay nearer home.

        Else a body with one wide valley would have no second draw to list.
        """
        ends, end_cost = self.walk(directions, cost, FINE_STEPS_DEG, is_fine=True)
        kept = _pick_apart(ends, end_cost, len(ends))
        again = np.setdiff1d(np.arange(len(ends)), kept)
        if again.size:
            ends[again], end_cost[again] = self.walk(
                directions[again], cost[again], NEAR_STEPS_DEG, is_fine=True
            )
        return ends, end_cost

    def settle(self, direction, cost_min, own, names):
        """Measure a finalist, or a direction of the part's own near it that is about as good."""
        along = np.abs(own @ direction)
        near = np.flatnonzero((along > _cos(SNAP_DEG)) & (along < 1 - 1e-9))
        # Noise makes flats of its own beside every true one: file axes come first.
        is_axis = np.array([names[k].startswith("file") for k in near], dtype=bool)
        near = near[np.lexsort((-np.round(along[near], 9), ~is_axis))][:N_LOOKED_AT]
        costs = self.minutes(own[near], is_fine=True)
        # On the finer columns of a measurement these may come out better.
        near = near[costs < _reach(cost_min)][:N_SNAPS]
        name = next((names[k] for k in np.flatnonzero(along >= 1 - 1e-9)), "search")
        found = [self.measure(direction, name)]
        found += [self.measure(own[k], names[k]) for k in near]
        found = [pair for pair in found if pair is not None]
        costs = [draw_choice.preferred_min(candidate) for candidate, _ in found]
        return found[int(np.argmin(np.round(costs, 1)))] if found else None

    def measure(self, direction, origin, *, keeps_sign=False):
        """(DrawCandidate, Frame) of one direction on the real mesh; None if it shows no outline."""
        frame = frames.frame_along(direction, self.seen.hull_mm)
        for finer in FINER:
            terms, is_seen, seam_mm = self._closely(frame, finer=finer, keeps_sign=keeps_sign)
            if is_seen:
                break
        else:
            return None
        if terms.is_turned:
            frame = frames.frame_along(-np.asarray(direction), self.seen.hull_mm)
            terms, _, seam_mm = self._closely(frame, finer=finer, keeps_sign=True)
        box_mm = self.bill.box_mm(terms.extent_mm)
        height_mm = float(box_mm[2])
        silicone_ml = float(self.bill.silicone_ml(box_mm))
        candidate = DrawCandidate(
            direction=tuple(float(v) for v in frame.up),
            origin=origin,
            n_alike=0,
            trapped_mm3=terms.trapped_mm3,
            locked_mm3=terms.locked_mm3,
            n_pockets=terms.n_pockets,
            n_bridges=terms.n_bridges,
            depth_mm=terms.depth_mm,
            mould_height_mm=height_mm,
            silicone_ml=silicone_ml,
            line_climb_mm=terms.climb_mm,
            seam_mm=seam_mm,
            seam_on_face_mm=terms.outline.face_mm,
            seam_on_show_mm=terms.show_mm,
            is_stable=terms.is_stable,
            cost_min=self.bill.minutes(terms),
            why=_why(terms, self.bill.tie_mm3, height_mm, silicone_ml),
        )
        return candidate, frame

    def _closely(self, frame, *, finer, keeps_sign):
        """Terms of a frame on the real mesh, whether they show its outline, and its seam."""

        def read(rotations):
            field = self._field(frame, finer=finer)
            terms = self.bill.read(field, keeps_sign=keeps_sign)
            seam_mm = sum(r.length_mm for r in rim.find_rims(field) if not r.is_hole)
            return [(terms, self.bill.is_seen(field, terms.outline), seam_mm)]

        return self.seen.look(f"closely {finer} {keeps_sign}", frame.rotation[None], read)[0]

    def _field(self, frame, *, finer=1.0):
        part = self.part
        return sample_view(
            part.vertices_mm,
            part.faces,
            part.cap_faces,
            frame.rotation,
            pitch_mm=self.seen.final_pitch_mm / finer,
        )


def _why(terms, tie_mm3, height_mm, silicone_ml):
    trapped, locked = terms.trapped_mm3, terms.locked_mm3
    told = {
        "mould": tell("draw_why.mould", height=f"{height_mm:.0f}", silicone=f"{silicone_ml:.0f}"),
        "locked": _ml(locked),
        "extra": _ml(trapped - locked),
        "where": _where(terms.n_pockets, terms.n_bridges),
    }
    if trapped <= tie_mm3:
        return tell("draw_why.nothing_held", **told)
    if trapped - locked <= tie_mm3:
        return tell("draw_why.held", **told)
    if locked <= tie_mm3:
        return tell("draw_why.held_by_level", **told)
    return tell("draw_why.held_more_by_level", **told)


def _where(n_pockets, n_holes):
    if not n_pockets and not n_holes:
        return tell("draw_why.too_small")
    pockets, holes = tell("draw_why.pockets", n=n_pockets), tell("draw_why.holes", n=n_holes)
    if n_pockets and n_holes:
        return tell("draw_why.pockets_and_holes", pockets=pockets, holes=holes)
    return pockets if n_pockets else holes


def _ml(volume_mm3):
    return units.digits(volume_mm3 / 1000, 2)
