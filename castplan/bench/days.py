"""When hands work: hours of the day, and which days."""

import datetime
from dataclasses import dataclass

from castplan.job import WEEKDAYS, Shop

DAY_MIN = 24 * 60.0
# Two times of the clock that should be the same [min].
_ROUNDING_MIN = 1e-9


@dataclass(frozen=True, kw_only=True)
class Days:
    """Working time, in minutes from the start of the job.

    Free days are kept where the start is a date; without one nobody knows which
    day of the week it is. A shop that is open all day works through.
    """

    first_min: float  # hour of the day at which minute 0 lies
    start: datetime.date | None
    shop: Shop

    @property
    def opens_min(self) -> float:
        """Of the day."""
        return self.shop.day_start_h * 60

    @property
    def closes_min(self) -> float:
        """Of the day."""
        return self.shop.day_end_h * 60

    @property
    def long_min(self) -> float:
        """Of a working day."""
        return self.closes_min - self.opens_min

    @property
    def is_all_day(self) -> bool:
        """Whether it never closes; then it keeps no free days either."""
        return self.long_min >= DAY_MIN

    def is_free(self, n_days: int) -> bool:
        """Whether nobody works so many days after the start."""
        if self.start is None:
            return False
        day = self.start + datetime.timedelta(days=n_days)
        is_off = WEEKDAYS[day.weekday()] in self.shop.free_days
        return is_off or day.isoformat() in self.shop.holidays

    def earliest(self, at_min: float, *, hands_min: float) -> float:
        """The first time from then on at which hands can do this within a working day.

        Work longer than a day starts with the day and runs over.
        """
        if self.is_all_day:
            return at_min
        n_days, clock = divmod(self.first_min + at_min, DAY_MIN)
        n_days = int(n_days)
        is_open = clock >= self.opens_min - _ROUNDING_MIN
        is_late = clock > self._latest_clock(hands_min) + _ROUNDING_MIN
        if is_open and not is_late and not self.is_free(n_days):
            return at_min
        if is_open:
            n_days += 1
        while self.is_free(n_days):
            n_days += 1
        return n_days * DAY_MIN + self.opens_min - self.first_min

    def latest(self, at_min: float, *, hands_min: float) -> float:
        """The last time up to then at which hands can begin this within a working day."""
        if self.is_all_day:
            return at_min
        n_days, clock = divmod(self.first_min + at_min, DAY_MIN)
        n_days = int(n_days)
        while n_days >= 0:
            clock = min(clock, self._latest_clock(hands_min))
            if clock >= self.opens_min - _ROUNDING_MIN and not self.is_free(n_days):
                return n_days * DAY_MIN + clock - self.first_min
            n_days, clock = n_days - 1, DAY_MIN
        return at_min

    def _latest_clock(self, hands_min):
        """Of a working day, at which such work can begin."""
        return max(self.closes_min - hands_min, self.opens_min)

    def worked_min(self, *, start_min: float, end_min: float) -> float:
        """Working time from one time to a later one."""
        if self.is_all_day:
            return end_min - start_min
        first, last = (int((self.first_min + at) // DAY_MIN) for at in (start_min, end_min))
        worked = 0.0
        for n_days in range(first, last + 1):
            if not self.is_free(n_days):
                opens = n_days * DAY_MIN + self.opens_min - self.first_min
                until = min(end_min, opens + self.long_min)
                worked += max(0.0, until - max(start_min, opens))
        return worked
