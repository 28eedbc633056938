"""How a block that is cut open may stand: its part is moulded upside down, on its sticks."""

from castplan.air.records import AttitudeResult
from castplan.air.stand_bill import LYING
from castplan.errors import InputError, Option
from castplan.geometry.stands import Stand
from castplan.job import Job


def may_stand(stand: Stand, job: Job) -> bool:
    """Whether the sticks of a part that is poured in one reach the base board straight.

    The side that is up at the pour of resin is the base board of the silicone.

    Parameters
    ----------
    stand : Stand
    job : Job
        Of any other kind of mould every stand will do.
    """
    if not job.is_cut_open:
        return True
    # The wall of a box that is not a rectangle is no board to stand on.
    is_flat = job.box in (None, "rectangle") or stand.rest in LYING
    return bool(stand.rest) and not stand.tilt_deg and is_flat


def refuse_leaning(attitude: AttitudeResult, job: Job) -> None:
    """Refuse a way up that was asked for and brings no face of the box up.

    Raises
    ------
    InputError
        No side of the box would be the board that gate and vents stand on.
    """
    chosen = attitude.options[0]
    is_flat = job.box in (None, "rectangle") or chosen.rest in LYING
    if not chosen.rest or chosen.is_tilted or not is_flat:
        raise InputError(
            Option("--up"),
            found="a way up for which no flat side of the box is up",
            need="one square to a side of the box: in a mould that is cut open the part stands "
            "on that side while the silicone is poured",
            do="Leave it out, or choose another kind of mould.",
        )
