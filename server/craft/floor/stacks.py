"""Stacks and presses: what is on, what is in the press, what rests and how long."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from server.craft.floor.claims import Assertion
from server.craft.floor.listen import Ears
from server.craft.floor.reading import happened, mark, minutes_of, number, word
from server.craft.floor.state import PressRun, Stack, Timer
from server.craft.ledger import Entry, Kind

MINUTES_PER_HOUR = 60.0


def stacks_of(ears: Ears) -> dict[str, Stack]:
    """Every stack that the ledger names, by its id."""
    held: dict[str, list[tuple[str, Assertion]]] = {}
    for ring, register in ears.places.items():
        top = register.top
        if top is not None and isinstance(top.value, tuple) and top.value[1] is not None:
            held.setdefault(top.value[1], []).append((ring, top))
    heard = heard_alarms(ears)
    return {stack: _stack(ears, stack, held[stack], heard) for stack in sorted(held)}


def _stack(
    ears: Ears,
    stack: str,
    held: list[tuple[str, Assertion]],
    heard: dict[str, datetime],
) -> Stack:
    in_order = sorted(held, key=lambda item: item[1].entry.seq)
    on = [(ring, top) for ring, top in in_order if _place(top) == "on"]
    pressed = [(ring, top) for ring, top in in_order if _place(top) == "press"]
    state = Stack(
        stack,
        faceplate=_faceplate(ears, stack),
        on=tuple(ring for ring, _ in on),
        in_press=tuple(ring for ring, _ in pressed),
    )
    if pressed:
        timers = [press_timer(ears, top, state.faceplate, heard) for _ring, top in pressed]
        running = [timer for timer in timers if timer is not None]
        return replace(state, press=max(running, key=lambda timer: timer.deadline, default=None))
    if not on:
        return state
    newest = max((top.entry for _ring, top in on), key=happened)
    return replace(state, rest_until=_rest(newest), ready_at=_ready([t.entry for _, t in on]))


def _place(top: Assertion) -> str:
    return str(top.value[0]) if isinstance(top.value, tuple) else ""


def _rest(entry: Entry) -> datetime | None:
    minutes = minutes_of(entry, "rest_minutes")
    return None if minutes is None else happened(entry) + timedelta(minutes=minutes)


def _ready(entries: list[Entry]) -> datetime | None:
    """The last press plus its cure; None where the newest says nothing of a cure."""
    newest = max(entries, key=happened)
    hours = number(newest.data.get("cure_hours"))
    if hours is None or not 0 < hours * MINUTES_PER_HOUR <= 60 * 24 * 30:
        return None
    return happened(newest) + timedelta(hours=hours)


def _faceplate(ears: Ears, stack: str) -> str | None:
    for entry in reversed(ears.heard):
        if entry.data.get("stack") == stack and word(entry, "faceplate"):
            return word(entry, "faceplate")
    return None


def heard_alarms(ears: Ears) -> dict[str, datetime]:
    """For each timer whose alarm somebody quieted, the latest moment that was done."""
    found: dict[str, datetime] = {}
    for entry in ears.records_of(Kind.NOTE):
        timer = word(entry, "heard")
        if timer is not None:
            found[timer] = max(entry.received_at, found.get(timer, entry.received_at))
    return found


def press_timer(
    ears: Ears, top: Assertion, faceplate: str | None, heard: dict[str, datetime]
) -> Timer | None:
    """The timer of a ring in the press, None where it was put in without a time."""
    minutes = minutes_of(top.entry)
    if minutes is None or not isinstance(top.value, tuple):
        return None
    added = sum(minutes_of(e, "add_minutes") or 0.0 for e in top.adds if ears.live(e))
    timer = Timer(
        id=top.entry.id,
        piece=top.entry.piece,
        kind="press",
        subject=top.entry.subject,
        stack=top.value[1],
        faceplate=faceplate,
        started_at=happened(top.entry),
        minutes=minutes,
        added_minutes=added,
    )
    quieted = heard.get(timer.id)
    return replace(timer, heard=quieted is not None and quieted >= timer.deadline)


def runs_of(ears: Ears) -> tuple[PressRun, ...]:
    """Every stay in the press that stands, oldest first."""
    found = [run for ring in ears.places for run in _runs_of_ring(ears, ring)]
    return tuple(sorted(found, key=lambda run: (run.clamped.at, run.clamped.seq)))


def _runs_of_ring(ears: Ears, ring: str) -> Iterator[PressRun]:
    layers = ears.places[ring].layers
    for position, layer in enumerate(layers):
        if layer.entry.kind is not Kind.CLAMPED:
            continue
        after = layers[position + 1].entry if position + 1 < len(layers) else None
        out = after if after is not None and after.kind is not Kind.CLAMPED else None
        entry = layer.entry
        yield PressRun(
            ring=ring,
            stack=layer.value[1] if isinstance(layer.value, tuple) else None,
            faceplate=word(entry, "faceplate"),
            glue=word(entry, "glue"),
            clamped=mark(entry),
            released=mark(out) if out is not None else None,
            planned_minutes=minutes_of(entry),
            temperature_c=number(entry.data.get("temperature_c")),
            humidity_percent=number(entry.data.get("humidity_percent")),
        )
