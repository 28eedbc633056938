"""The steps on the clock: one pair of hands, working days, waits that run beside other work.

All moulds and all castings are placed. The next mould is made while the one before it
casts: its original is free once that is open, and no more than two are in use at once.
"""

import bisect
import datetime
import itertools
from dataclasses import dataclass, field

from castplan.bench.days import Days
from castplan.bench.life import share_castings
from castplan.bench.records import ScheduleResult, Step, Task, TimelineResult
from castplan.bench.steps import ONCE
from castplan.errors import InputError
from castplan.job import WEEKDAYS, Job

START_FORM = "%Y-%m-%d %H:%M"
# A step waits for the one before it, except for these: work goes on while the test patch
# cures, and it is signed when it has.
BESIDE = "patch"
ALSO = {"sign": BESIDE}
# What the next step must follow at once: the cup is setting.
GLUED = ("weigh", "mix")
# The original is free for the next mould when this one is open; the mould is free
# again when the casting is out, however long that then rests.
FREES_ORIGINAL = "open"
FREES_MOULD = "out"
# Castings that are told one by one: more fill pages that nobody reads.
MOST_TOLD = 60


@dataclass
class _Work:
    """One go of hands: a step, or two that must not be parted."""

    steps: list[tuple[Step, float, float]]  # step, hands-on, wait
    mould: int
    copy: int
    after: list[tuple[int, bool]]  # work before it, whether only its hands have to end
    start: float = -1.0
    binding: int | None = None
    before: list[int] = field(default_factory=list)  # work that waits for it

    @property
    def hands(self):
        return sum(hands for _, hands, _ in self.steps)

    @property
    def hands_end(self):
        return self.start + self.hands

    @property
    def end(self):
        return self.hands_end + self.steps[-1][2]


def set_times(schedule: ScheduleResult, job: Job) -> TimelineResult:
    """Give every step its time.

    Of the work that is ready the one that can start first is done first; hands
    do one thing at a time and only within the working day, cures run on; on free
    days of a dated job hands rest. This
    is a plan that works, not the shortest possible.

    Parameters
    ----------
    schedule : ScheduleResult
    job : Job
        Start, working hours, copies.

    Returns
    -------
    TimelineResult
        Of all moulds and castings; `MOST_TOLD` castings are told one by one.

    Raises
    ------
    InputError
        The start is no date and time, the working day has no hours, or no day is worked on.
    """
    start = _start(job)
    first_h = job.shop.day_start_h if start is None else start.hour + start.minute / 60
    days = Days(
        first_min=first_h * 60,
        start=None if start is None else start.date(),
        shop=job.shop,
    )
    shares = share_castings(job)
    works = _list_work(schedule, job.copies, shares)
    order = _place(works, days)
    finish = max((work.end for work in works), default=0.0)
    latest = _latest_starts(works, order, finish, days)
    critical = _critical(works, finish)
    n_told = min(job.copies, MOST_TOLD)
    last_mould = _mould_of(n_told, shares)
    tasks = []
    for index in order:
        work, at_min = works[index], works[index].start
        if work.copy > n_told or work.mould > last_mould:
            continue
        slack_min = days.worked_min(start_min=work.start, end_min=latest[index])
        for step, hands, wait in work.steps:
            tasks.append(
                Task(
                    step=step.number,
                    mould=work.mould,
                    copy=work.copy,
                    label=step.kind,
                    start_min=at_min,
                    hands_end_min=at_min + hands,
                    end_min=at_min + hands + wait,
                    slack_min=slack_min,
                    is_critical=index in critical,
                )
            )
            at_min += hands
    return TimelineResult(
        start=None if start is None else start.strftime(START_FORM),
        first_start_h=first_h,
        day_start_h=job.shop.day_start_h,
        day_end_h=job.shop.day_end_h,
        n_moulds=len(shares),
        n_copies=job.copies,
        n_told_copies=n_told,
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


def _mould_of(copy, shares):
    """Number of the mould that a casting comes from."""
    return bisect.bisect_left(list(itertools.accumulate(shares)), copy) + 1


class _List:
    """The works while they are listed, mould by mould."""

    def __init__(self):
        self.works: list[_Work] = []
        self.by_kind: dict[tuple[str, int, int], int] = {}

    def add(self, step, hands, wait, *, mould, copy, after):
        """A step, into the work before it where both must not be parted."""
        last = self.works[-1] if self.works else None
        if last and last.steps[-1][0].kind in GLUED and (last.mould, last.copy) == (mould, copy):
            last.steps.append((step, hands, wait))
        else:
            after = [pair for pair in dict.fromkeys(after) if pair[0] is not None]
            timed = [(step, hands, wait)]
            self.works.append(_Work(steps=timed, mould=mould, copy=copy, after=after))
        self.by_kind[step.kind, mould, copy] = self.last

    @property
    def last(self):
        return len(self.works) - 1 if self.works else None

    def find(self, kind, mould, copy=0):
        return self.by_kind.get((kind, mould, copy))


def _list_work(schedule, n_copies, shares):
    """Every step of every mould and casting, with what it waits for."""
    listed = _List()
    first_cycle = next((k for k, s in enumerate(schedule.steps) if s.is_per_copy), None)
    cycle = [step for step in schedule.steps if step.is_per_copy]
    making = [step for step in schedule.steps[:first_cycle] if not step.is_per_copy]
    ending = [step for step in schedule.steps[len(making) :] if not step.is_per_copy]
    copy = 0
    for mould, n_castings in enumerate(shares, start=1):
        _make_mould(listed, making, mould=mould, last_copy=copy, shares=shares)
        made = listed.last
        for turn in range(1, n_castings + 1):
            copy += 1
            freed = listed.find(FREES_MOULD, mould, copy - 1) if turn > 1 else None
            for place, each in enumerate(cycle):
                after = [(listed.last, False)]
                if not place:
                    after = [(made, False)] if turn == 1 else [(freed, True)]
                # The rest of a cast is the same for one as for all.
                share = 1 if each.kind == FREES_MOULD else n_copies
                listed.add(
                    each,
                    each.hands_on_min / n_copies,
                    each.wait_min / share,
                    mould=mould,
                    copy=copy,
                    after=after,
                )
    is_last = {work.copy: index for index, work in enumerate(listed.works) if work.copy}
    waits_for = [(index, False) for index in is_last.values()]
    for step in ending:
        after = waits_for or [(listed.last, False)]
        listed.add(step, step.hands_on_min, step.wait_min, mould=1, copy=0, after=after)
        waits_for = []
    return listed.works


def _make_mould(listed, making, *, mould, last_copy, shares):
    """The steps of one mould; from the second on without what is done once a job."""
    steps = [step for step in making if mould == 1 or step.kind not in ONCE]
    for place, step in enumerate(steps):
        after = [(listed.last, False)]
        if mould > 1 and not place:
            after = [(listed.find(FREES_ORIGINAL, mould - 1), False)]
            if mould > 2:  # the last casting of the one before that is out
                out = listed.find(FREES_MOULD, mould - 2, last_copy - shares[mould - 2])
                after.append((out, True))
        elif place > 1 and steps[place - 1].kind == BESIDE:
            after = [(listed.find(steps[place - 2].kind, mould), False)]
        after.append((listed.find(ALSO.get(step.kind), mould), False))
        listed.add(step, step.hands_on_min, step.wait_min, mould=mould, copy=0, after=after)


def _place(works, days):
    """Give each work its start; returns the order in which hands take them."""
    missing = []
    for index, work in enumerate(works):
        missing.append(len(work.after))
        for k, _ in work.after:
            works[k].before.append(index)
    ready = [index for index, n in enumerate(missing) if not n]
    hands_free, last, order = 0.0, None, []
    while ready:
        best = None
        for index in ready:
            work = works[index]
            ends = [
                (works[k].hands_end if hands_only else works[k].end, k)
                for k, hands_only in work.after
            ]
            ends.append((hands_free, last))
            earliest, binding = max(ends, key=lambda pair: pair[0])
            start = days.earliest(earliest, hands_min=work.hands)
            if best is None or start < best[0]:
                best = (start, index, binding)
        start, index, works[best[1]].binding = best
        works[index].start = start
        hands_free, last = works[index].hands_end, index
        ready.remove(index)
        order.append(index)
        for k in works[index].before:
            missing[k] -= 1
            if not missing[k]:
                bisect.insort(ready, k)
    return order


def _latest_starts(works, order, finish, days):
    """Latest start of each work that lets the last one end at `finish`, within working days."""
    latest = {index: finish - (work.end - work.start) for index, work in enumerate(works)}
    follows = dict(itertools.pairwise(order))
    for index in reversed(order):
        work = works[index]
        if index in follows:
            latest[index] = min(latest[index], latest[follows[index]] - work.hands)
        latest[index] = max(days.latest(latest[index], hands_min=work.hands), work.start)
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
