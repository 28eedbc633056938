"""An insert in the copy, in words: the same on terminal and sheet."""

from castplan import units
from castplan.after.records import Clearance
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words.formats import behind

_WALLS = {
    "cut-through": "clearance.cut_through",
    "too-thin": "clearance.too_thin",
    "thin": "clearance.thin",
}


def clearance_lines(found: Clearance, plan: Plan) -> list[str]:
    """Where it breaks through, what wall is left, keep-outs, bed."""
    lines = [_place(found)]
    lines += [_break(number, piece) for number, piece in enumerate(found.breaks, start=1)]
    if not found.breaks:
        lines.append(say("clearance.no_break"))
    if found.flush_mm2 > 0:
        lines.append(say("clearance.flush", area=f"{units.digits(found.flush_mm2, 3)} mm2"))
    lines.append(_wall(found))
    lines += [_keep(keep) for keep in found.keeps]
    if found.bed_mm > 0:
        lines.append(
            say(
                "clearance.bed",
                volume=f"{units.digits(found.bed_ml, 2)} ml",
                mass=f"{units.digits(found.bed_g, 2)} g",
                resin=plan.job.resin,
                gap=f"{found.bed_mm:g} mm",
            )
        )
    shrinkage = plan.bench.fit.shrinkage
    lines.append(
        say(
            "clearance.sizes",
            shrinkage=f"{units.digits(100 * shrinkage.value, 2)} %{behind(shrinkage.basis)}",
        )
    )
    return lines


def _place(found):
    told = {
        "name": found.name,
        "place": _triple(found.at_mm),
        "inside": f"{units.digits(found.inside_ml, 3)} ml",
        "whole": f"{units.digits(found.insert_ml, 3)} ml",
    }
    if any(found.turn_deg):
        return say("clearance.turned", **told, turns=_triple(found.turn_deg))
    return say("clearance.place", **told)


def _triple(values):
    return ", ".join(f"{value:g}" for value in values)


def _spot(place_mm):
    return ", ".join(f"{value:.1f}" for value in place_mm)


def _break(number, piece):
    text = say(
        "clearance.break",
        out=f"{piece.out_mm:.2f} mm",
        place=_spot(piece.place_mm),
        volume=f"{units.digits(piece.volume_ml, 2)} ml",
        mouth=f"{units.digits(piece.mouth_mm2, 3)} mm2",
    )
    return f"{number}  {text}"


def _wall(found):
    if found.wall == "none":
        return say("clearance.no_wall")
    told = {"wall": f"{found.least_wall_mm:.2f} mm", "place": _spot(found.wall_at_mm)}
    if found.bed_mm > 0:
        left = found.least_wall_mm - found.bed_mm
        wall = say("clearance.wall_by_bed", **told, left=f"{max(left, 0.0):.2f} mm")
    else:
        wall = say("clearance.wall", **told)
    key = _WALLS.get(found.wall)
    return f"A  {say(key, wall=wall) if key else f'{wall}.'}"


def _keep(keep):
    if keep.is_touched:
        return say(
            "clearance.touched",
            name=keep.name,
            volume=f"{units.digits(1000 * keep.overlap_ml, 2)} mm3",
        )
    return say("clearance.untouched", name=keep.name, away=f"{keep.away_mm:.2f} mm")
