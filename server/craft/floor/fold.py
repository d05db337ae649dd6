"""From the ledger's entries to the state of the floor."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from server.craft.floor.contests import contests_of
from server.craft.floor.listen import Ears
from server.craft.floor.reading import happened, mark, number, word
from server.craft.floor.stacks import runs_of, stacks_of
from server.craft.floor.state import RING_TICKS, Floor, Mark, Place, PressRun, Reading, Ring
from server.craft.floor.timers import still_asking, timers_of
from server.craft.ledger import Entry, Kind

CLOCK_SLACK_S = 2.0
"""How far the server's clock may step back before its timers are put on hold, in seconds."""

_NO_MOMENT = datetime.min.replace(tzinfo=UTC)

ROOM_QUANTITIES = ("temperature_c", "humidity_percent")


@dataclass(frozen=True, slots=True)
class Settled:
    """What the entries of one piece say at any moment, folded once; `at` is the floor at one.

    `floor` is without a moment of its own and holds all `timers`; `newest` is when the last entry
    arrived, aware.
    """

    floor: Floor
    newest: datetime | None

    def at(self, now: datetime, last_seen: datetime | None = None) -> Floor:
        """The floor at `now` (aware); see `fold`."""
        newest = max((m for m in (self.newest, last_seen) if m is not None), default=now)
        behind_s = (newest - now).total_seconds()
        on_hold = behind_s > CLOCK_SLACK_S
        moment = newest if on_hold else now
        return replace(
            self.floor,
            now=moment,
            timers=still_asking(self.floor.timers, moment),
            clock_behind_s=behind_s if on_hold else 0.0,
        )


def fold(entries: Sequence[Entry], *, now: datetime, last_seen: datetime | None = None) -> Floor:
    """The floor of one piece at `now` (aware), from its entries in any order.

    `last_seen` is the latest time the server is known to have had, if it keeps one; a `now`
    earlier than that, or than the newest entry's arrival, is a clock gone wrong: the floor then
    stands still at the last time seen.
    """
    ears = Ears()
    ears.hear_all(entries)
    return settled(ears).at(now, last_seen)


def settled(ears: Ears) -> Settled:
    """What was heard so far, folded; it does not follow what is heard later."""
    stacks = stacks_of(ears)
    runs = runs_of(ears)
    floor = Floor(
        now=_NO_MOMENT,
        last_seq=max((entry.seq for entry in ears.heard), default=0),
        rings=_rings(ears),
        stacks=stacks,
        steps=_steps(ears),
        timers=timers_of(ears, stacks),
        contests=tuple(contests_of(ears)),
        runs=runs,
        readings=tuple(_readings(ears, runs)),
        used=_by_subject(ears.records_of(Kind.USED)),
        photos=_by_subject(ears.records_of(Kind.PHOTO)),
        notes=_by_subject(e for e in ears.records_of(Kind.NOTE) if "heard" not in e.data),
        undone=frozenset(_undone(ears)),
        journal=tuple(sorted(ears.heard, key=lambda entry: (happened(entry), entry.seq))),
    )
    return Settled(floor, max((entry.received_at for entry in ears.heard), default=None))


def _rings(ears: Ears) -> dict[str, Ring]:
    cut, broken = _counts(ears, "count"), _counts(ears, "broken")
    # A word that is only held, against what it could not know of, changes no ring.
    ticked = {
        ring for (ring, kind), said in ears.ticks.items() if kind in RING_TICKS and said.voices
    }
    placed = {ring for ring, said in ears.places.items() if said.voices}
    names = ticked | placed | set(cut) | set(broken)
    return {name: _ring(ears, name, cut.get(name, 0), broken.get(name, 0)) for name in names}


def _ring(ears: Ears, name: str, cut: int, broken: int) -> Ring:
    ticks: dict[Kind, Mark] = {}
    undone: dict[Kind, Mark] = {}
    for kind in RING_TICKS:
        register = ears.ticks.get((name, kind))
        if register is not None and register.top is not None:
            ticks[kind] = mark(register.top.entry)
        elif register is not None and register.voices:
            undone[kind] = mark(register.voices[0].entry)
    place, stack, since = _where(ears, name)
    return Ring(name, cut, broken, ticks, undone, place, stack, since)


def _where(ears: Ears, ring: str) -> tuple[Place | None, str | None, Mark | None]:
    register = ears.places.get(ring)
    top = register.top if register is not None else None
    if top is None or not isinstance(top.value, tuple):
        return None, None, None
    place, stack = top.value
    return place, stack, mark(top.entry)


def _counts(ears: Ears, key: str) -> dict[str, int]:
    found: dict[str, int] = {}
    for entry in ears.records_of(Kind.CUT):
        value = number(entry.data.get(key))
        if value is not None and value >= 1:
            found[entry.subject] = found.get(entry.subject, 0) + math.floor(value)
    return found


def _steps(ears: Ears) -> dict[str, dict[Kind, Mark]]:
    found: dict[str, dict[Kind, Mark]] = {}
    for (subject, kind), register in ears.ticks.items():
        if kind not in RING_TICKS and register.top is not None:
            found.setdefault(subject, {})[kind] = mark(register.top.entry)
    return found


def _readings(ears: Ears, runs: Iterable[PressRun]) -> Iterator[Reading]:
    """What was measured, and the room's temperature and humidity noted at each press."""
    for entry in ears.records_of(Kind.MEASURED):
        quantity = word(entry, "quantity")
        value = number(entry.data.get("value_mm", entry.data.get("value")))
        if quantity is not None and value is not None:
            yield Reading(mark(entry), entry.subject, quantity, value)
    for run in runs:
        for quantity in ROOM_QUANTITIES:
            value = getattr(run, quantity)
            if value is not None:
                yield Reading(run.clamped, run.ring, quantity, value)


def _undone(ears: Ears) -> Iterator[str]:
    """Entries whose word no longer stands, because it was taken back."""
    for entry_id, (register, voice) in ears.said.items():
        stands = any(layer is voice.asserted for layer in register.layers)
        contested = any(held.entry.id == entry_id for held in register.held)
        if voice.holds and not stands and not contested:
            yield entry_id


def _by_subject(entries: Iterable[Entry]) -> dict[str, tuple[Entry, ...]]:
    found: dict[str, tuple[Entry, ...]] = {}
    for entry in entries:
        found[entry.subject] = (*found.get(entry.subject, ()), entry)
    return found
