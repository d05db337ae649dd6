"""Schedules that were worked out, kept for as long as what they stand on is the same."""

import time
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from datetime import datetime

from fastapi import Request

from server.craft.glue.schedule import GluingSchedule
from server.rooms.gluing_schedule.planning import Asked, Planning, scheduled
from server.web.last_used import LastUsed

GUARD_SECONDS = 8.0
_KEPT = 32


@dataclass(frozen=True, slots=True)
class _Made:
    """A plan, none where nothing was to plan; a search cut short is not good for a second view."""

    plan: GluingSchedule | None
    whole: bool


class Plans:
    """The plans asked for last. Safe from several threads.

    A plan stands on the drawing, the piece's lines of the ledger, the shop's habits, the pace and
    the minute; that of the morning on the day in place of the minute.
    """

    def __init__(self, seconds: Callable[[], float] = time.monotonic) -> None:
        self._seconds = seconds
        self._now = LastUsed[Hashable, _Made](_KEPT)
        self._mornings = LastUsed[Hashable, _Made](_KEPT)

    def plan(
        self, drawing: tuple[str, int], asked: Asked, local: Callable[[datetime], datetime]
    ) -> GluingSchedule:
        """The schedule from this minute on. Raises FieldError where there is none."""
        asked = asked.at(asked.now.replace(second=0, microsecond=0))
        newest = asked.entries[-1].id if asked.entries else ""
        stands_on = (drawing, len(asked.entries), newest, _habits(asked), asked.pace)
        deadline = self._seconds() + GUARD_SECONDS

        def give_up() -> bool:
            return self._seconds() > deadline

        def this_morning(planning: Planning) -> GluingSchedule | None:
            day = (asked.now.date(), asked.now.utcoffset())
            return self._mornings.get(
                (stands_on, day), lambda: _Made(planning(), not give_up()), _is_whole
            ).plan

        made = self._now.get(
            (stands_on, asked.now, asked.now.utcoffset()),
            lambda: _Made(scheduled(asked, local, give_up, this_morning), not give_up()),
            _is_whole,
        )
        assert made.plan is not None, "what is left always has a plan, of no rings too"
        return made.plan


def _is_whole(made: _Made) -> bool:
    return made.whole


def _habits(asked: Asked) -> str:
    return asked.habits.model_dump_json()


def plans_of(request: Request) -> Plans:
    """The app's plans, begun when the first is asked for."""
    plans: Plans | None = getattr(request.app.state, "gluing_plans", None)
    if plans is None:
        plans = request.app.state.gluing_plans = Plans()
    return plans
