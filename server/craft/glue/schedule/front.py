"""The schedule's front door: stacks, presses and shop hours in dates, a schedule back."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import chain as flatten

from server.craft.errors import FieldError
from server.craft.glue.schedule.dates import Ticks
from server.craft.glue.schedule.order import GluingSchedule, PressStep, ShopHours, StackToGlue
from server.craft.glue.schedule.problem import Chain, Problem, Span, pose, ready_times
from server.craft.glue.schedule.solve import solve


def never() -> bool:
    """A search that is not cut short."""
    return False


def gluing_schedule(
    stacks: Sequence[StackToGlue],
    presses: int,
    hours: Sequence[ShopHours] | None,
    start: datetime,
    give_up: Callable[[], bool] = never,
) -> GluingSchedule:
    """The schedule that ends earliest, and then has the stacks ready soonest on the whole.

    All datetimes are aware. `hours` None means always in the shop. `give_up` is asked now and
    then and ends the search early. Raises `FieldError` with a JSON pointer and plain words when
    some ring can never be pressed or the stacks wait for each other.
    """
    asked = Asked(tuple(stacks), presses, hours, start)
    ticks, problem = posed(asked)
    search = solve(problem, ticks.words, give_up)
    return told(asked, ticks, problem, search.spans(), search.bound)


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked; `free` are presses that are busy until then."""

    stacks: tuple[StackToGlue, ...]
    presses: int
    hours: Sequence[ShopHours] | None
    start: datetime
    free: tuple[datetime, ...] = ()


def posed(asked: Asked) -> tuple[Ticks, Problem]:
    """The question in ticks."""
    _refuse_doubtful(asked)
    ticks = _ticks(asked)
    number = {stack.id: i for i, stack in enumerate(asked.stacks)}
    free = [ticks.at(moment) for moment in asked.free]
    free += [0] * (asked.presses - len(free))
    windows = None
    if asked.hours is not None:
        windows = [(ticks.at(stay.starts_at), ticks.at(stay.ends_at)) for stay in asked.hours]
    chains = tuple(_chain(stack, ticks, number) for stack in asked.stacks)
    return ticks, pose(chains, tuple(free), windows, 0)


def _refuse_doubtful(asked: Asked) -> None:
    if asked.hours is not None and not asked.hours:
        raise FieldError(
            "/hours",
            "There are no shop hours in this list. Add some, or leave the hours out if you are "
            "always there.",
        )
    known = {stack.id for stack in asked.stacks}
    for i, stack in enumerate(asked.stacks):
        for k, before in enumerate(stack.after):
            if before not in known:
                raise FieldError(f"/stacks/{i}/after/{k}", "There is no such stack.")


def _ticks(asked: Asked) -> Ticks:
    rings = [ring for stack in asked.stacks for ring in stack.rings]
    lengths = [timedelta(minutes=ring.press_minutes) for ring in rings]
    lengths += [timedelta(minutes=ring.rest_minutes) for ring in rings]
    lengths += [timedelta(hours=stack.cure_hours) for stack in asked.stacks]
    lengths += [timedelta(minutes=stack.turning_minutes) for stack in asked.stacks]
    moments = [*asked.free, *(s.not_before for s in asked.stacks if s.not_before is not None)]
    stays = asked.hours or ()
    moments += flatten.from_iterable((stay.starts_at, stay.ends_at) for stay in stays)
    return Ticks.for_times(asked.start, lengths, moments)


def _chain(stack: StackToGlue, ticks: Ticks, number: dict[str, int]) -> Chain:
    return Chain(
        id=stack.id,
        rings=tuple(ring.id for ring in stack.rings),
        press=tuple(ticks.length(timedelta(minutes=r.press_minutes)) for r in stack.rings),
        rest=tuple(ticks.length(timedelta(minutes=r.rest_minutes)) for r in stack.rings),
        cure=ticks.length(timedelta(hours=stack.cure_hours)),
        release=ticks.at(stack.not_before) if stack.not_before else 0,
        after=tuple(number[before] for before in stack.after),
        turn=ticks.length(timedelta(minutes=stack.turning_minutes)),
    )


def told(
    asked: Asked,
    ticks: Ticks,
    problem: Problem,
    spans: list[Span],
    bound: int,
    moved: tuple[tuple[str, str], ...] = (),
) -> GluingSchedule:
    """A plan in dates."""
    ready = ready_times(problem, spans)
    steps = tuple(
        PressStep(
            problem.chains[span.chain].id,
            problem.chains[span.chain].rings[span.ring],
            span.press,
            ticks.moment(span.start),
            ticks.moment(span.end),
        )
        for span in sorted(spans)
    )
    return GluingSchedule(
        steps,
        {stack.id: ticks.moment(ready[i]) for i, stack in enumerate(asked.stacks)},
        ticks.moment(max(ready, default=0)),
        ticks.moment(bound),
        moved,
    )
