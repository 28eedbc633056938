"""What to do with the copy that failed: mend it, or use it for something else."""

import math

from castplan.after.cavity import Cavity
from castplan.after.records import Defect, LoggedPour
from castplan.materials.cards import any_card
from castplan.materials.wording import volume_text, weight_text
from castplan.plan_record import Plan
from castplan.texts import code_key
from castplan.texts.told import Told, tell, together

# Mended places are filled over and sanded back (assumed).
OVERFILL = 1.2
# What is open to sound resin and filled, and what is mended otherwise; a soft
# place and a wrong size are not mended.
_FILLED = ("void", "dimple", "short-fill")
_MENDED = ("pinholes", "flash", "step", "warp", "torn-mould")


def use_text(kind: str) -> Told:
    """What a copy with this kind of defect is still good for.

    Parameters
    ----------
    kind : str
        One of `castplan.records.DEFECTS`.
    """
    return tell(f"mend.use_{code_key(kind)}")


def patch_text(plan: Plan, pour: LoggedPour, defect: Defect, cavity: Cavity) -> Told | None:
    """How to mend one defect, with amounts; None where nothing mends it.

    Parameters
    ----------
    plan : Plan
    pour : LoggedPour
    defect : Defect
    cavity : Cavity
    """
    key = code_key(defect.kind)
    if defect.kind not in (*_FILLED, *_MENDED):
        return None
    place = _place_text(defect)
    where = tell(f"mend.at_{key}", place=place) if place else tell(f"mend.somewhere_{key}")
    if defect.kind in _MENDED:
        return tell(f"mend.do_{key}", where=where)
    told = [tell("mend.fill", where=where)]
    volume_ml = _missing_ml(defect, cavity)
    if volume_ml is not None:
        card = any_card(pour.material or plan.job.resin)
        grams = OVERFILL * volume_ml * card.density_g_ml.value
        amounts = {"volume": volume_text(volume_ml), "mass": weight_text(grams)}
        told.append(tell("mend.takes", **amounts) if grams >= 1 else tell("mend.takes_drops"))
    return together([*told, tell("mend.fill_mix")])


def _place_text(defect):
    """Where it was told to be, in a box of several on which part."""
    if defect.part is None:
        return defect.told
    if not defect.told:
        return tell("boxed.part", part=defect.part)
    return tell("boxed.place", part=defect.part, place=defect.told)


def _missing_ml(defect, cavity):
    """Volume to fill: of its width as a ball, else of the air that the plan keeps there."""
    if defect.size_mm is not None:
        return math.pi / 6 * defect.size_mm**3 / 1000
    if defect.where_mm is None:
        return None
    for pocket in cavity.planned:
        if pocket.away_mm(defect.where_mm) <= 2 * cavity.field.pitch_mm:
            return pocket.volume_mm3 / 1000
    return None
