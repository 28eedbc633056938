"""Gates along a long part: how far resin runs, and how many gates it takes to be in time."""

from dataclasses import replace

import numpy as np

from castplan.air.long_part import Tops
from castplan.air.records import AirResult, FurtherGate, GatePlan, GateRun
from castplan.air.site import GateSite
from castplan.geometry import channels
from castplan.job import Job
from castplan.materials.cards import pot_life_at
from castplan.materials.fillers import resin_of
from castplan.materials.gate import PREFER_MIN, VISCOSITY_SPREAD, fill_within, head
from castplan.materials.run import Feed, run_time_s
from castplan.texts.told import clauses, tell

N_LISTED = 5
# More gates than this besides the first are no pour that one person follows (assumed).
MOST_FURTHER = 4
# Where no channel leads up, a gate may stand so many slabs aside.
ASIDE = (0, 1, -1, 2, -2)
# Cutting a cast open and mending it, which a short one costs: as dear as this many cradles.
SHORT_CRADLES = 10
# What still runs at this share of the pot life may set before it is there: by then
# all should be poured (common practice, no source).
LATE_SHARE = 0.5
# Resin that stops short is told to take a day.
STOPS_S = 86_400.0


def spread_gates(plan: GatePlan, site: GateSite, air: AirResult, job: Job) -> GatePlan:
    """The same places for the gate, judged by how long resin runs along a long part.

    A place from which resin does not come to the ends within the share of the pot
    life in which the cavity should be full gets further gates, spread evenly, the
    fewest that do it. They are poured when resin stands in them, so no two fronts
    meet. Each costs its channel and where it stands; what still runs longer costs
    as much as a short cast when the pot life is over.

    Parameters
    ----------
    plan : GatePlan
    site : GateSite
        Where the part is not long the plan stays as it is.
    air : AirResult
        As vented with the gate on the highest point.
    job : Job

    Returns
    -------
    GatePlan
        Its chosen option stays unless another saves more than `PREFER_MIN`.
    """
    if site.long is None:
        return plan
    judge = _Judge(site, air, job)
    judged = [judge.fed(option) for option in plan.options]
    by_cost = sorted(judged, key=lambda option: round(option.cost_min, 6))
    own, why = judged[0], plan.why
    best = own
    if plan.is_asked_for:
        by_cost = [option for option in by_cost if option.feed == own.feed]
    saved_min = own.cost_min - by_cost[0].cost_min
    if saved_min > PREFER_MIN:
        best, why = by_cost[0], tell("gate_why.saves", saved=f"{saved_min:.0f}")
    others = [option for option in judged if option is not best]
    others.sort(key=lambda option: round(option.cost_min, 6))
    return replace(plan, options=(best, *others[: N_LISTED - 1]), why=why, run=judge.run_of(best))


class _Judge:
    def __init__(self, site, air, job):
        self.long, self.air, self.job, self.guard = site.long, air, job, site.guard
        self.tops = Tops(site.long, site.own, air.frame, site.guard)
        self.block = site.block(air)
        resin = resin_of(job)
        pot_life_min, _, _ = pot_life_at(resin, temperature_c=job.shop_temperature_c)
        # Of several cavities each has its share of the time.
        self.pot_life_s = 60 * pot_life_min * site.share
        self.limit_s = fill_within().value * self.pot_life_s
        self.viscosity_mpa_s = resin.viscosity_mpa_s.value
        self.density_g_ml = resin.density_g_ml.value
        self.gates, self.minutes = {}, {}  # further gates by slab and bore, and what each costs
        self.middles = air.frame.to_frame(site.long.middles_mm)

    def fed(self, option):
        """An option with the gates that it takes to be in time, at its price."""
        best, time_s = self._priced(option, ())
        for n in range(1, MOST_FURTHER + 1):
            if time_s <= self.limit_s:
                break
            for gates in self._spread(option, n):
                tried, tried_s = self._priced(option, gates)
                if tried.cost_min < best.cost_min - 1e-6:
                    best, time_s = tried, tried_s
        return best

    def run_of(self, option):
        """How resin runs with the gates of an option; where it is late, the place of one more."""
        high_s, last = self._time(option, option.further)
        low_s, _ = self._time(option, option.further, factor=1 - VISCOSITY_SPREAD)
        next_mm = None
        if high_s > LATE_SHARE * self.pot_life_s:
            # Half way from where resin comes from last to where it comes last.
            behind = min(
                (self._slab(gate.place_mm) for gate in (option, *option.further)),
                key=lambda slab: abs(slab - last),
            )
            place = self.tops.at(round(0.5 * (behind + last)))
            next_mm = tuple(float(v) for v in self.block.to_draw(place))
        return GateRun(
            length_mm=self.long.length_mm,
            low_s=low_s,
            high_s=high_s,
            alone_s=self._time(option, ())[0],
            pot_life_s=self.pot_life_s,
            next_mm=next_mm,
        )

    def _slab(self, place_mm):
        return self.long.slab_of(self.air.frame.to_part(np.asarray(place_mm)))

    def _time(self, option, further, *, factor=1 + VISCOSITY_SPREAD):
        """Seconds until the part is full, and the slab that fills last."""
        rim = self.block.to_rest(option.path_mm[-1]) + np.array([0.0, 0.0, head().value])
        time_s, last = run_time_s(
            self.long.areas_mm2 * self.long.slab_mm,
            self.long.eases_mm4,
            self.middles @ self.block.true_up,
            [
                Feed(self._slab(gate.place_mm), gate.bore_mm, channels.length_of(gate.path_mm))
                for gate in (option, *further)
            ],
            slab_mm=self.long.slab_mm,
            rim_mm=float(rim @ self.block.true_up),
            viscosity_mpa_s=factor * self.viscosity_mpa_s,
            density_g_ml=self.density_g_ml,
        )
        return min(float(time_s), STOPS_S), last

    def _priced(self, option, further):
        """An option with some further gates at its price, and how long resin runs."""
        weights, (time_s, _) = self.job.air_weights, self._time(option, further)
        late = (time_s - self.limit_s) / (self.pot_life_s - self.limit_s)
        cost = SHORT_CRADLES * weights.cradle_min * float(np.clip(late, 0.0, 1.0))
        cost += sum(self.minutes[gate] for gate in further)
        why = [option.why]
        if further:
            why.append(tell("gate_why.further", n=len(further)))
        if time_s > self.limit_s:
            told_s = f"{min(time_s, 9999.0):.0f}"
            why.append(tell("gate_why.late", time=told_s, limit=f"{self.limit_s:.0f}"))
        priced = replace(
            option,
            further=tuple(further),
            cost_min=option.cost_min + cost,
            why=clauses(why),
        )
        return priced, time_s

    def _made_min(self, gate, name):
        """Minutes to make a further gate, and for where it stands."""
        weights = self.job.air_weights
        minutes = weights.groove_min if name == "groove" else weights.vent_min
        minutes += weights.slant_min if name == "slanted" else 0.0
        bored_ml = np.pi / 4 * gate.bore_mm**2 * channels.length_of(gate.path_mm) / 1000
        minutes += weights.resin_min_per_ml * bored_ml
        if self.guard is not None:
            spot = self.air.frame.to_part(np.atleast_2d(gate.place_mm))
            minutes += float(self.guard.minutes(spot)[0])
        return minutes

    def _spread(self, option, n):
        """So many further gates, evenly over both ways from the first, however divided."""
        first, last = self._slab(option.place_mm), len(self.long.areas_mm2) - 1
        for n_ahead in range(n + 1):
            n_behind = n - n_ahead
            ahead = [(last - first) * k / (n_ahead + 1) for k in range(1, n_ahead + 1)]
            behind = [-first * k / (n_behind + 1) for k in range(1, n_behind + 1)]
            # In the order that resin comes to them.
            steps = sorted((*ahead, *behind), key=lambda step: (abs(step), step))
            slabs = [round(first + step) for step in steps]
            if len({first, *slabs}) < n + 1:
                continue
            gates = [self._gate_at(slab, option) for slab in slabs]
            if all(gate is not None for gate in gates):
                yield gates

    def _gate_at(self, slab, option):
        """A further gate near a slab; None where no channel leads up."""
        key = slab, option.bore_mm
        if key not in self.gates:
            self.gates[key] = self._look_near(*key)
        return self.gates[key]

    def _look_near(self, slab, bore_mm):
        air = self.air
        taken = [air.peaks[k].place_mm for k in air.opened] + list(air.extra_vents_mm)
        for aside in ASIDE:
            if not 0 <= slab + aside < len(self.long.areas_mm2):
                continue
            place = self.tops.at(slab + aside)
            apart_mm = np.linalg.norm(np.subtract(taken, place), axis=1).min()
            name, path = self.block.way_out(place, bore_mm=bore_mm)
            if name in ("sideways", "none") or apart_mm < 2 * bore_mm:
                continue
            exit_mm, spot = path[-1], air.frame.to_part(place)
            harms = () if self.guard is None else self.guard.harms_at(spot, bore_mm=bore_mm)
            room = np.concatenate([(exit_mm - self.block.low)[:2], (self.block.high - exit_mm)[:2]])
            gate = FurtherGate(
                place_mm=tuple(float(v) for v in place),
                path_mm=self.block.to_draw(path),
                bore_mm=bore_mm,
                cup_mm=float(max(min(self.job.cup_mm, 2 * float(room.min())), bore_mm)),
                harms=harms,
            )
            self.minutes[gate] = self._made_min(gate, name)
            return gate
        return None
