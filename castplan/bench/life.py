"""How many moulds a job takes."""

import math

from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.chemistries import life_with
from castplan.materials.said import said_number
from castplan.record import Sourced

# The first shot of a new mould shows what air and release do (assumed).
TRIAL_SHOTS = 1


def mould_life(job: Job) -> Sourced:
    """Castings from one mould, by the cards of silicone and resin, else as is usual."""
    silicone, resin = get_card(job.silicone, kind="silicone"), get_card(job.resin, kind="resin")
    return life_with(silicone, resin) or said_number(
        "bench_number.mould_life",
        value=20.0,
        unit="casts",
        basis="from memory",
        low=10.0,
        high=50.0,
    )


def count_moulds(job: Job) -> int:
    """Moulds that all castings of a job take.

    Examples
    --------
    >>> count_moulds(Job(copies=21))
    2
    """
    return math.ceil(job.copies / mould_life(job).value)


def share_castings(job: Job) -> tuple[int, ...]:
    """Castings from each mould, the first a casting ahead where they do not share evenly.

    Examples
    --------
    >>> share_castings(Job(copies=45))
    (15, 15, 15)
    """
    n_moulds = count_moulds(job)
    each, more = divmod(job.copies, n_moulds)
    return tuple(each + (number < more) for number in range(n_moulds))
