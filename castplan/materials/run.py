"""Resin that runs along a long cavity: how long it takes from one gate, and from several.

Slow flow fills the section, its front pushed by the head between the cup and
itself through gate and cavity behind it: Washburn's balance, slab by slab.
Gates are poured one after the other: the first until resin stands in the next,
then that one, so no two fronts meet and no air is shut in between them.
"""

import math
from dataclasses import dataclass

from castplan.materials.flow import G_M_S2


@dataclass(frozen=True)
class Feed:
    """A gate as the run sees it."""

    slab: int
    bore_mm: float
    length_mm: float


def run_time_s(
    volumes_mm3,
    eases_mm4,
    heights_mm,
    feeds,
    *,
    slab_mm: float,
    rim_mm: float,
    viscosity_mpa_s: float,
    density_g_ml: float,
) -> tuple[float, int]:
    """Time until a long cavity is full, and the slab that fills last.

    Parameters
    ----------
    volumes_mm3, eases_mm4 : sequence of float
        Of equal slabs along the cavity: volume, and what a pressure of one
        viscosity per mm drives through the section.
    heights_mm : sequence of float
        Of the slabs' middles, at the pour.
    feeds : sequence of Feed
        The first is poured first.
    slab_mm : float
    rim_mm : float
        Height of the surface in the cups.
    viscosity_mpa_s, density_g_ml : float
        Of the mixed resin.

    Returns
    -------
    time_s : float
        inf where the resin stops short.
    slab : int

    Examples
    --------
    A level gap 3 mm wide, 10 mm across and 480 mm long, fed at its end under
    50 mm of resin of 100 mPa s and 1 g/ml: 6 mu L^2 / (b^2 dp) = 31 s.

    >>> feed = Feed(slab=0, bore_mm=1000.0, length_mm=1.0)
    >>> flow = {"slab_mm": 1.0, "rim_mm": 50.0, "viscosity_mpa_s": 100.0, "density_g_ml": 1.0}
    >>> seconds, last = run_time_s([30.0] * 480, [22.5] * 480, [0.0] * 480, [feed], **flow)
    >>> round(seconds), last
    (31, 479)
    """
    viscosity, n = viscosity_mpa_s / 1000, len(volumes_mm3)
    # Drag of a slab and of a pipe, Pa s / m3; push of a mm of head, Pa.
    drags = [viscosity * slab_mm / 1000 / max(ease, 1e-9) * 1e12 for ease in eases_mm4]
    pipes = {feed.slab: _pipe_drag(feed, viscosity) for feed in reversed(feeds)}
    push_pa = density_g_ml * 1000 * G_M_S2 / 1000
    first = feeds[0].slab
    fronts = [_Front(step, first, drags, volumes_mm3) for step in (1, -1)]
    time_s, last = 0.0, first
    while True:
        active = [front for front in fronts if 0 <= front.slab < n]
        if not active:
            return time_s, last
        rates = _rates(active, pipes, heights_mm, push_pa * rim_mm, push_pa)
        if max(rates) <= 0:
            return math.inf, active[0].slab
        step_s = min(
            front.left_m3 / rate for front, rate in zip(active, rates, strict=True) if rate > 0
        )
        time_s += step_s
        for front, rate in zip(active, rates, strict=True):
            front.left_m3 -= max(rate, 0.0) * step_s
            if front.left_m3 <= 1e-9 * front.whole_m3:
                last = front.slab
                front.go_on(pipes)


def _pipe_drag(feed, viscosity):
    """Of a gate, Pa s / m3."""
    length_m, bore_m = max(feed.length_mm, 1.0) / 1000, feed.bore_mm / 1000
    return 128 * viscosity * length_m / (math.pi * bore_m**4)


class _Front:
    """One end of the resin, the drag behind it, and the gate that feeds it."""

    def __init__(self, step, first, drags, volumes_mm3):
        self.step, self.slab, self.feed = step, first, first
        self.drags, self.volumes_mm3 = drags, volumes_mm3
        # The gate stands in the middle of its slab: half of that is each front's.
        self.share, self.behind = 0.5, 0.0
        self._begin()

    def _begin(self):
        is_there = 0 <= self.slab < len(self.drags)
        self.whole_m3 = self.share * self.volumes_mm3[self.slab] * 1e-9 if is_there else 0.0
        self.left_m3 = self.whole_m3

    @property
    def drag(self):
        """Behind the front, in the middle of its slab."""
        return self.behind + 0.5 * self.share * self.drags[self.slab]

    def go_on(self, pipes):
        """Into the next slab; over a gate, which feeds it from now on."""
        self.behind += self.share * self.drags[self.slab]
        if self.slab in pipes and self.slab != self.feed:
            self.feed, self.behind = self.slab, 0.0
        self.slab, self.share = self.slab + self.step, 1.0
        self._begin()


def _rates(fronts, pipes, heights_mm, cup_pa, push_pa):
    """What runs into each front, m3/s; two from the same gate share its bore."""
    backs = [push_pa * heights_mm[front.slab] for front in fronts]
    rates = [
        max(cup_pa - back, 0.0) / (pipes[front.feed] + front.drag)
        for front, back in zip(fronts, backs, strict=True)
    ]
    if len(fronts) == 2 and fronts[0].feed == fronts[1].feed:
        # Pressure under the gate, from what comes in and what goes out.
        ways = [1 / max(front.drag, 1e-12) for front in fronts]
        pipe = 1 / pipes[fronts[0].feed]
        under = (cup_pa * pipe + sum(w * b for w, b in zip(ways, backs, strict=True))) / (
            pipe + sum(ways)
        )
        shared = [way * (under - back) for way, back in zip(ways, backs, strict=True)]
        # A front that stands higher than this waits, and the other has the bore to itself.
        if min(shared) > 0:
            return shared
        lower = 0 if backs[0] < backs[1] else 1
        rates[1 - lower] = 0.0
    return rates
