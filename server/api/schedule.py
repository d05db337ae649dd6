"""`POST /api/gluing-schedule`: which ring goes into which press when."""

import time
from collections.abc import Callable, Iterable
from typing import Annotated, Any, Literal, Self

from fastapi import APIRouter, Depends
from pydantic import BaseModel, ConfigDict, Field, model_validator

from server.api.moments import Moment, write_moment
from server.craft.document.words import say
from server.craft.glue.schedule import (
    GluingSchedule,
    RingPress,
    ShopHours,
    StackToGlue,
    gluing_schedule,
)
from server.web.bodies import ordinary_json

router = APIRouter(dependencies=[Depends(ordinary_json)])

_MOST_RINGS = 2_000
_GUARD_SECONDS = 8.0

Id = Annotated[str, Field(min_length=1, max_length=200)]
Minutes = Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False)]
Hours = Annotated[float, Field(ge=0, le=10_000, allow_inf_nan=False)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    extra: dict[str, Any] | None = None


class RingIn(_Strict):
    """A ring to press; the stack rests after it before its next."""

    id: Id
    press_minutes: Minutes
    rest_minutes: Minutes


class StackIn(_Strict):
    """A stack: rings in gluing order, then cure. `after`: stacks that must be ready first."""

    id: Id
    rings: Annotated[list[RingIn], Field(max_length=1_000)]
    cure_hours: Hours
    after: Annotated[list[Id], Field(max_length=100)] = []
    turning_minutes: Minutes = 0.0

    @model_validator(mode="after")
    def _one_of_each(self) -> Self:
        _refuse_doubles((ring.id for ring in self.rings), "rings")
        return self


class HoursIn(_Strict):
    """A stay in the shop."""

    starts_at: Moment
    ends_at: Moment

    @model_validator(mode="after")
    def _forwards(self) -> Self:
        if self.ends_at <= self.starts_at:
            raise say("This stay ends before it begins.", "ends_at")
        return self


class GluingOrder(_Strict):
    """What to schedule. `hours` null: always in the shop."""

    stacks: Annotated[list[StackIn], Field(max_length=100)]
    presses: Annotated[int, Field(ge=1, le=1_000)] = 1
    hours: Annotated[list[HoursIn], Field(max_length=3_000)] | None = None
    start: Moment

    @model_validator(mode="after")
    def _sound(self) -> Self:
        _refuse_doubles((stack.id for stack in self.stacks), "stacks")
        if sum(len(stack.rings) for stack in self.stacks) > _MOST_RINGS:
            raise say(f"At most {_MOST_RINGS} rings can be scheduled at once.", "stacks")
        return self


class StepOut(BaseModel):
    """A ring in a press, numbered from 0."""

    stack: str
    ring: str
    press: int
    starts_at: str
    ends_at: str


class ScheduleOut(BaseModel):
    """The schedule; `at_most_later_minutes` is what a better one could save at most."""

    steps: list[StepOut]
    ready: dict[str, str]
    finish: str
    bound: str
    status: Literal["proven", "bounded"]
    at_most_later_minutes: float


@router.post("/api/gluing-schedule")
def post_gluing_schedule(order: GluingOrder) -> ScheduleOut:
    """Schedule presses of several stacks in the hours that the person is there."""
    hours = order.hours
    stays = None if hours is None else [ShopHours(stay.starts_at, stay.ends_at) for stay in hours]
    stacks = [_stack(stack) for stack in order.stacks]
    return _out(gluing_schedule(stacks, order.presses, stays, order.start, _guard()))


def _guard() -> Callable[[], bool]:
    """True once a slow machine has had its time; the search is limited by work, not by this."""
    deadline = time.monotonic() + _GUARD_SECONDS
    return lambda: time.monotonic() > deadline


def _stack(stack: StackIn) -> StackToGlue:
    rings = tuple(RingPress(r.id, r.press_minutes, r.rest_minutes) for r in stack.rings)
    return StackToGlue(stack.id, rings, stack.cure_hours, tuple(stack.after), stack.turning_minutes)


def _refuse_doubles(ids: Iterable[str], where: str) -> None:
    seen: set[str] = set()
    for index, one in enumerate(ids):
        if one in seen:
            raise say("This id is used twice.", where, index, "id")
        seen.add(one)


def _out(plan: GluingSchedule) -> ScheduleOut:
    return ScheduleOut(
        steps=[
            StepOut(
                stack=step.stack,
                ring=step.ring,
                press=step.press,
                starts_at=write_moment(step.starts_at),
                ends_at=write_moment(step.ends_at),
            )
            for step in plan.steps
        ],
        ready={stack: write_moment(moment) for stack, moment in plan.ready.items()},
        finish=write_moment(plan.finish),
        bound=write_moment(plan.bound),
        status="proven" if plan.proven else "bounded",
        at_most_later_minutes=plan.at_most_later_minutes,
    )
