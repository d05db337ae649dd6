"""The times that run on one piece: presses, half rings drying, rests and cures."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime

from server.craft.floor.claims import Assertion, Register
from server.craft.floor.listen import Ears
from server.craft.floor.reading import happened, minutes_of
from server.craft.floor.stacks import heard_alarms
from server.craft.floor.state import Stack, Timer
from server.craft.ledger import Kind

ENDS_HALVES = (Kind.TRUED, Kind.CLOSED, Kind.FLATTENED)


PASSING = frozenset({"rest", "cure"})


def timers_of(ears: Ears, stacks: Mapping[str, Stack]) -> tuple[Timer, ...]:
    """Every timer that was started and that no tick has ended, soonest first."""
    found = [stack.press for stack in stacks.values() if stack.press is not None]
    found += _halves(ears)
    for stack in stacks.values():
        found += _waits(ears, stack)
    return soonest_first(found)


def still_asking(timers: Iterable[Timer], now: datetime) -> tuple[Timer, ...]:
    """Those that ask for something at `now`.

    A press and half rings stay when their time is over, until somebody ticks what comes next; a
    rest and a cure are gone when they are over, for then nothing is in the way.
    """
    return tuple(t for t in timers if t.kind not in PASSING or not t.over(now))


def soonest_first(timers: Iterable[Timer]) -> tuple[Timer, ...]:
    """Timers of one piece or of many in the order in which they end."""
    return tuple(sorted(timers, key=lambda timer: (timer.deadline, timer.id)))


def _halves(ears: Ears) -> Iterator[Timer]:
    heard = heard_alarms(ears)
    for (ring, kind), register in ears.ticks.items():
        top = register.top
        if kind is not Kind.HALVES_GLUED or top is None or _went_on(ears, ring):
            continue
        minutes = minutes_of(top.entry)
        if minutes is not None:
            yield _halves_timer(top, ring, minutes, heard)


def _halves_timer(
    top: Assertion, ring: str, minutes: float, heard: Mapping[str, datetime]
) -> Timer:
    entry = top.entry
    timer = Timer(entry.id, entry.piece, "halves", ring, None, None, happened(entry), minutes)
    quieted = heard.get(timer.id)
    return replace(timer, heard=quieted is not None and quieted >= timer.deadline)


def _went_on(ears: Ears, ring: str) -> bool:
    ticked = any(ears.ticks.get((ring, kind), Register()).top is not None for kind in ENDS_HALVES)
    return ticked or ears.places.get(ring, Register()).top is not None


def _waits(ears: Ears, stack: Stack) -> Iterator[Timer]:
    """The rest and the cure of a stack that nothing presses."""
    if stack.in_press or not stack.on:
        return
    tops = [ears.places[ring].top for ring in stack.on]
    newest = max((top.entry for top in tops if top is not None), key=happened)
    for kind, until in (("rest", stack.rest_until), ("cure", stack.ready_at)):
        if until is None:
            continue
        minutes = (until - happened(newest)).total_seconds() / 60
        start = happened(newest)
        yield Timer(
            id=f"{newest.id}:{kind}",
            piece=newest.piece,
            kind="rest" if kind == "rest" else "cure",
            subject=newest.subject,
            stack=stack.id,
            faceplate=stack.faceplate,
            started_at=start,
            minutes=minutes,
        )
