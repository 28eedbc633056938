"""Whether the part floats in the silicone, and what must hold it."""

from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.mould.records import HoldDown, MouldResult
from castplan.texts.told import tell


def weigh_lift(mould: MouldResult, job: Job, *, part_mm3: float) -> HoldDown:
    """Lift on the part in grams of force, if silicone gets under it.

    Archimedes: the weight of the silicone that the part displaces, less its
    own. As long as the part lies sealed on clay or board nothing lifts it;
    this is what its hold must bear once silicone creeps beneath.

    Parameters
    ----------
    mould : MouldResult
        The part with its closed voids.
    job : Job
        The part's weight, else its density; without both the lift is that on
        a part without weight.
    part_mm3 : float
        Solid of the part without its closed voids.

    Returns
    -------
    HoldDown
    """
    density = get_card(job.silicone, kind="silicone").density_g_ml.value
    displaced_g = mould.part_ml * density
    part_g, basis = None, tell("hold_down.not_known")
    if job.original_g is not None:
        part_g, basis = job.original_g, tell("hold_down.weighed")
    elif job.original_density_g_ml is not None:
        part_g = job.original_density_g_ml * part_mm3 / 1000
        basis = tell("hold_down.from_density", density=f"{job.original_density_g_ml:g}")
    return HoldDown(
        displaced_g=displaced_g,
        part_g=part_g,
        lift_g=max(displaced_g - (part_g or 0.0), 0.0),
        is_floating=None if part_g is None else part_g < displaced_g,
        weight_basis=basis,
    )
