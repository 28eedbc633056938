"""Where to pour, how wide, how long it takes: laminar pipe flow with its bounds."""

import numpy as np

from castplan.columns import surface
from castplan.columns.field import ColumnField
from castplan.materials.cards import get_card, pot_life_at
from castplan.materials.flow import pipe_flow
from castplan.mesh import frames
from castplan.model import (
    AirResult,
    Frame,
    GateOption,
    GateResult,
    Job,
    MouldResult,
    PartingLine,
    Sourced,
)

# Viscosity climbs while the resin cures, and the card gives a class.
VISCOSITY_SPREAD = 0.5
FILL_WITHIN = Sourced(
    value=0.25,
    unit="1",
    basis="assumed",
    source="share of the pot life in which the cavity should be full; mixing takes another share",
)
HEAD = Sourced(
    value=25.0,
    unit="mm",
    basis="from memory",
    source="cup's rim over the highest point of the cavity or the top of the box",
)
RESERVOIR = Sourced(
    value=0.10,
    unit="1",
    basis="from memory",
    source="share of the shot that stays in the cup and feeds the shrinking cast",
)
BORES_MM = np.arange(3.0, 20.5, 0.5)
GROOVE_MM = 2.0
# Resin that falls free folds air in; each fallen millimetre as minutes (assumed).
DROP_MIN_PER_MM = 0.05
RISER_MIN = 8.0  # a second channel to cut or to lay (assumed)
N_STEPS = 200


def find_gate(
    field: ColumnField,
    air: AirResult,
    mould: MouldResult,
    line: PartingLine,
    draw_frame: Frame,
    job: Job,
) -> GateResult:
    """Score places for the gate, and time the fill through the one that is planned.

    Parameters
    ----------
    field : ColumnField
        The part along up as the box rests.
    air, mould, line : records
    draw_frame : Frame
    job : Job

    Returns
    -------
    GateResult
        The planned gate is the first option fed from the top; a riser that
        costs less stands before it.
    """
    resin = get_card(job.resin, kind="resin")
    gate = next(port for port in mould.ports if port.kind == "gate")
    cavity_ml = mould.part_ml
    pot_life_min, _, _ = pot_life_at(resin, temperature_c=job.shop_temperature_c)
    limit_s = 60 * FILL_WITHIN.value * pot_life_min
    viscosity = resin.viscosity_mpa_s.value
    thin, thick = (1 - VISCOSITY_SPREAD) * viscosity, (1 + VISCOSITY_SPREAD) * viscosity
    pipe = {
        "length_mm": max(gate.length_mm, 1.0),
        "head_mm": gate.length_mm + HEAD.value,
        "density_g_ml": resin.density_g_ml.value,
    }

    def flow(bore_mm, viscosity_mpa_s):
        return pipe_flow(diameter_mm=bore_mm, viscosity_mpa_s=viscosity_mpa_s, **pipe)

    enough = [d for d in BORES_MM if cavity_ml / flow(d, thick).rate_ml_s <= limit_s]
    bore_mm = gate.diameter_mm
    fast = flow(bore_mm, thin)
    return GateResult(
        options=_options(field, air, line, draw_frame, job),
        bore_mm=bore_mm,
        least_bore_mm=float(enough[0]) if enough else float(BORES_MM[-1]),
        length_mm=gate.length_mm,
        head_mm=pipe["head_mm"],
        fill_low_s=cavity_ml / fast.rate_ml_s,
        fill_s=cavity_ml / flow(bore_mm, viscosity).rate_ml_s,
        fill_high_s=cavity_ml / flow(bore_mm, thick).rate_ml_s,
        limit_s=limit_s,
        reynolds=fast.reynolds,
        is_laminar=fast.is_laminar,
        cup_mm=job.cup_mm,
        cup_high_mm=HEAD.value,
        reservoir_ml=RESERVOIR.value * (cavity_ml + mould.ports_ml),
        assumptions=(
            FILL_WITHIN,
            HEAD,
            RESERVOIR,
            Sourced(
                value=job.cup_mm,
                low=15.0,
                high=25.0,
                unit="mm",
                basis="from memory",
                source="mouth of the gate's cup",
            ),
            Sourced(
                value=viscosity,
                low=thin,
                high=thick,
                unit=resin.viscosity_mpa_s.unit,
                basis=resin.viscosity_mpa_s.basis,
                source=f"viscosity of {resin.card_id}, half as much more or less while it cures: "
                f"{resin.viscosity_mpa_s.source}",
            ),
        ),
    )


def _options(field, air, line, draw_frame, job):
    places = [
        (np.asarray(air.peaks[k].place_mm), "top", air.peaks[k].width_mm)
        for k in (air.gate, *air.vents)
    ]
    lowest = int(np.argmin(field.bottom_mm))
    xy = field.centre_mm(field.column_of[[lowest]])[0]
    bottom = np.array([*xy, field.bottom_mm[lowest]])
    places.append((bottom, "riser", float(field.top_mm[lowest] - field.bottom_mm[lowest])))
    options = [_judge(*place, air, line, draw_frame, field, job) for place in places]
    return tuple(sorted(options, key=lambda option: round(option.cost_min, 6))[:5])


def _judge(place, feed, width_mm, air, line, draw_frame, field, job):
    weights = job.air_weights
    at = draw_frame.to_frame(air.frame.to_part(place))
    sheet = line.surface
    parting_mm = float(surface.read(sheet.x_mm, sheet.y_mm, sheet.heights_mm, at[:2]))
    climbs = abs(float((draw_frame.rotation @ air.frame.up)[2])) < 0.5
    on_parting = abs(at[2] - parting_mm) <= GROOVE_MM
    drop_mm = 0.0 if feed == "riser" else float(place[2] - field.low_mm[2])
    show = _show(place, air, field, job)
    cost = weights.groove_min if on_parting and climbs else weights.vent_min
    cost += DROP_MIN_PER_MM * drop_mm + weights.show_up_min * show
    why = []
    if feed == "riser":
        cost += RISER_MIN if climbs and on_parting else 2 * RISER_MIN
        why.append("fed from below: air leads the resin up, one more channel to make")
    else:
        why.append(f"fed from the top: falls {drop_mm:.0f} mm at first")
    if on_parting and climbs:
        why.append("in the parting, no drilling")
    if width_mm < job.gate_mm:
        cost += weights.vent_min
        why.append(f"only {width_mm:.1f} mm wide there")
    if show > 0:
        why.append("on the side of the show face")
    return GateOption(
        place_mm=tuple(float(v) for v in place),
        feed=feed,
        drop_mm=drop_mm,
        width_mm=float(width_mm),
        is_on_parting=bool(on_parting),
        show_up_fraction=show,
        cost_min=float(cost),
        why="; ".join(why),
    )


def _show(place, air, field, job):
    """How far on the show side of the part a place lies, 0 to 1."""
    if job.show_face is None:
        return 0.0
    out = air.frame.rotation @ frames.unit(job.show_face)
    middle = 0.5 * (field.low_mm + field.high_mm)
    half = 0.5 * float(np.abs(out) @ (field.high_mm - field.low_mm))
    return float(np.clip((place - middle) @ out / half, 0.0, 1.0))
