"""The planned gate: how long the cavity takes to fill, with the bounds of the viscosity."""

from dataclasses import replace

import numpy as np

from castplan.air.records import GatePlan, GateResult
from castplan.columns.heights import volume_by_height
from castplan.geometry.channels import Block
from castplan.job import Job
from castplan.materials.cards import pot_life_at
from castplan.materials.fillers import resin_of
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

# Of a viscosity, what it may be.
_THIN, _THICK = 1 - VISCOSITY_SPREAD, 1 + VISCOSITY_SPREAD


def by_hand(mould: MouldResult, job: Job) -> GateResult:
    """Resin poured from its cup into an open mould: no gate, as fast as a hand pours."""
    resin = resin_of(job)
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
    """Time the fill through the gates that are planned, no faster than a hand pours.

    Parameters
    ----------
    block : Block
        The silicone as the box rests. Its cavities are poured one after the other, and
        their times add up.
    plan : GatePlan
    mould : MouldResult
        With the gate among its ports.
    job : Job

    Returns
    -------
    GateResult
        Bore, length and cup are the first gate's.
    """
    resin = resin_of(job)
    pot_life_min, _, _ = pot_life_at(resin, temperature_c=job.shop_temperature_c)
    viscosity = resin.viscosity_mpa_s.value
    port = _gate_of(mould, 1)
    reservoir_ml = reservoir().value * (mould.part_ml + mould.ports_ml)
    cup_mm = standing_cup_mm(kept_ml=reservoir_ml, high_mm=head().value, least_mm=port.cup_mm)
    return GateResult(
        bore_mm=port.diameter_mm,
        least_bore_mm=plan.chosen.least_bore_mm,
        length_mm=port.length_mm,
        **_flow(block, mould, resin, high_mm=head().value),
        limit_s=60 * fill_within().value * pot_life_min,
        cup_mm=cup_mm,
        cup_high_mm=head().value,
        reservoir_ml=reservoir_ml,
        assumptions=(
            fill_within(),
            head(),
            reservoir(),
            said_number("gate_number.cup", value=cup_mm, unit="mm", basis="computed"),
            Sourced(
                value=viscosity,
                low=_THIN * viscosity,
                high=_THICK * viscosity,
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


def fill_again(gate: GateResult, block: Block, mould: MouldResult, job: Job) -> GateResult:
    """The same gate with the head of the cup that stands on it.

    Parameters
    ----------
    gate : GateResult
        Its cup is as high as it will be.
    block, mould, job
        As for `find_gate`.
    """
    return replace(gate, **_flow(block, mould, resin_of(job), high_mm=gate.cup_high_mm))


def _flow(block, mould, resin, *, high_mm):
    """How fast all cavities fill under a cup so high."""
    fields = block.cavities or (block.field,)
    ports = [_gate_of(mould, cavity) for cavity in range(1, len(fields) + 1)]
    ml_per_mm3 = mould.part_ml / sum(field.volume_mm3 for field in fields)
    fills = [
        _Fill(port, field, block.to_rest(port.path_mm), ml_per_mm3=ml_per_mm3, high_mm=high_mm)
        for port, field in zip(ports, fields, strict=True)
    ]
    viscosity, density = resin.viscosity_mpa_s.value, resin.density_g_ml.value
    fastest = pipe_flow(
        head_mm=max(float(fill.heads_mm.max()) for fill in fills),
        viscosity_mpa_s=_THIN * viscosity,
        density_g_ml=density,
        **fills[0].pipe,
    )
    return {
        "head_mm": min(float(fill.heads_mm.min()) for fill in fills),
        "fill_low_s": sum(fill.seconds(_THIN * viscosity, density) for fill in fills),
        "fill_high_s": sum(fill.seconds(_THICK * viscosity, density) for fill in fills),
        "reynolds": fastest.reynolds,
        "is_laminar": fastest.is_laminar,
        "unfed_ml": sum(fill.unfed_ml for fill in fills),
    }


def _gate_of(mould, cavity):
    """The gate that is poured first of a cavity."""
    return next(port for port in mould.ports if port.kind == "gate" and port.cavity == cavity)


class _Fill:
    """One cavity through its gate: volume and head by the level of the resin."""

    def __init__(self, port, field, path, *, ml_per_mm3, high_mm):
        middle_mm, volume = volume_by_height(field, n_levels=N_LEVELS)
        volume_ml = volume * ml_per_mm3 * field.volume_mm3 / float(volume.sum())
        rim_mm = path[-1, 2] + high_mm
        # Resin falls free from a mouth above the level; under it the level pushes back.
        heads_mm = rim_mm - np.maximum(middle_mm, path[0, 2])
        # A way out that does not climb, for want of a better: what lies over it is told, not timed.
        # Where the cavity is not, rounding leaves something.
        is_cavity = volume_ml > 1e-9 * volume_ml.sum()
        is_fed = (heads_mm > 0) & is_cavity
        self.unfed_ml = float(volume_ml[is_cavity & ~is_fed].sum())
        if not is_fed.any():
            is_fed, heads_mm = is_cavity, np.full_like(heads_mm, high_mm)
        self.volume_ml, self.heads_mm = volume_ml[is_fed], heads_mm[is_fed]
        self.pipe = {"diameter_mm": port.diameter_mm, "length_mm": max(port.length_mm, 1.0)}

    def seconds(self, viscosity_mpa_s, density_g_ml):
        return fill_time_s(
            self.volume_ml,
            self.heads_mm,
            most_ml_s=POUR_RATE_ML_MIN["resin"] / 60,
            viscosity_mpa_s=viscosity_mpa_s,
            density_g_ml=density_g_ml,
            **self.pipe,
        )
