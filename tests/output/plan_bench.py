"""Cups, times, sizes, heat and prices of the hand-made plan; its packs and prices are INVENTED."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np

from castplan import records
from castplan.bench.buy import plan_buying
from castplan.bench.compat import check_compat
from castplan.bench.fit import predict_fit
from castplan.bench.heat import adiabatic_rise, warmth_of
from castplan.bench.timeline import set_times
from castplan.bench.weigh import size_cups
from castplan.materials.cards import get_card

SHOP = records.Shop(
    currency="EUR",
    hourly_rate=45.0,
    packs=(
        records.Pack(
            name="1 kg kit",
            card="silicone-tin-25a",
            part="kit",
            mass_g=1050.0,
            price=32.5,
            shelf_life_months=12.0,
        ),
        records.Pack(
            name="0.5 kg kit", card="polyurethane-fast-70d", part="kit", mass_g=500.0, price=16.0
        ),
    ),
    uses=(("clay", "sulphur"), ("gloves", "latex"), ("release", "petroleum-jelly")),
)
GAUGES = (
    records.Gauge(name="screw spacing", length_mm=64.0, tolerance_mm=0.2),
    records.Gauge(name="tip", length_mm=12.7, tolerance_class="m"),
)


def make_water() -> records.WaterCheck:
    """The original in water, which holds a little less than its mesh."""
    return records.WaterCheck(
        method="water",
        measured_ml=94.0,
        low_ml=0.97 * 94.0,
        high_ml=1.03 * 94.0,
        computed_ml=98.4,
        difference_fraction=94.0 / 98.4 - 1,
        is_contradicted=True,
        uses="mesh",
        causes=("the scan's scale: every length would be 1.5 % too large",),
    )


def bench_records(part, split, amounts, schedule, job) -> SimpleNamespace:
    """What the bench makes of it, by the names that it has in the plan."""
    job = replace(job, shop=SHOP, gauges=GAUGES, place="on-deck", start="2026-12-01 08:00")
    weigh = size_cups(amounts, part, split, job)
    return SimpleNamespace(
        weigh=weigh,
        timeline=set_times(schedule, job),
        fit=predict_fit(part, job),
        heat=_heat(job, weigh),
        compat=check_compat(job),
        buy=plan_buying(weigh, schedule, job),
    )


def _heat(job, weigh):
    card = get_card(job.resin, kind="resin")
    rows, columns = np.mgrid[0:28, 0:48]
    is_part = (np.abs(rows - 14) < 12) & (np.abs(columns - 24) < 22)
    return records.HeatResult(
        rise_c=adiabatic_rise(card),
        peak_c=adiabatic_rise(card),
        thin_c=adiabatic_rise(card),
        cup_c=adiabatic_rise(card),
        largest_cup_g=weigh.cups[-1].mass_g,
        limit_mm=None,
        limit_basis=None,
        cast_g=18.0,
        thickest_mm=11.4,
        thickest_at_mm=(30.0, 35.0, 12.0),
        over_limit_fraction=0.0,
        thickness_mm=np.where(is_part, 2.0 + 0.2 * columns, 0.0),
        cell_mm=2.5,
        low_mm=(0.0, 0.0),
        softens_c=card.heat_limit_c,
        place=job.place,
        place_c=warmth_of(job.place),
    )
