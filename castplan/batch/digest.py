"""What the catalogue says of a plan: plain numbers, sentences and a small picture."""

import math

import numpy as np
import shapely

from castplan import units
from castplan.part.records import Sketch
from castplan.plan_record import Plan
from castplan.split.draw import tie_volume_mm3
from castplan.split.records import RUBBER_VERDICTS
from castplan.words import plan as view
from castplan.words.options import by_controls

# What the rubber does when the mould is opened, from best to worst. A split that
# holds rubber outside every listed pocket is not judged, and ranks as if it might tear.
VERDICTS = ("nothing holds", *RUBBER_VERDICTS[:2], "not judged", *RUBBER_VERDICTS[2:])
# Significant digits kept of a number, as in the plan's own record.
_DIGITS = 6
# Longer side of the picture in its own units; what is smaller than a unit of
# ink on a thumbnail is left away.
PICTURE = 1000
_SMOOTH = 2.0
_SHORTEST = 15.0
_MOST_LINES = 160


@by_controls()
def digest_of(plan: Plan) -> dict:
    """The catalogue's entry for a plan, ready for JSON.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    dict
        Numbers carry their unit in the name and six significant digits.
    """
    worst = view.sorted_findings(plan)[:1]
    buy = plan.bench.buy
    return _plain(
        {
            "part": plan.part.name,
            "size_mm": plan.part.check.extent_mm,
            "part_ml": plan.mould.block.part_ml,
            "draw": plan.split.draw.direction,
            "split": plan.split.line.kind,
            "trapped_ml": units.ml_from_mm3(plan.split.line.trapped_mm3),
            "verdict": verdict_of(plan),
            "pockets": [
                {
                    "number": flex.number,
                    "verdict": flex.verdict,
                    "needs_fraction": flex.stretch_fraction,
                    "allowed_fraction": flex.allowed_fraction,
                }
                for flex in plan.split.flex.pockets
            ],
            "up": plan.air.openings.up,
            "n_vents": len(view.vents(plan)),
            "air_left_ml": units.ml_from_mm3(plan.air.openings.left_mm3),
            "silicone": plan.job.silicone,
            "silicone_g": _card_g(plan, plan.job.silicone, n_times=buy.n_moulds),
            "resin": plan.job.resin,
            "resin_g": _card_g(plan, plan.job.resin),
            "copies": buy.copies,
            "n_moulds": buy.n_moulds,
            "buy": [
                {
                    "card": line.card,
                    "need_a_g": line.need_a_g,
                    "need_b_g": line.need_b_g,
                    "packs": [[pack.name, n] for pack, n in line.packs],
                }
                for line in buy.lines
            ],
            "material_cost": buy.material_cost,
            "cost": buy.total_cost,
            "currency": buy.currency,
            # The schedule is of one mould; the others take their time too.
            "hands_on_min": buy.hands_on_min,
            "worst": [
                {
                    "severity": found.severity,
                    "message": str(found.message),
                    "do": str(found.do),
                }
                for found in worst
            ],
            "findings": sorted({f"{found.severity} {found.code}" for found in plan.findings}),
            "pot": _pot_place(plan),
            "says": view.summary_lines(plan),
            "picture": draw_picture(plan.sketches[0]),
        }
    )


def verdict_of(plan: Plan) -> str:
    """The worst that the rubber does, one of `VERDICTS`."""
    told = [flex.verdict for flex in plan.split.flex.pockets if flex.verdict in VERDICTS]
    if told:
        return max(told, key=VERDICTS.index)
    holds = plan.split.line.trapped_mm3 > tie_volume_mm3(plan.part)
    return "not judged" if holds else VERDICTS[0]


def _card_g(plan, card_id, *, n_times=1):
    """What all moulds and copies take of a material, without patch and trial shot [g]."""
    cups = [cup for cup in plan.bench.weigh.cups if cup.card == card_id]
    return n_times * sum(cup.times * cup.mass_g for cup in cups)


def _pot_place(plan):
    """How the mould stands in the pressure pot, and what resin it takes; None without a pot."""
    fits = [fit for fit in plan.bench.equipment.fits if fit.name == "pressure pot"]
    if not fits:
        return None
    fit = fits[0]
    upright = ("x", "y", "draw").index(fit.way)
    base_mm = [side for axis, side in enumerate(fit.mould_mm) if axis != upright]
    cups = [cup for cup in plan.bench.weigh.cups if cup.card == plan.job.resin]
    limits = {limit.pour: limit.largest_g for limit in plan.bench.weigh.limits}
    return {
        "inner_mm": fit.inner_mm,
        "is_fitting": fit.is_fitting,
        "way": fit.way,
        "need_mm": fit.need_mm,
        "base_mm": base_mm,
        "height_mm": fit.mould_mm[upright],
        # Of A and B alone: what a shared cup is made up to and bought by.
        "resin_g": sum(
            (cup.mass_g - cup.made_up_g) * (1 - cup.filler_g / cup.mass_g) for cup in cups
        ),
        "filler": plan.job.filler if plan.job.filler_fraction else "",
        "filler_fraction": plan.job.filler_fraction,
        "largest_cup_g": min(limits[cup.pour] for cup in cups) if cups else None,
    }


def draw_picture(sketch: Sketch) -> dict:
    """A sketch as SVG path data, y downward, the longer side `PICTURE` units.

    Parameters
    ----------
    sketch : Sketch

    Returns
    -------
    dict
        "width" and "height" of the view box; "outline" and "pockets" as closed
        rings, "lines" as open ones.
    """
    rings = [shapely.LinearRing(ring) for ring in sketch.outline if len(ring) >= 3]
    if not rings:
        return {"width": 0, "height": 0, "outline": "", "lines": "", "pockets": ""}
    x0, y0, x1, y1 = shapely.total_bounds(rings)
    scale = PICTURE / max(x1 - x0, y1 - y0)

    def placed(points):
        return (np.asarray(points) - (x0, y1)) * (scale, -scale)

    lines = [placed(line) for line in sketch.lines if len(line) >= 2]
    lengths = [float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines]
    longest = sorted(range(len(lines)), key=lambda k: (-lengths[k], k))[:_MOST_LINES]
    kept = [lines[k] for k in sorted(longest) if lengths[k] >= _SHORTEST]
    pockets = [placed(ring) for _, ring in sketch.pockets if len(ring) >= 3]
    return {
        "width": math.ceil((x1 - x0) * scale),
        "height": math.ceil((y1 - y0) * scale),
        "outline": "".join(_path(placed(ring.coords), end="Z") for ring in rings),
        "lines": "".join(_path(line) for line in kept),
        "pockets": "".join(_path(ring, end="Z") for ring in pockets),
    }


def _path(points, *, end=""):
    """Path data in whole units, smoothed to what a thumbnail shows."""
    smooth = shapely.get_coordinates(shapely.LineString(points).simplify(_SMOOTH))
    whole = [f"{x:.0f} {y:.0f}" for x, y in np.round(smooth) + 0.0]
    return "M" + "L".join(whole) + end


def _plain(value):
    """Tuples to lists, floats rounded."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, np.generic):
        return _plain(value.item())
    if isinstance(value, float):
        return float(f"{value:.{_DIGITS}g}") + 0.0
    return value
