"""Where the gate goes: through a high point, or from below by a riser beside the part."""

from dataclasses import dataclass, replace

import numpy as np

from castplan.air.long_part import Tops
from castplan.air.records import AirResult, GateOption, GatePlan
from castplan.air.risers import list_risers
from castplan.air.site import GateSite
from castplan.columns.heights import volume_by_height
from castplan.geometry import channels
from castplan.job import Job
from castplan.materials.cards import pot_life_at
from castplan.materials.fillers import resin_of
from castplan.materials.flow import fill_time_s
from castplan.materials.gate import (
    N_LEVELS,
    NARROW_BORES_MM,
    PREFER_MIN,
    STANDARD_BORES_MM,
    TIP_MM2,
    TRIED_BORES_MM,
    VISCOSITY_SPREAD,
    fill_within,
    head,
)
from castplan.texts.told import clauses, tell

N_LISTED = 5
# High points besides the opened ones that are tried where those would be harmed.
N_OTHERS = 6


def plan_gate(site: GateSite, air: AirResult, job: Job) -> GatePlan:
    """Compare places for the gate and choose one.

    A gate on a high point costs its bore or groove, the fall of the resin into
    the empty cavity, and its stub where it shows or is wider than the part. A
    riser enters low, at the parting: air leads the resin up, but it is one more
    channel, and the highest point needs a vent. The highest point keeps the
    gate unless another place costs clearly less. Where every opened point is
    harmed by a gate (a tip, the face that shows, a knurl, a mark of the shop)
    the other high points are tried too. A long part is also tried with its gate
    half way along: resin has only half as far to run from there.

    Parameters
    ----------
    site : GateSite
    air : AirResult
        As vented with the gate on the highest point.
    job : Job
        `feed` names the kind of gate, `gate_mm` its bore.

    Returns
    -------
    GatePlan
    """
    judge = _Judge(site, air, job)
    # Vents that the shop named are no places for the gate.
    tops = [judge.top(k) for k in (air.opened if job.vents_at is None else air.opened[:1])]
    # A way out that does not climb feeds nothing while there is a better one.
    open_tops = [option for option in tops if option.cost_min < judge.no_way_min] or tops[:1]
    risers = judge.riser() if site.is_parted else []
    others = judge.others() if all(judge.harm_min(option) > PREFER_MIN for option in tops) else []
    along = [] if site.long is None else judge.along(site.long)
    by_cost = sorted(
        [*open_tops, *others, *along, *risers], key=lambda option: round(option.cost_min, 6)
    )
    asked = [option for option in by_cost if option.feed == job.feed]
    if asked:
        chosen, why = asked[0], tell("gate_why.as_asked")
    else:
        chosen, why = _choose(open_tops[0], by_cost)
        if job.feed == "riser":
            why = tell("gate_why.no_riser")
    rest = [option for option in by_cost if option is not chosen]
    # How far resin has to run is asked later: then half way along may be the cheapest.
    late = [option for option in rest[N_LISTED - 1 :] if option in along]
    return GatePlan(
        options=(chosen, *rest[: N_LISTED - 1], *late), is_asked_for=bool(asked), why=why
    )


def _choose(highest, by_cost):
    """The highest point's gate, unless the cheapest option saves enough."""
    best = by_cost[0]
    saved_min = highest.cost_min - best.cost_min
    if best is highest:
        return highest, tell("gate_why.cheapest")
    saved = f"{saved_min:.0f}"
    if saved_min > PREFER_MIN:
        return best, tell("gate_why.saves", saved=saved)
    return highest, tell("gate_why.within_margin", saved=saved, margin=f"{PREFER_MIN:.0f}")


@dataclass(frozen=True, eq=False)
class _Curve:
    """The cavity's volume by height, as the gate's flow sees it."""

    middle_mm: np.ndarray
    volume_ml: np.ndarray
    rim_mm: float  # the cup's surface

    def heads_mm(self, mouth_mm):
        """Head at each level, from a mouth at some height."""
        return self.rim_mm - np.maximum(self.middle_mm, mouth_mm)


class _Judge:
    def __init__(self, site, air, job):
        self.site, self.air, self.job = site, air, job
        self.field, self.guard = site.own, site.guard
        self.block = site.block(air)
        middle, volume = volume_by_height(self.field, n_levels=N_LEVELS)
        scale = site.part_mm3 / 1000 / float(volume.sum())
        self.curve = _Curve(middle, volume * scale, float(self.block.high[2]) + head().value)
        resin = resin_of(job)
        pot_life_min, _, _ = pot_life_at(resin, temperature_c=job.shop_temperature_c)
        self.limit_s = 60 * fill_within().value * pot_life_min * site.share
        self.resin = {
            "viscosity_mpa_s": (1 + VISCOSITY_SPREAD) * resin.viscosity_mpa_s.value,
            "density_g_ml": resin.density_g_ml.value,
        }
        field = self.field
        ends = np.column_stack([field.centre_mm(field.column_of), field.bottom_mm])
        self.low_mm = float((ends @ self.block.true_up).min())
        # Cutting the cast open for its gate and mending it: as dear as a cradle.
        self.no_way_min = 10 * job.air_weights.cradle_min

    def others(self):
        """The gate on high points that need no opening of their own, if a way leads out."""
        air = self.air
        closed = [k for k in range(len(air.peaks)) if k not in air.opened]
        closed = sorted(closed, key=lambda k: (-round(air.peaks[k].height_mm, 6), k))[:N_OTHERS]
        options = [self.top(k) for k in closed if self.job.vents_at is None]
        return [option for option in options if option.cost_min < self.no_way_min]

    def harm_min(self, option):
        """Minutes that a gate costs beyond its making, by where it stands."""
        weights = self.job.air_weights
        return (
            weights.show_up_min * option.show_up_fraction
            + weights.tip_port_min * option.is_on_tip
            + weights.worked_port_min * option.is_on_worked
            + weights.keep_off_min * option.is_marked
        )

    def top(self, k):
        """The gate on a high point."""
        air, peak = self.air, self.air.peaks[k]
        return self._from_above(
            np.asarray(peak.place_mm),
            peak=k,
            width_mm=peak.width_mm,
            vents=[*(j for j in air.opened if j != k)],
            n_extra=len(air.extra_vents_mm) if k in air.opened else self._n_extra_below(),
            is_on_tip=peak.section_mm2 < TIP_MM2,
        )

    def along(self, long):
        """The gate half way along a long part, as a list of one or none."""
        middle = len(long.areas_mm2) // 2
        place = Tops(long, self.field, self.air.frame, self.guard).at(middle)
        option = self._from_above(
            place,
            peak=None,
            width_mm=float(np.sqrt(long.areas_mm2[middle])),
            vents=list(self.air.opened),
            n_extra=self._n_extra_below(),
            is_on_tip=False,
        )
        return [option] if option.cost_min < self.no_way_min else []

    def _from_above(self, place, *, peak, width_mm, **rest):
        """The gate at a place on top of the cavity."""
        weights = self.job.air_weights
        length_mm = float(self.block.high[2] - place[2])
        least_mm, bore_mm = self._bore(place, length_mm, width_mm=width_mm)
        name, path = self.block.way_out(place, bore_mm=bore_mm)
        making = {
            "groove": weights.groove_min,
            "slanted": weights.vent_min + weights.slant_min,
            "sideways": self.no_way_min,
            "none": self.no_way_min,
        }.get(name, weights.vent_min)
        height_mm = self._height(place)
        why = [
            tell(
                "gate_why.top" if peak is not None else "gate_why.along", height=f"{height_mm:.0f}"
            )
        ]
        if name in ("groove", "slanted"):
            why.append(tell(f"gate_why.{name}"))
        return self._option(
            place=place,
            path=self.block.to_draw(path),
            feed="top",
            peak=peak,
            least_mm=least_mm,
            bore_mm=bore_mm,
            width_mm=width_mm,
            drop_mm=height_mm,
            making_min=making,
            why=why,
            **rest,
        )

    def riser(self):
        """The cheapest riser that has room, as a list of one or none."""
        weights = self.job.air_weights
        start = np.array([*self.block.low[:2], self.field.low_mm[2]])
        least_mm, bore_mm = self._bore(start, 1.3 * float(self.block.high[2] - start[2]))
        is_upright = self.block.is_upright
        making = weights.groove_min + (weights.riser_min if is_upright else weights.riser_bored_min)
        long_min = weights.riser_min_per_mm
        tries = []
        for riser in list_risers(self.block, self.site, bore_mm=bore_mm):
            path = self.block.to_rest(riser.path_mm)
            height_mm = self._height(path[0])
            why = [
                tell("gate_why.riser"),
                tell("gate_why.groove") if is_upright else tell("gate_why.foot"),
            ]
            if height_mm > 1.0:
                why.append(tell("gate_why.falls", height=f"{height_mm:.0f}"))
            option = self._option(
                place=path[0],
                path=riser.path_mm,
                feed="riser",
                peak=None,
                least_mm=least_mm,
                bore_mm=bore_mm,
                width_mm=riser.width_mm,
                drop_mm=height_mm,
                making_min=making + long_min * channels.length_of(riser.path_mm),
                vents=list(self.air.opened),
                n_extra=self._n_extra_below(),
                # Thin there it may be, but an edge of the parting is no tip.
                is_on_tip=False,
                why=why,
            )
            tries.append((round(option.cost_min, 3), len(tries), option, path))
        for _, _, option, path in sorted(tries, key=lambda entry: entry[:2]):
            if self.block.is_clear(path, bore_mm=option.bore_mm):
                return [option]
        return []

    def _n_extra_below(self):
        """Extra vents with a riser: the one beside a lonely gate falls away."""
        air = self.air
        is_lonely = not air.vents and air.peaks[air.gate].roof_mm < self.job.vent_pitch_mm
        return 0 if is_lonely else len(air.extra_vents_mm)

    def _option(
        self, *, place, path, feed, peak, least_mm, bore_mm, width_mm, drop_mm, is_on_tip, **rest
    ):
        weights, job, air = self.job.air_weights, self.job, self.air
        exit_mm = self.block.to_rest(path[-1])
        room = np.concatenate([(exit_mm - self.block.low)[:2], (self.block.high - exit_mm)[:2]])
        cup_mm = max(min(job.cup_mm, 2 * float(room.min())), bore_mm)
        show, is_worked, is_marked = self._harm(place, bore_mm)
        n_vents = len(rest["vents"]) + rest["n_extra"]
        channel_ml = np.pi / 4 * bore_mm**2 * channels.length_of(path) / 1000
        cost = rest["making_min"] + weights.drop_min_per_mm * drop_mm
        cost += weights.resin_min_per_ml * channel_ml + rest["n_extra"] * weights.vent_min
        for k in rest["vents"]:
            is_groove = self.block.is_upright and self.block.touches(air.peaks[k].place_mm)
            cost += weights.groove_min if is_groove else weights.vent_min
        why = list(rest["why"])
        if n_vents > job.max_vents and feed == "riser":
            least_mm3 = min(air.peaks[k].air_mm3 for k in rest["vents"])
            cost += least_mm3 / 1000 * weights.left_min_per_ml
            why.append(tell("gate_why.vent_over"))
        if width_mm < bore_mm:
            cost += weights.thin_gate_min
            why.append(tell("gate_why.narrow", width=f"{width_mm:.1f}"))
        for name, applies in (
            ("on_show", show > 0),
            ("on_tip", is_on_tip),
            ("on_worked", is_worked),
            ("marked", is_marked),
        ):
            if applies:
                why.append(tell(f"gate_why.{name}"))
        why.append(tell("gate_why.vents", n=n_vents))
        option = GateOption(
            place_mm=tuple(float(v) for v in place),
            path_mm=path,
            feed=feed,
            peak=peak,
            bore_mm=bore_mm,
            least_bore_mm=least_mm,
            cup_mm=cup_mm,
            drop_mm=drop_mm,
            width_mm=float(width_mm),
            is_on_parting=self.block.touches(place),
            show_up_fraction=show,
            is_on_tip=bool(is_on_tip),
            is_on_worked=is_worked,
            is_marked=is_marked,
            n_vents=n_vents,
            cost_min=0.0,
            why=clauses(why),
        )
        return replace(option, cost_min=float(cost + self.harm_min(option)))

    def _bore(self, mouth, length_mm, *, width_mm=np.inf):
        """Least bore that fills in time, and the one to make: the next that rods come in.

        Into a narrow place goes a narrower one, as long as it fills in time.
        """
        heads = self.curve.heads_mm(float(mouth[2]))

        def is_enough(bore_mm):
            pipe = {"diameter_mm": bore_mm, "length_mm": max(length_mm, 1.0), **self.resin}
            return fill_time_s(self.curve.volume_ml, heads, **pipe) <= self.limit_s

        tried = [float(bore_mm) for bore_mm in TRIED_BORES_MM]
        least_mm = next((bore_mm for bore_mm in tried if is_enough(bore_mm)), tried[-1])
        if self.job.gate_mm is not None:
            return least_mm, self.job.gate_mm
        usual = [bore_mm for bore_mm in STANDARD_BORES_MM if bore_mm >= least_mm]
        if width_mm < (usual or STANDARD_BORES_MM)[0]:
            fits = [bore_mm for bore_mm in NARROW_BORES_MM if least_mm <= bore_mm <= width_mm]
            usual = fits[:1] or usual
        return least_mm, float((usual or STANDARD_BORES_MM[-1:])[0])

    def _height(self, place):
        """Of a place over the lowest point of the part, along true up."""
        return max(float(place @ self.block.true_up) - self.low_mm, 0.0)

    def _harm(self, place, bore_mm):
        """Of a place: share of the face that shows, whether worked, whether marked."""
        if self.guard is None:
            return 0.0, False, False
        spot = self.air.frame.to_part(np.atleast_2d(place))
        return (
            float(self.guard.show_share(spot)[0]),
            bool(self.guard.is_worked(spot, bore_mm=bore_mm)[0]),
            bool(self.guard.is_marked(spot, reach_mm=0.5 * bore_mm)[0]),
        )
