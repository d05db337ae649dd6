"""What is to be glued and what comes back, in dates: the front door's values."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class RingPress:
    """A ring's time in the press and the stack's rest after it."""

    id: str
    press_minutes: float
    rest_minutes: float


@dataclass(frozen=True, slots=True)
class StackToGlue:
    """Rings in gluing order, and how long the stack cures after the last.

    `after` names stacks that must be ready before this one begins (it joins them, or waits for
    their faceplate), with `turning_minutes` of work at the lathe in between. `not_before` is the
    first moment that this stack can be pressed at all.
    """

    id: str
    rings: tuple[RingPress, ...]
    cure_hours: float
    after: tuple[str, ...] = ()
    turning_minutes: float = 0.0
    not_before: datetime | None = None


@dataclass(frozen=True, slots=True)
class ShopHours:
    """A stay in the shop."""

    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class PressStep:
    """A ring in a press; presses are numbered from 0."""

    stack: str
    ring: str
    press: int
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class GluingSchedule:
    """Steps in order of time, when each stack is cured, and how good the finish is.

    `finish` is the latest ready time, `bound` no later than the best possible finish; the plan
    is proven best when they are equal. `moved` are rings on another stay than in the plan before.
    """

    steps: tuple[PressStep, ...]
    ready: Mapping[str, datetime]
    finish: datetime
    bound: datetime
    moved: tuple[tuple[str, str], ...] = ()

    @property
    def proven(self) -> bool:
        """No schedule can end earlier."""
        return self.finish <= self.bound

    @property
    def at_most_later_minutes(self) -> float:
        """By how much at most a better schedule could end earlier."""
        return max(0.0, (self.finish - self.bound).total_seconds() / 60)
