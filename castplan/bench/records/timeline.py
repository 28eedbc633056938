"""The steps on the clock."""

from castplan.record import record


@record
class Task:
    """A step at its time, minutes from the start of the job.

    Hands are busy from `start_min` to `hands_end_min`; it is done at
    `end_min`, after its waiting. `slack_min` is how much working time there is
    until it must start, if the last task is not to end later and hands take all
    in this order.
    """

    step: int
    mould: int  # 1 for the first
    copy: int  # 0 for steps of the mould
    label: str
    start_min: float
    hands_end_min: float
    end_min: float
    slack_min: float
    is_critical: bool


@record
class TimelineResult:
    """All tasks for all moulds and castings, one pair of hands.

    `start` is the shop's wish as ``YYYY-MM-DD HH:MM``, or None: then the job
    starts at the beginning of a working day. `finish_min` is of all, `tasks`
    are those of the first `n_told_copies` castings and of their moulds.
    """

    start: str | None
    first_start_h: float  # hour of the day at which minute 0 lies
    day_start_h: float
    day_end_h: float
    n_moulds: int
    n_copies: int
    n_told_copies: int
    finish_min: float
    tasks: tuple[Task, ...]
