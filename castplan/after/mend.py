"""What to do with the copy that failed: mend it, or use it for something else."""

import math

from castplan.after.cavity import Cavity
from castplan.materials.cards import any_card
from castplan.materials.wording import volume_text, weight_text
from castplan.model import Defect, LoggedPour, Plan

# Mended places are filled over and sanded back (assumed).
OVERFILL = 1.2
USES = {
    "void": "Once filled it serves everywhere; unfilled for trial fits: its outside sizes hold.",
    "dimple": "Once filled it serves everywhere; unfilled for trial fits and drilling jigs.",
    "pinholes": "For trial fits and as a paint sample after two coats of filler.",
    "short-fill": "For a trial fit of the part that filled, and to try drills and screws on.",
    "soft": "For nothing that carries or touches skin; keep a piece to see whether it hardens.",
    "flash": "For everything, once trimmed; check the sizes across the seam.",
    "step": "For trial fits; for show only after the step is filed and filled.",
    "torn-mould": "The copy itself for everything once its flap is cut off; the mould after a "
    "mend and a trial.",
    "warp": "For paint and colour trials; for fit only if it goes flat again on a warm plate.",
    "off-size": "For paint and colour trials; not for fit.",
}


def patch_text(plan: Plan, pour: LoggedPour, defect: Defect, cavity: Cavity) -> str | None:
    """How to mend one defect, with amounts; None where nothing mends it.

    Parameters
    ----------
    plan : Plan
    pour : LoggedPour
    defect : Defect
    cavity : Cavity
    """
    place = f" at {defect.told}" if defect.told else ""
    name = defect.kind.capitalize().replace("-", " ")
    if defect.kind in ("void", "dimple", "short-fill"):
        volume_ml = _missing_ml(defect, cavity)
        amount = ""
        if volume_ml is not None:
            card = any_card(pour.material or plan.job.resin)
            grams = OVERFILL * volume_ml * card.density_g_ml.value
            amount = " It takes a few drops."
            if grams >= 1:
                amount = f" It takes about {volume_text(volume_ml)}, {weight_text(grams)} of mix."
        return (
            f"{name}{place}: open it to sound resin, roughen, dam it with tape, fill it "
            f"with the same resin a little proud, sand back.{amount} Mix the smallest sensible "
            "cup all the same and pour the rest away cured."
        )
    return {
        "pinholes": f"{name}{place}: fill with a thin coat of body filler, sand, prime.",
        "flash": f"{name}{place}: cut it off with a sharp knife held flat, scrape, sand.",
        "step": f"{name}{place}: file the high side down, fill the low side, sand.",
        "warp": f"{name}{place}: lay it on a flat plate under weight in warm water, well under the "
        "heat limit on its card, and let it cool there.",
        "torn-mould": f"{name}{place}: clean with alcohol, glue the tear with the same "
        "silicone, clamp between boards until it has cured.",
    }.get(defect.kind)


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
