"""The steps on the clock."""

from castplan.record import record


@record
class Task:
    """A step at its time, minutes from the start of the job.

    Hands are busy from `start_min` to `hands_end_min`; it is done at
    `end_min`, after its waiting. `slack_min` is how much later it could start
    without the last task ending later, hands permitting.
    """

    step: int
    copy: int  # 0 for steps of the mould
    label: str
    start_min: float
    hands_end_min: float
    end_min: float
    slack_min: float
    is_critical: bool


@record
class TimelineResult:
    """All tasks for one mould and its copies, one pair of hands.

    `start` is the shop's wish as ``YYYY-MM-DD HH:MM``, or None: then the job
    starts at the beginning of a working day.
    """

    start: str | None
    first_start_h: float  # hour of the day at which minute 0 lies
    day_start_h: float
    day_end_h: float
    n_copies: int
    finish_min: float
    tasks: tuple[Task, ...]
