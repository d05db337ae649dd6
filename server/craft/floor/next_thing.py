"""The one thing to do now, and why: what a person looks up for with glue on the fingers."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from server.craft.floor.orders import RingOrder, StackOrder
from server.craft.floor.state import Floor, Timer
from server.craft.lathe.steps import SIGNED
from server.craft.ledger import Kind

Action = Literal["settle", "release", "clamp", "tick", "cut", "wait", "turn", "nothing"]

DO = {
    Kind.DRY_FITTED: "Dry-fit ring {ring}",
    Kind.HALVES_GLUED: "Glue the half rings of ring {ring}",
    Kind.TRUED: "True the half rings of ring {ring}",
    Kind.CLOSED: "Close ring {ring}",
    Kind.FLATTENED: "Flatten ring {ring}",
}


@dataclass(frozen=True, slots=True)
class NextThing:
    """One line: `do` is the deed, `why` the reason. `at` is when, None for now."""

    action: Action
    do: str
    why: str
    kind: Kind | None = None
    stack: str | None = None
    faceplate: str | None = None
    ring: str | None = None
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Turn:
    """A stack's turn in the press: which ring, and from when it may go in."""

    stack: StackOrder
    ring: RingOrder
    from_: datetime
    left: int


def clock(at: datetime, now: datetime) -> str:
    """A time as it is said in the shop: `16:40`, or `Thu 09:30` on another day."""
    local = at.astimezone(now.tzinfo)
    return local.strftime("%H:%M" if local.date() == now.date() else "%a %H:%M")


def what_next(stacks: Sequence[StackOrder], floor: Floor, now: datetime) -> NextThing:
    """The thing to do now. `now` is aware and in the shop's own time zone."""
    moment = max(now, floor.now).astimezone(now.tzinfo)
    for thing in _candidates(stacks, floor, moment):
        return thing
    return NextThing("nothing", "Nothing to glue", "No stack is drawn yet.")


def turns(stacks: Sequence[StackOrder], floor: Floor, now: datetime) -> list[Turn]:
    """Which stack is served next, soonest first, and with the most left to do before others."""
    free_at = max([t.deadline for t in _presses(floor)] + [now])
    found: list[Turn] = []
    for stack in stacks:
        waiting = [ring for ring in stack.rings if floor.ring(ring.id).place is None]
        if not waiting:
            continue
        state = floor.stack(stack.id)
        rested = state.rest_until or now
        if state.press is not None:
            rested = max(now, state.press.deadline) + timedelta(minutes=stack.rest_minutes)
        found.append(Turn(stack, waiting[0], max(free_at, rested), len(waiting)))
    return sorted(found, key=lambda turn: (turn.from_, -turn.left))


def _presses(floor: Floor) -> list[Timer]:
    return [timer for timer in floor.timers if timer.kind == "press"]


def _candidates(stacks: Sequence[StackOrder], floor: Floor, now: datetime) -> Iterator[NextThing]:
    labels = {ring.id: ring.label for stack in stacks for ring in stack.rings}
    for contest in floor.contests:
        label = labels.get(contest.subject, contest.subject)
        yield NextThing(
            "settle",
            f"Settle ring {label}",
            "Two devices said different things about it.",
            contest.kind,
            ring=contest.subject,
        )
    yield from _take_out(floor, labels, now)
    order = turns(stacks, floor, now)
    busy = any(stack.in_press for stack in floor.stacks.values())
    yield from _press_or_prepare(order, floor, now, busy)
    yield from _wait(order, floor, labels, now)
    yield from _turning(stacks, floor, now)


def _take_out(floor: Floor, labels: dict[str, str], now: datetime) -> Iterator[NextThing]:
    for timer in _presses(floor):
        if timer.over(now):
            label = labels.get(timer.subject, timer.subject)
            yield NextThing(
                "release",
                f"Take ring {label} out of the press",
                f"Its time was over at {clock(timer.deadline, now)}. See the squeeze-out first.",
                Kind.RELEASED,
                timer.stack,
                timer.faceplate,
                timer.subject,
            )


def next_tick(ring: RingOrder, floor: Floor) -> Kind | None:
    """The tick that comes after the furthest one made; None when the ring is ready to press."""
    done = [n for n, kind in enumerate(ring.ticks) if kind in floor.ring(ring.id).ticks]
    following = done[-1] + 1 if done else 0
    return ring.ticks[following] if following < len(ring.ticks) else None


def _press_or_prepare(
    order: Sequence[Turn], floor: Floor, now: datetime, busy: bool
) -> Iterator[NextThing]:
    for turn in order:
        if next_tick(turn.ring, floor) is None and turn.from_ <= now and not busy:
            yield NextThing(
                "clamp",
                f"Put ring {turn.ring.label} in the press on {turn.stack.faceplate}",
                "It is flat and the press is free.",
                Kind.CLAMPED,
                turn.stack.id,
                turn.stack.faceplate,
                turn.ring.id,
            )
    for turn in order:
        yield from _prepare(turn.stack, turn.ring, floor, now, _goes_in(turn, now))
    for turn in order:
        for ring in turn.stack.rings:
            if floor.ring(ring.id).place is None and ring.id != turn.ring.id:
                why = f"It goes on {turn.stack.faceplate} later."
                yield from _prepare(turn.stack, ring, floor, now, why)


def _goes_in(turn: Turn, now: datetime) -> str:
    if turn.from_ <= now:
        return f"It is the next to go in the press, on {turn.stack.faceplate}."
    return f"It can go in the press on {turn.stack.faceplate} at {clock(turn.from_, now)}."


def _prepare(
    stack: StackOrder, ring: RingOrder, floor: Floor, now: datetime, why: str
) -> Iterator[NextThing]:
    kind = next_tick(ring, floor)
    state = floor.ring(ring.id)
    drying = [t for t in floor.timers if t.kind == "halves" and t.subject == ring.id]
    if kind is None or any(not timer.over(now) for timer in drying):
        return
    place = (stack.id, stack.faceplate, ring.id)
    if not state.ticks and state.cut < ring.segments:
        left = ring.segments - state.cut
        word = "segment" if left == 1 else "segments"
        yield NextThing("cut", f"Cut {left} {word} of ring {ring.label}", why, Kind.CUT, *place)
    else:
        yield NextThing("tick", DO[kind].format(ring=ring.label), why, kind, *place)


def _wait(
    order: Sequence[Turn], floor: Floor, labels: dict[str, str], now: datetime
) -> Iterator[NextThing]:
    for timer in floor.timers:
        if timer.kind != "cure":
            yield _wait_for(timer, labels.get(timer.subject, timer.subject), now)
    for turn in order:
        held = floor.stack(turn.stack.id).in_press
        if held:
            yield NextThing(
                "release",
                f"Take ring {labels.get(held[0], held[0])} out of the press when it has set",
                "It went in without a time.",
                Kind.RELEASED,
                turn.stack.id,
                turn.stack.faceplate,
                held[0],
            )


def _wait_for(timer: Timer, label: str, now: datetime) -> NextThing:
    said = {
        "press": f"Ring {label} comes out of the press then.",
        "halves": f"The half rings of ring {label} are set then.",
        "rest": f"The joint on {timer.faceplate or 'the stack'} has rested then.",
    }
    return NextThing(
        "wait",
        f"Nothing to do before {clock(timer.deadline, now)}",
        said.get(timer.kind, ""),
        stack=timer.stack,
        faceplate=timer.faceplate,
        ring=timer.subject,
        at=timer.deadline,
    )


def _at_the_lathe(stack: StackOrder, floor: Floor) -> bool:
    """Whether some step of its turning is done: `part:stack:work` is what steps are called."""
    return any(f":{stack.id}:" in step for step in floor.steps)


def _turning(stacks: Sequence[StackOrder], floor: Floor, now: datetime) -> Iterator[NextThing]:
    """All rings are on: the lathe is next, as soon as the last joint has cured."""
    if SIGNED in floor.steps:
        yield NextThing("nothing", "Signed", "All is glued, turned and signed.")
        return
    ringed = [stack for stack in stacks if stack.rings]
    begun = [stack for stack in ringed if _at_the_lathe(stack, floor)]
    ready = [(floor.stack(s.id).ready_at or now, s) for s in ringed if s not in begun]
    cured = [(at, stack) for at, stack in ready if at <= now]
    if begun and not cured:
        yield NextThing("turn", "Go on at the lathe", "The steps there say what is next.")
    for at, stack in sorted(ready, key=lambda item: item[0]):
        if at <= now:
            do, why = f"Turn the stack on {stack.faceplate}", "Its last joint has cured."
        else:
            do = f"Turn the stack on {stack.faceplate} from {clock(at, now)} on"
            why = "Its last joint is curing till then."
        yield NextThing("turn", do, why, None, stack.id, stack.faceplate, at=at)
