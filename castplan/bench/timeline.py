"""The steps on the clock: one pair of hands, working days, waits that run beside other work."""

import datetime
import itertools
from dataclasses import dataclass

from castplan.bench.records import ScheduleResult, Step, Task, TimelineResult
from castplan.errors import InputError
from castplan.job import WEEKDAYS, Job, Shop
from castplan.materials.cards import get_card
from castplan.materials.chemistries import mould_life

DAY_MIN = 24 * 60.0
START_FORM = "%Y-%m-%d %H:%M"
# A step waits for the one before it, except for these: the original is coated
# while the test patch cures, and no silicone is weighed before the patch is signed.
INSTEAD = {"release": "seal"}
ALSO = {"weigh": "patch"}
# What the next step must follow at once: the cup is setting.
GLUED = ("weigh", "mix")
# The mould is free again when the cast is out, however long the cast then rests.
FREES_MOULD = "out"


@dataclass
class _Work:
    """One go of hands: a step, or two that must not be parted."""

    steps: list[tuple[Step, float, float]]  # step, hands-on, wait
    copy: int
    after: list[tuple[int, bool]]  # work before it, whether only its hands have to end
    start: float = -1.0
    binding: int | None = None

    @property
    def hands(self):
        return sum(hands for _, hands, _ in self.steps)

    @property
    def hands_end(self):
        return self.start + self.hands

    @property
    def end(self):
        return self.hands_end + self.steps[-1][2]


@dataclass(frozen=True, kw_only=True)
class _Days:
    """When hands work: hours of the day, and which days, minutes from the start of the job.

    Free days are kept where the start is a date; without one nobody knows which
    day of the week it is. A shop that is open all day works through.
    """

    first_min: float  # hour of the day at which minute 0 lies
    opens_min: float
    closes_min: float
    start: datetime.date | None
    shop: Shop

    def is_free(self, n_days: int) -> bool:
        """Whether nobody works so many days after the start."""
        if self.start is None:
            return False
        day = self.start + datetime.timedelta(days=n_days)
        is_off = WEEKDAYS[day.weekday()] in self.shop.free_days
        return is_off or day.isoformat() in self.shop.holidays

    def earliest(self, at_min: float, hands_min: float) -> float:
        """The first time from then on at which hands can do this within a working day."""
        long_min = self.closes_min - self.opens_min
        if long_min >= DAY_MIN:
            return at_min
        n_days, clock = divmod(self.first_min + at_min, DAY_MIN)
        n_days = int(n_days)
        opens = self.opens_min - 1e-9
        # Work longer than a day starts with the day and runs over.
        is_long = hands_min > long_min and clock < self.opens_min + 1e-9
        is_over = clock + hands_min > self.closes_min + 1e-9 and not is_long
        if clock >= opens and not is_over and not self.is_free(n_days):
            return at_min
        if clock >= opens:
            n_days += 1
        while self.is_free(n_days):
            n_days += 1
        return n_days * DAY_MIN + self.opens_min - self.first_min


def set_times(schedule: ScheduleResult, job: Job) -> TimelineResult:
    """Give every step its time.

    Of the work that is ready the one that can start first is done first; hands
    do one thing at a time and only within the working day, cures run on; on free
    days of a dated job hands rest. This
    is a plan that works, not the shortest possible. It covers one mould and as
    many copies as that mould gives.

    Parameters
    ----------
    schedule : ScheduleResult
    job : Job
        Start, working hours, copies.

    Returns
    -------
    TimelineResult

    Raises
    ------
    InputError
        The start is no date and time, the working day has no hours, or no day is worked on.
    """
    start = _start(job)
    first_h = job.shop.day_start_h if start is None else start.hour + start.minute / 60
    days = _Days(
        first_min=first_h * 60,
        opens_min=job.shop.day_start_h * 60,
        closes_min=job.shop.day_end_h * 60,
        start=None if start is None else start.date(),
        shop=job.shop,
    )
    silicone, resin = get_card(job.silicone, kind="silicone"), get_card(job.resin, kind="resin")
    life = mould_life(silicone, resin)
    n_copies = job.copies if life is None else min(job.copies, int(life.value))
    works = _list_work(schedule, job.copies, n_copies)
    order = _place(works, days)
    finish = max((work.end for work in works), default=0.0)
    latest = _latest_starts(works, order, finish)
    critical = _critical(works, finish)
    tasks = []
    for index in order:
        work, at_min = works[index], works[index].start
        for step, hands, wait in work.steps:
            tasks.append(
                Task(
                    step=step.number,
                    copy=work.copy,
                    label=step.kind,
                    start_min=at_min,
                    hands_end_min=at_min + hands,
                    end_min=at_min + hands + wait,
                    slack_min=latest[index] - work.start,
                    is_critical=index in critical,
                )
            )
            at_min += hands
    return TimelineResult(
        start=None if start is None else start.strftime(START_FORM),
        first_start_h=first_h,
        day_start_h=job.shop.day_start_h,
        day_end_h=job.shop.day_end_h,
        n_copies=n_copies,
        finish_min=finish,
        tasks=tuple(tasks),
    )


def _start(job: Job) -> datetime.datetime | None:
    shop = job.shop
    if not 0 <= shop.day_start_h < shop.day_end_h <= 24:
        raise InputError(
            "working day",
            found=f"{shop.day_start_h:g} to {shop.day_end_h:g} h",
            need="a start before its end, within 0 and 24 h",
            do="Mend day_start_h and day_end_h in the shop file.",
        )
    if set(WEEKDAYS) <= set(shop.free_days):
        raise InputError(
            "free days",
            found="every day of the week",
            need="one day at least on which you work",
            do="Mend free_days in the shop file.",
        )
    if job.start is None:
        return None
    try:
        return datetime.datetime.strptime(job.start, START_FORM)
    except ValueError:
        raise InputError(
            "start",
            found=repr(job.start),
            need="a day and a time",
            do='Write for example "2026-12-01 08:00".',
        ) from None


def _list_work(schedule, n_planned, n_copies):
    works: list[_Work] = []
    by_kind: dict[tuple[str, int], int] = {}

    def add(step, hands, wait, copy, after):
        previous = works[-1].steps[-1][0].kind if works else ""
        if previous in GLUED and works[-1].copy == copy:
            works[-1].steps.append((step, hands, wait))
        else:
            works.append(_Work(steps=[(step, hands, wait)], copy=copy, after=after))
        by_kind[step.kind, copy] = len(works) - 1

    def before(step):
        wanted = INSTEAD.get(step.kind)
        first = by_kind.get((wanted, 0), len(works) - 1)
        extra = [by_kind[key] for key in [(ALSO.get(step.kind), 0)] if key in by_kind]
        return [(index, False) for index in dict.fromkeys([first, *extra]) if index >= 0]

    cycle = [step for step in schedule.steps if step.is_per_copy]
    is_cast = False
    for step in schedule.steps:
        if not step.is_per_copy:
            after = before(step)
            if is_cast:  # what comes last waits for every copy
                after = [(by_kind[cycle[-1].kind, copy], False) for copy in range(1, n_copies + 1)]
            add(step, step.hands_on_min, step.wait_min, 0, after)
        elif not is_cast:
            is_cast = True
            mould_done = len(works) - 1
            for copy in range(1, n_copies + 1):
                for place, each in enumerate(cycle):
                    after = [(len(works) - 1, False)]
                    if not place and copy == 1:
                        after = [(mould_done, False)] if mould_done >= 0 else []
                    elif not place:
                        freed = by_kind.get((FREES_MOULD, copy - 1), len(works) - 1)
                        after = [(freed, True)]
                    # The rest of a cast is the same for one as for all.
                    share = 1 if each.kind == FREES_MOULD else n_planned
                    add(each, each.hands_on_min / n_planned, each.wait_min / share, copy, after)
    return works


def _place(works, days):
    """Give each work its start; returns the order in which hands take them."""
    hands_free, last = 0.0, None
    waiting, order = list(range(len(works))), []
    while waiting:
        best = None
        for index in waiting:
            work = works[index]
            if any(works[k].start < 0 for k, _ in work.after):
                continue
            ready = [
                (works[k].hands_end if hands_only else works[k].end, k)
                for k, hands_only in work.after
            ]
            ready.append((hands_free, last))
            earliest, binding = max(ready, key=lambda pair: pair[0])
            start = days.earliest(earliest, work.hands)
            if best is None or start < best[0]:
                best = (start, index, binding)
        start, index, works[best[1]].binding = best
        works[index].start = start
        hands_free, last = works[index].hands_end, index
        waiting.remove(index)
        order.append(index)
    return order


def _latest_starts(works, order, finish):
    """Latest start of each work that lets the last one end at `finish`."""
    latest = {index: finish - (work.end - work.start) for index, work in enumerate(works)}
    follows = dict(itertools.pairwise(order))
    for index in reversed(order):
        work = works[index]
        if index in follows:
            latest[index] = min(latest[index], latest[follows[index]] - work.hands)
        for k, hands_only in work.after:
            lag = works[k].hands if hands_only else works[k].end - works[k].start
            latest[k] = min(latest[k], latest[index] - lag)
    return latest


def _critical(works, finish):
    """The works that each set the start of the next, from the last one back."""
    index = next((k for k, work in enumerate(works) if work.end >= finish - 1e-9), None)
    chain = set()
    while index is not None:
        chain.add(index)
        index = works[index].binding
    return chain
