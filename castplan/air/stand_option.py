"""One way to stand a box as it is offered: its numbers, and in words why."""

from castplan import units
from castplan.air.records import AttitudeOption
from castplan.air.stand_bill import StandBill, show_up
from castplan.air.ups import Score
from castplan.geometry.stands import Stand
from castplan.texts.told import clauses, tell

# Air under this, a bubble of 1.2 mm, is past what the columns tell.
NOTHING_MM3 = 1.0


def make_option(stand: Stand, score: Score, bill: StandBill) -> AttitudeOption:
    """A way to stand a box with what it costs.

    Parameters
    ----------
    stand : Stand
    score : Score
        Of its way up.
    bill : StandBill
    """
    frame, job = stand.frame, bill.job
    return AttitudeOption(
        up=tuple(float(v) for v in frame.up),
        rest=stand.rest,
        tilt_deg=stand.tilt_deg,
        toward_deg=stand.toward_deg,
        caught_mm3=score.caught_mm3,
        n_vents=score.n_vents,
        n_grooves=bill.n_grooves(score, stand),
        left_mm3=score.left_mm3,
        small_mm3=score.small_mm3,
        roof_mm=score.roof_mm,
        show_up_fraction=show_up(frame.up, job),
        vents_min=bill.vents_min(score, stand),
        gate_min=bill.gate_min(score, frame.up, stand),
        cost_min=bill.minutes(score, frame.up, stand),
        why=_why(score, stand, bill),
    )


def _why(score, stand, bill):
    job, n_grooves = bill.job, bill.n_grooves(score, stand)
    vents = tell("attitude_why.vents", n=score.n_vents)
    if n_grooves == score.n_vents and n_grooves:
        vents = tell("attitude_why.vents_in_parting", n=n_grooves)
    elif n_grooves:
        vents = tell("attitude_why.some_in_parting", n_vents=score.n_vents, n_grooves=n_grooves)
    if score.n_vents > job.max_vents and score.left_mm3 >= NOTHING_MM3:
        told = {"vents": vents, "allowed": job.max_vents, "left": _ml(score.left_mm3)}
        parts = [tell("attitude_why.too_many", **told)]
    elif score.caught_mm3 >= NOTHING_MM3:
        parts = [tell("attitude_why.air_without", vents=vents, caught=_ml(score.caught_mm3))]
    else:
        parts = [tell("attitude_why.no_air_without", vents=vents)]
    if score.small_mm3 >= 1000 * job.air_left_ml:
        parts.append(tell("attitude_why.small_points", left=_ml(score.small_mm3)))
    if score.roof_mm > job.vent_pitch_mm:
        parts.append(tell("attitude_why.level_roof", length=f"{score.roof_mm:.0f}"))
    if not stand.rest:
        parts.append(tell("attitude_why.cradle"))
    return clauses(parts)


def _ml(volume_mm3):
    return units.digits(volume_mm3 / 1000, 2)
