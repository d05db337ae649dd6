"""The context of `gluing_schedule/page.html`."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from markupsafe import Markup

from server.craft.document import Piece
from server.craft.document.kept_shop import GluingHabits
from server.craft.document.ring_labels import ring_labels
from server.craft.floor import clock
from server.craft.glue.learned import SuggestedTimes
from server.craft.glue.schedule import GluingSchedule, PressStep, ShopHours
from server.craft.planned import Planned
from server.exports.svg import to_svg
from server.rooms.gluing_schedule.chart import Block, chart
from server.web.fields import Fields
from server.web.orders import faceplate_names

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
BARE_WOOD = "#c8b090"


@dataclass(frozen=True, slots=True)
class Press:
    """One ring in words: from when to when, which ring, on which faceplate."""

    times: str
    letter: str
    words: str
    moved: bool


@dataclass(frozen=True, slots=True)
class StayView:
    """One stay with its chart and its presses."""

    heading: str
    hours: str
    picture: Markup
    presses: tuple[Press, ...]


@dataclass(frozen=True, slots=True)
class Ready:
    """A stack: when it may be turned."""

    letter: str
    name: str
    words: str
    when: str


@dataclass(frozen=True, slots=True)
class Learned:
    """What the log says of a glue against what is reckoned with."""

    stack: str
    label: str
    log: str


@dataclass(frozen=True, slots=True)
class DayForm:
    """One weekday's fields."""

    number: int
    name: str
    starts: str
    ends: str


@dataclass(frozen=True, slots=True)
class ScheduleView:
    """Everything that the page shows; `trouble` in place of a plan where there is none."""

    trouble: str
    stays: tuple[StayView, ...]
    ready: tuple[Ready, ...]
    finish: str
    status: str
    moved: str
    learned: tuple[Learned, ...]
    by_log: bool
    days: tuple[DayForm, ...]
    presses: str
    turning: str
    form: Fields | None
    left: int
    cold: str


class Words:
    """Names and colours of a piece's rings and stacks."""

    def __init__(self, piece: Piece, planned: Planned, joins: Mapping[str, str]) -> None:
        self.letters = faceplate_names(piece)
        self.labels = ring_labels(piece)
        self.titles = {stack.id: stack.title for stack in piece.stacks} | dict(joins)
        self.joins, self.planned = joins, planned

    def letter(self, stack: str) -> str:
        """The faceplate of a stack."""
        return self.letters.get(stack, "")

    def ring(self, step: PressStep) -> str:
        """A ring in a list."""
        if step.stack in self.joins:
            return self.joins[step.stack]
        return f"ring {self.labels.get(step.ring, step.ring)}, {self.titles[step.stack]}"

    def short(self, step: PressStep) -> str:
        """A ring in the chart."""
        if step.stack in self.joins:
            return "join"
        return f"{self.letter(step.stack)} {self.labels.get(step.ring, step.ring)}"

    def colour(self, step: PressStep) -> str:
        """The first wood of a ring."""
        ring = self.planned.work.by_ring.get(step.ring)
        wood = self.planned.woods.get(ring.woods[0]) if ring else None
        return wood.colour_hex if wood else BARE_WOOD


def stays_view(
    plan: GluingSchedule,
    words: Words,
    hours: Sequence[ShopHours] | None,
    presses: int,
    now: datetime,
) -> tuple[StayView, ...]:
    """The plan by stays, or by days for who is always there."""
    if hours is None:
        groups = [list(g) for _, g in groupby(plan.steps, key=lambda s: _local(s, now).date())]
        return tuple(_stay(steps, words, _span(steps), presses, plan, now) for steps in groups)
    found = []
    last = max((step.starts_at for step in plan.steps), default=now)
    for stay in hours:
        if stay.starts_at > last:
            continue
        steps = [
            s for s in plan.steps if stay.starts_at <= s.starts_at and s.ends_at <= stay.ends_at
        ]
        if steps:
            span = (max(stay.starts_at, min(now, steps[0].starts_at)), stay.ends_at)
            found.append(_stay(steps, words, span, presses, plan, now))
    return tuple(found)


def _local(step: PressStep, now: datetime) -> datetime:
    return step.starts_at.astimezone(now.tzinfo)


def _span(steps: Sequence[PressStep]) -> tuple[datetime, datetime]:
    return min(s.starts_at for s in steps), max(s.ends_at for s in steps)


def _stay(
    steps: Sequence[PressStep],
    words: Words,
    span: tuple[datetime, datetime],
    presses: int,
    plan: GluingSchedule,
    now: datetime,
) -> StayView:
    zone = now.tzinfo
    begin, end = (moment.astimezone(zone) for moment in span)
    used = max(step.press for step in steps) + 1
    blocks = [
        Block(
            words.short(s),
            words.letter(s.stack),
            s.press,
            s.starts_at,
            s.ends_at,
            words.colour(s),
        )
        for s in steps
    ]
    heading = f"{begin:%A}, {begin.day} {begin:%B}"
    drawn = chart(f"{heading}: {len(steps)} presses", begin, end, min(presses, used), blocks)
    return StayView(
        heading=heading,
        hours=f"{begin:%H:%M} to {end:%H:%M}",
        picture=to_svg(drawn, "stay"),
        presses=tuple(_press(step, words, plan, now) for step in steps),
    )


def _press(step: PressStep, words: Words, plan: GluingSchedule, now: datetime) -> Press:
    zone = now.tzinfo
    times = f"{step.starts_at.astimezone(zone):%H:%M} to {step.ends_at.astimezone(zone):%H:%M}"
    said = words.ring(step)
    return Press(
        times,
        words.letter(step.stack),
        said[:1].upper() + said[1:],
        (step.stack, step.ring) in plan.moved,
    )


def ready_view(
    plan: GluingSchedule, words: Words, join_of: Mapping[str, str], now: datetime
) -> tuple[Ready, ...]:
    """When each stack may be turned and each join is cured."""
    found = []
    for stack, moment in plan.ready.items():
        if stack in words.joins:
            said = "cured, its joint may be trued"
        else:
            said = "may be turned" + (", then joined" if stack in join_of else "")
        when = "now" if moment <= now else f"from {_when(moment, now)}"
        found.append(Ready(words.letter(stack), words.titles[stack], said, when))
    return tuple(found)


def _when(moment: datetime, now: datetime) -> str:
    local = moment.astimezone(now.tzinfo)
    if (local.date() - now.date()).days < 6:
        return clock(moment, now)
    return f"{local:%a} {local.day} {local:%B}, {local:%H:%M}"


def finish_words(plan: GluingSchedule, now: datetime, *, always: bool) -> tuple[str, str]:
    """When all is cured, and how good that is; `always` where no hours are kept."""
    finish = _when(plan.finish, now)
    hours = " No hours are kept: as if you were always there, at night too." if always else ""
    if plan.proven:
        within = "" if always else "with these hours "
        return finish, f"Proven: {within}nothing is ready earlier.{hours}"
    later = plan.at_most_later_minutes
    stretch = f"{later / 60:.0f} h" if later >= 100 else f"{later:.0f} min"
    return finish, f"At most {stretch} later than the best possible.{hours}"


def moved_words(plan: GluingSchedule) -> str:
    """How many rings go elsewhere than planned this morning."""
    count = len(plan.moved)
    if not count:
        return ""
    rings = "One ring has" if count == 1 else f"{count} rings have"
    return f"{rings} moved to another stay than this morning’s plan had; the rest stands."


def learned_view(
    piece: Piece,
    pace: Mapping[str, tuple[float, float, float]],
    log: Mapping[str, SuggestedTimes],
) -> tuple[Learned, ...]:
    """For each stack whose glue the log knows: what is reckoned with, and what was done."""
    titles = {stack.id: stack.title for stack in piece.stacks}
    return tuple(
        Learned(titles[stack], _minutes(*pace[stack]), _log_words(said))
        for stack, said in log.items()
    )


def _minutes(press: float, rest: float, cure: float) -> str:
    return f"{press:.0f} min press, {rest:.0f} min rest, {cure:.0f} h cure"


def _log_words(said: SuggestedTimes) -> str:
    parts = [f"{said.press_minutes:.0f} min press"]
    parts += [f"{said.rest_minutes:.0f} min rest"] if said.rest_minutes is not None else []
    parts += [f"{said.cure_hours:.0f} h cure"] if said.cure_hours is not None else []
    return f"{', '.join(parts)} (of {said.presses} presses)"


def day_forms(habits: GluingHabits) -> tuple[DayForm, ...]:
    """The weekdays as the form shows them; the first stay of each."""
    first = {stay.day: stay for stay in reversed(habits.stays)}
    return tuple(
        DayForm(k, name, first[k].starts if k in first else "", first[k].ends if k in first else "")
        for k, name in enumerate(DAYS)
    )
