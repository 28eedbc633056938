"""The planned gate: how long the cavity takes to fill, with the bounds of the viscosity."""

import numpy as np

from castplan.air.records import GatePlan, GateResult
from castplan.columns.heights import volume_by_height
from castplan.geometry.channels import Block
from castplan.job import Job
from castplan.materials.cards import get_card, pot_life_at
from castplan.materials.flow import POUR_RATE_ML_MIN, fill_time_s, pipe_flow
from castplan.materials.gate import (
    N_LEVELS,
    VISCOSITY_SPREAD,
    fill_within,
    head,
    reservoir,
    standing_cup_mm,
)
from castplan.materials.said import said_number
from castplan.mould.records import MouldResult
from castplan.record import Sourced
from castplan.texts.told import tell


def by_hand(mould: MouldResult, job: Job) -> GateResult:
    """Resin poured from its cup into an open mould: no gate, as fast as a hand pours."""
    resin = get_card(job.resin, kind="resin")
    pot_life_min, _, _ = pot_life_at(resin, temperature_c=job.shop_temperature_c)
    seconds = 60 * mould.part_ml / POUR_RATE_ML_MIN["resin"]
    return GateResult(
        bore_mm=0.0,
        least_bore_mm=0.0,
        length_mm=0.0,
        head_mm=0.0,
        fill_low_s=seconds,
        fill_high_s=seconds,
        limit_s=60 * fill_within().value * pot_life_min,
        reynolds=0.0,
        is_laminar=True,
        cup_mm=0.0,
        cup_high_mm=0.0,
        reservoir_ml=0.0,
        assumptions=(),
    )


def find_gate(block: Block, plan: GatePlan, mould: MouldResult, job: Job) -> GateResult:
    """Time the fill through the gate that is planned.

    Parameters
    ----------
    block : Block
        The silicone as the box rests.
    plan : GatePlan
    mould : MouldResult
        With the gate among its ports.
    job : Job

    Returns
    -------
    GateResult
    """
    resin = get_card(job.resin, kind="resin")
    port = next(port for port in mould.ports if port.kind == "gate")
    path = block.to_rest(port.path_mm)
    pot_life_min, _, _ = pot_life_at(resin, temperature_c=job.shop_temperature_c)
    viscosity = resin.viscosity_mpa_s.value
    thin, thick = (1 - VISCOSITY_SPREAD) * viscosity, (1 + VISCOSITY_SPREAD) * viscosity
    middle_mm, volume = volume_by_height(block.field, n_levels=N_LEVELS)
    volume_ml = volume * mould.part_ml / float(volume.sum())
    rim_mm = path[-1, 2] + head().value
    # Resin falls free from a mouth above the level; under it the level pushes back.
    heads_mm = rim_mm - np.maximum(middle_mm, path[0, 2])
    # A way out that does not climb, for want of a better: what lies over it is told, not timed.
    is_fed = heads_mm > 0
    unfed_ml = float(volume_ml[~is_fed].sum())
    if not is_fed.any():
        is_fed, heads_mm = np.ones_like(is_fed), np.full_like(heads_mm, head().value)
    volume_ml, heads_mm = volume_ml[is_fed], heads_mm[is_fed]
    pipe = {
        "diameter_mm": port.diameter_mm,
        "length_mm": max(port.length_mm, 1.0),
        "density_g_ml": resin.density_g_ml.value,
    }

    def seconds(viscosity_mpa_s):
        return fill_time_s(volume_ml, heads_mm, viscosity_mpa_s=viscosity_mpa_s, **pipe)

    fastest = pipe_flow(head_mm=float(heads_mm.max()), viscosity_mpa_s=thin, **pipe)
    reservoir_ml = reservoir().value * (mould.part_ml + mould.ports_ml)
    cup_mm = standing_cup_mm(kept_ml=reservoir_ml, high_mm=head().value, least_mm=port.cup_mm)
    return GateResult(
        bore_mm=port.diameter_mm,
        least_bore_mm=plan.chosen.least_bore_mm,
        length_mm=port.length_mm,
        head_mm=float(heads_mm.min()),
        fill_low_s=seconds(thin),
        fill_high_s=seconds(thick),
        limit_s=60 * fill_within().value * pot_life_min,
        reynolds=fastest.reynolds,
        is_laminar=fastest.is_laminar,
        cup_mm=cup_mm,
        cup_high_mm=head().value,
        reservoir_ml=reservoir_ml,
        unfed_ml=unfed_ml,
        assumptions=(
            fill_within(),
            head(),
            reservoir(),
            said_number("gate_number.cup", value=cup_mm, unit="mm", basis="computed"),
            Sourced(
                value=viscosity,
                low=thin,
                high=thick,
                unit=resin.viscosity_mpa_s.unit,
                basis=resin.viscosity_mpa_s.basis,
                source=tell(
                    "gate_number.viscosity",
                    card=resin.card_id,
                    source=resin.viscosity_mpa_s.source,
                ),
            ),
        ),
    )
