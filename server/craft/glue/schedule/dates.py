"""Between a shop's dates and the solver's whole ticks, exactly.

A tick is the greatest length of which all times given are multiples, a microsecond at least.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import gcd

from server.craft.errors import FieldError

_MICROSECOND = timedelta(microseconds=1)


def microseconds(length: timedelta) -> int:
    """A length of time as a whole number."""
    return length // _MICROSECOND


@dataclass(frozen=True, slots=True)
class Ticks:
    """`start` is tick 0; times read back carry the offset from UTC that `start` has."""

    start: datetime
    tick_us: int

    @classmethod
    def for_times(
        cls, start: datetime, lengths: Iterable[timedelta], moments: Iterable[datetime]
    ) -> "Ticks":
        """Ticks that all these lengths and moments are whole numbers of."""
        whole = [microseconds(length) for length in lengths]
        whole += [microseconds(moment - start) for moment in moments]
        return cls(start, gcd(*whole) or 1)

    def length(self, length: timedelta) -> int:
        """Ticks of a length of time."""
        return microseconds(length) // self.tick_us

    def at(self, moment: datetime) -> int:
        """Ticks from the start to a moment."""
        return microseconds(moment - self.start) // self.tick_us

    def moment(self, tick: int) -> datetime:
        """The moment at a tick. Raises `FieldError` when it lies after the year 9999."""
        try:
            return self.start + timedelta(microseconds=tick * self.tick_us)
        except OverflowError:
            raise FieldError("/start", "This schedule would run past the year 9999.") from None

    def words(self, ticks: int) -> str:
        """A length of time as the shop says it: “1 h 30 min”."""
        seconds = ticks * self.tick_us / 1_000_000
        hours, rest = divmod(round(seconds), 3600)
        minutes, left = divmod(rest, 60)
        parts = [(hours, "h"), (minutes, "min"), (left, "s")]
        return " ".join(f"{count} {unit}" for count, unit in parts if count) or "less than 1 s"
