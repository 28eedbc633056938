"""What ways to stand a box cost the shop: openings and where they stand, tilt, height, air."""

from dataclasses import dataclass, field

import numpy as np

from castplan.geometry import frames
from castplan.geometry.guard import Guard
from castplan.job import Job

LYING = ("", "+z", "-z")  # rests whose parting does not stand upright
# A box this many times as high as its base is wide wants a brace (assumed).
STEADY = 2.5
# A box up to this high is poured standing at the bench (assumed).
BENCH_MM = 250.0
# 15 to 30 degrees are usual (from memory): of tilts that do about as well the
# least of these is recommended; on a smaller one bubbles creep.
USUAL_TILT_DEG = 15.0
# Axes of the box along x, y and up of its rests, by the axis that stands up.
_SIDES = {"z": (0, 1, 2), "x": (1, 2, 0), "y": (0, 2, 1)}


def burden_min(score, job) -> float:
    """Minutes for vents and for the air they leave, wherever they stand."""
    return min(score.n_vents, job.max_vents) * job.air_weights.vent_min + left_min(score, job)


def left_min(score, job) -> float:
    """Minutes for air that no vent lets out."""
    left_mm3 = score.small_mm3 + (score.left_mm3 if score.n_vents > job.max_vents else 0.0)
    return left_mm3 / 1000 * job.air_weights.left_min_per_ml


@dataclass(frozen=True, eq=False)
class StandBill:
    """What ways to stand a box cost.

    Parameters
    ----------
    job : Job
    box_mm : (3,) float64
        Size of the box in the draw frame.
    on_parting : callable or None
        Tells of places (k, 3), part frame, which touch the parting, (k,) bool.
    guard : Guard
    gate_mm : float
        Bore of the narrowest usual gate.
    tip_mm2 : float
        A feature of less section is a tip.
    prefer_min : float
        The highest point keeps the gate unless a riser saves more.
    """

    job: Job
    box_mm: np.ndarray
    on_parting: object
    guard: Guard
    gate_mm: float
    tip_mm2: float
    prefer_min: float
    _harm: dict = field(default_factory=dict)  # score to minutes, filled as scores are met

    @property
    def gate_mm2(self):
        """Section of the narrowest usual gate."""
        return np.pi / 4 * self.gate_mm**2

    def learn(self, scores):
        """Ask once for the openings of many scores."""
        fresh = [score for score in scores if score not in self._harm]
        if not fresh:
            return
        places = np.concatenate([score.places_mm for score in fresh])
        is_tip = np.concatenate([score.sections_mm2 for score in fresh]) < self.tip_mm2
        minutes = self.guard.minutes(places) + self.job.air_weights.tip_port_min * is_tip
        ends = np.cumsum([len(score.places_mm) for score in fresh])[:-1]
        for score, each in zip(fresh, np.split(minutes, ends), strict=True):
            # The gate takes one of them, and no more are made than the job allows.
            self._harm[score] = float(np.sort(each)[: self.job.max_vents + 1].sum())

    def harm_min(self, score):
        """Minutes for where the openings stand."""
        self.learn([score])
        return self._harm[score]

    def touching(self, score, stand):
        """Which openings lie in the parting where that stands upright, (k,) bool."""
        if self.on_parting is None or stand is None or stand.rest in LYING:
            return np.zeros(len(score.places_mm), dtype=bool)
        return self.on_parting(score.places_mm)

    def n_grooves(self, score, stand):
        """Vents that lie in the parting, which stands upright; the gate takes one of them."""
        n_touching = int(np.count_nonzero(self.touching(score, stand)))
        return min(n_touching, score.n_vents, self.job.max_vents)

    def vents_min(self, score, stand):
        """Minutes for the vents."""
        weights = self.job.air_weights
        n_vents = min(score.n_vents, self.job.max_vents)
        saved = self.n_grooves(score, stand) * (weights.vent_min - weights.groove_min)
        return n_vents * weights.vent_min - saved

    def gate_min(self, score, up, stand):
        """Minutes for the gate: on the highest point, or a riser where that is clearly less."""
        weights, feed = self.job.air_weights, self.job.feed
        is_upright = stand is not None and stand.rest not in LYING
        highest = int(np.argmax(np.round(score.places_mm @ up, 6)))
        is_touching = self.touching(score, stand)[highest]
        one_min = weights.groove_min if is_touching else weights.vent_min
        top_min = one_min + weights.drop_min_per_mm * score.height_mm
        riser_min = weights.groove_min + weights.riser_min_per_mm * score.height_mm
        riser_min += weights.resin_min_per_ml * self.gate_mm2 * score.height_mm / 1000
        riser_min += weights.riser_min if is_upright else weights.riser_bored_min
        # The highest point takes a vent; a gate alone there had one beside it anyway.
        riser_min += one_min if len(score.places_mm) > 1 else 0.0
        if feed == "riser" or (feed == "auto" and top_min - riser_min > self.prefer_min):
            return riser_min
        return top_min

    def tall_min(self, up, stand):
        """Minutes for a box that stands higher than a bench is worked at, tilt included."""
        if stand is None or not stand.rest:
            return 0.0
        sides_mm = self.box_mm[list(_SIDES[stand.rest[1]])]
        height_mm = float(np.abs(stand.rest_frame.rotation @ up) @ sides_mm)
        return self.job.air_weights.tall_min_per_mm * max(height_mm - BENCH_MM, 0.0)

    def minutes(self, score, up, stand):
        """Minutes of one direction, on a stand or in a cradle."""
        weights, box_mm = self.job.air_weights, self.box_mm
        cost = self.vents_min(score, stand) + self.gate_min(score, up, stand)
        cost += self.harm_min(score) + self.tall_min(up, stand)
        cost += left_min(score, self.job) + weights.show_up_min * show_up(up, self.job)
        if stand is None or not stand.rest:
            return float(cost + weights.cradle_min)
        if stand.tilt_deg > 0:
            short_deg = USUAL_TILT_DEG - stand.tilt_deg
            cost += weights.tilt_min + (0.1 * short_deg if short_deg > 0 else -0.02 * short_deg)
        axis = "xyz".index(stand.rest[1])
        if box_mm[axis] > STEADY * min(np.delete(box_mm, axis)):
            cost += weights.brace_min
        return float(cost)


def show_up(up, job) -> float:
    """How far the show face looks up, 0 to 1; 0 where none is known."""
    return 0.0 if job.show_face is None else max(0.0, float(up @ frames.unit(job.show_face)))
