"""Amounts from a tape measure and a jug, before there is a mesh: with how wide the answer is."""

import math

from castplan.errors import InputError
from castplan.materials.cards import get_card
from castplan.mesh import frames
from castplan.model import EstimateResult, Job, Sourced

TAPE_MM = Sourced(
    value=1.0, unit="mm", basis="assumed", source="error of each side by tape, either way"
)
WATER_ERROR = Sourced(
    value=0.03,
    unit="1",
    basis="assumed",
    source="error of a volume by displaced water, either way: common practice, no source",
)
WEIGHT_ERROR = Sourced(
    value=0.08,
    unit="1",
    basis="assumed",
    source="error of a volume from weight and a density out of a table, either way",
)
# Trim parts fill this share of their bounding box (assumed: thin shells at one
# end, solid blocks at the other).
FILL = Sourced(
    value=0.4,
    low=0.1,
    high=0.95,
    unit="1",
    basis="assumed",
    source="share of its bounding box that a part fills, where nothing was measured",
)
PORTS = Sourced(
    value=0.10,
    low=0.05,
    high=0.20,
    unit="1",
    basis="from memory",
    source="resin in gate, cup and vents as a share of the part: a reservoir of 10 %",
)
WASTE = {
    "silicone": Sourced(
        value=0.07,
        low=0.05,
        high=0.10,
        unit="1",
        basis="common practice",
        source="silicone left in cups and on tools, 5 to 10 %: suppliers' public pages, read 2026",
    ),
    "resin": Sourced(
        value=0.12,
        low=0.10,
        high=0.15,
        unit="1",
        basis="from memory",
        source="resin left in cups and spilt, 10 to 15 % besides gate and vents: from memory",
    ),
}


def estimate(*, length_mm: float, width_mm: float, height_mm: float, job: Job) -> EstimateResult:
    """Silicone and resin from three sides, and what the part weighs or pushes aside.

    Parameters
    ----------
    length_mm, width_mm, height_mm : float
        Outer sides of the part [mm], height along the draw.
    job : Job
        `water_ml`, or `original_g` with its density; cards and walls.

    Returns
    -------
    EstimateResult
        Each range takes the worst of all its errors together.

    Raises
    ------
    InputError
        A card is unknown, or the part is larger than its own bounding box.
    """
    silicone = get_card(job.silicone, kind="silicone")
    resin = get_card(job.resin, kind="resin")
    sides_mm = (length_mm, width_mm, height_mm)
    solid_ml = math.prod(sides_mm) / 1000
    part = _part(job, solid_ml)
    if part.low > solid_ml * 1.001:
        raise InputError(
            "the part's volume",
            found=f"{part.value:.4g} ml",
            need=f"less than its bounding box, {solid_ml:.4g} ml",
            do="Measure sides and water again, and look at the units.",
        )
    wall_mm = frames.wall_for(job, longest_mm=max(sides_mm))
    more_mm = (2 * wall_mm, 2 * wall_mm, job.over_mm + job.under_mm)

    def box_ml(error_mm):
        return math.prod(s + m + error_mm for s, m in zip(sides_mm, more_mm, strict=True)) / 1000

    low_ml, high_ml = box_ml(-TAPE_MM.value), box_ml(TAPE_MM.value)
    void = (box_ml(0) - part.value, low_ml - part.high, high_ml - part.low)
    filled = tuple(
        volume * (1 + ports) for volume, ports in zip(_ends(part), _ends(PORTS), strict=True)
    )
    guess_ml = (box_ml(0) - solid_ml) * (1 + WASTE["silicone"].value)
    return EstimateResult(
        box_mm=tuple(side + more for side, more in zip(sides_mm, more_mm, strict=True)),
        wall_mm=wall_mm,
        part_ml=part,
        silicone_g=_mass(void, silicone),
        resin_g=_mass(filled, resin),
        bounding_box_g=guess_ml * silicone.density_g_ml.value,
        assumptions=(
            TAPE_MM,
            WATER_ERROR if job.water_ml is not None else WEIGHT_ERROR if _is_weighed(job) else FILL,
            PORTS,
            *WASTE.values(),
        ),
    )


def _is_weighed(job):
    return job.original_g is not None and job.original_density_g_ml is not None


def _part(job, solid_ml):
    if job.water_ml is not None:
        measured_ml, error, how = job.water_ml, WATER_ERROR, "displaced water"
    elif _is_weighed(job):
        measured_ml, error = job.original_g / job.original_density_g_ml, WEIGHT_ERROR
        how = "weight over density; a hollow original is larger"
    else:
        return Sourced(
            value=solid_ml * FILL.value,
            low=solid_ml * FILL.low,
            high=solid_ml * FILL.high,
            unit="ml",
            basis="assumed",
            source=FILL.source,
        )
    return Sourced(
        value=measured_ml,
        low=measured_ml * (1 - error.value),
        high=measured_ml * (1 + error.value),
        unit="ml",
        basis="measured",
        source=how,
    )


def _ends(number):
    return number.value, number.low, number.high


def _mass(volumes_ml, card):
    """Grams to mix, with waste: value, low, high."""
    density = card.density_g_ml
    densities = (density.value, density.low or density.value, density.high or density.value)
    value, low, high = (
        volume * (1 + waste) * each
        for volume, waste, each in zip(volumes_ml, _ends(WASTE[card.kind]), densities, strict=True)
    )
    return Sourced(
        value=value,
        low=low,
        high=high,
        unit="g",
        basis="computed",
        source="volume, waste and density, each at its end",
    )
