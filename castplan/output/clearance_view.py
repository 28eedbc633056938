"""An insert in the copy, in words: the same on terminal and sheet."""

from castplan.model import Clearance, Plan
from castplan.output.formats import mark

# Walls of a casting: 1 mm is good, half of it on tiny areas (suppliers' public pages).
THIN_MM, LEAST_MM = 1.0, 0.5


def clearance_lines(found: Clearance, plan: Plan) -> list[str]:
    """Where it breaks through, what wall is left, keep-outs, bed."""
    lines = [_place(found)]
    lines += [_break(number, piece) for number, piece in enumerate(found.breaks, start=1)]
    if not found.breaks:
        lines.append("It breaks through nowhere.")
    if found.flush_mm2 > 0:
        lines.append(f"It lies flush in the surface over {found.flush_mm2:.3g} mm2 [c].")
    lines.append(_wall(found))
    lines += [_keep(keep) for keep in found.keeps]
    if found.bed_mm > 0:
        lines.append(
            f"Bed it with {found.bed_ml:.2g} ml [c] ({found.bed_g:.2g} g [c] of "
            f"{plan.job.resin}): a gap of {found.bed_mm:g} mm all round, waste not counted."
        )
    shrinkage = plan.fit.shrinkage
    lines.append(
        f"The copy is taken at the mesh's size; it comes out {100 * shrinkage.value:.2g} % "
        f"{mark(shrinkage.basis)} smaller. Sizes are of the meshes, exact up to rounding."
    )
    return lines


def _place(found):
    x, y, z = found.at_mm
    turn = ""
    if any(found.turn_deg):
        turn = ", turned {:g}, {:g}, {:g} degrees about x, y, z".format(*found.turn_deg)
    return (
        f"{found.name} at {x:g}, {y:g}, {z:g} mm{turn}: {found.inside_ml:.3g} ml [c] of its "
        f"{found.insert_ml:.3g} ml lie in the copy and are cut away."
    )


def _break(number, piece):
    x, y, z = piece.place_mm
    return (
        f"{number}  It breaks through and stands out by {piece.out_mm:.2f} mm [c] at "
        f"{x:.1f}, {y:.1f}, {z:.1f}; {piece.volume_ml:.2g} ml outside, a mouth of "
        f"{piece.mouth_mm2:.3g} mm2."
    )


def _wall(found):
    if found.least_wall_mm is None:
        return "No wall is left to measure: nothing outside faces the way the insert does."
    x, y, z = found.wall_at_mm
    left = found.least_wall_mm - found.bed_mm
    text = f"A  Least wall {found.least_wall_mm:.2f} mm [c] at {x:.1f}, {y:.1f}, {z:.1f}"
    if found.bed_mm > 0:
        text += f", {max(left, 0.0):.2f} mm once the gap for the bed is cut"
    if left <= 0:
        return f"{text}: the gap cuts through."
    if left < LEAST_MM:
        return f"{text}: too thin to hold."
    return f"{text}: thin, handle with care." if left < THIN_MM else f"{text}."


def _keep(keep):
    if keep.is_touched:
        return f"Keep-out {keep.name}: touched, {1000 * keep.overlap_ml:.2g} mm3 [c] of it."
    return f"Keep-out {keep.name}: untouched, {keep.away_mm:.2f} mm [c] away."
