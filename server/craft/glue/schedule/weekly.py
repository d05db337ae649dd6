"""From weekly habits to stays on the calendar."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from server.craft.glue.schedule.order import ShopHours

Local = Callable[[datetime], datetime]
"""From a time on the shop's clock, without a zone, to an aware moment."""


@dataclass(frozen=True, slots=True)
class Habit:
    """A stay every week: `day` 0 is Monday."""

    day: int
    starts: time
    ends: time


def stays_from(
    habits: Sequence[Habit], start: datetime, days: int, local: Local
) -> list[ShopHours] | None:
    """Stays of the next days that end after `start`; None when there are no habits: always there.

    Times are by the shop's clock, so that 19:00 stays 19:00 when the clocks change.
    """
    if not habits:
        return None
    first = start.replace(tzinfo=None, hour=0, minute=0, second=0, microsecond=0)
    stays = []
    for date in (first + timedelta(days=k) for k in range(days)):
        for habit in sorted(habits, key=lambda one: one.starts):
            if date.weekday() == habit.day:
                begin = local(datetime.combine(date, habit.starts))
                end = local(datetime.combine(date, habit.ends))
                if end > start and end > begin:
                    stays.append(ShopHours(begin, end))
    return stays
