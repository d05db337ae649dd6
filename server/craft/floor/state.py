"""The state of the shop floor as values: what is ticked, on, in the press, resting, contested."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal

from server.craft.ledger import Entry, Kind

TimerKind = Literal["press", "halves", "rest", "cure"]
Place = Literal["press", "on"]

RING_TICKS: tuple[Kind, ...] = (
    Kind.DRY_FITTED,
    Kind.HALVES_GLUED,
    Kind.TRUED,
    Kind.CLOSED,
    Kind.FLATTENED,
)


@dataclass(frozen=True, slots=True)
class Mark:
    """Who said it and when. `at` is never later than when the server heard of it."""

    entry_id: str
    seq: int
    at: datetime
    device: str | None


@dataclass(frozen=True, slots=True)
class Claim:
    """One side of a contradiction: `holds` says the kind is so, or is not so."""

    mark: Mark
    kind: Kind
    holds: bool
    stack: str | None


@dataclass(frozen=True, slots=True)
class Contest:
    """Two said different about `subject`. `standing` is what applies until one tap settles it.

    `standing` is None where nothing was ever said on that side but elsewhere, as when another
    ring is in the same press; `against` then names that ring.
    """

    subject: str
    kind: Kind
    standing: tuple[Claim, ...]
    held: tuple[Claim, ...]
    against: str | None = None


@dataclass(frozen=True, slots=True)
class Ring:
    """One ring on the floor: `cut` counts good segments, `broken` those that were lost.

    `since` is the entry that put the ring where it is, `place` None while it lies on the bench.
    """

    id: str
    cut: int = 0
    broken: int = 0
    ticks: Mapping[Kind, Mark] = field(default_factory=dict)
    undone: Mapping[Kind, Mark] = field(default_factory=dict)
    place: Place | None = None
    stack: str | None = None
    since: Mark | None = None


@dataclass(frozen=True, slots=True)
class Timer:
    """A time that runs. `minutes` never changes; more time is added beside it.

    `heard` is true when somebody has quieted its alarm for the present deadline.
    """

    id: str
    piece: str
    kind: TimerKind
    subject: str
    stack: str | None
    faceplate: str | None
    started_at: datetime
    minutes: float
    added_minutes: float = 0.0
    heard: bool = False

    @property
    def deadline(self) -> datetime:
        """When it is over, aware."""
        return self.started_at + timedelta(minutes=self.minutes + self.added_minutes)

    def left_s(self, now: datetime) -> float:
        """Seconds left, negative when it is over."""
        return (self.deadline - now).total_seconds()

    def over(self, now: datetime) -> bool:
        """Whether the time has come; what is to be done then, a person does and ticks."""
        return now >= self.deadline


@dataclass(frozen=True, slots=True)
class PressRun:
    """One stay in the press as it was: times in minutes, temperature in °C, humidity in %."""

    ring: str
    stack: str | None
    faceplate: str | None
    glue: str | None
    clamped: Mark
    released: Mark | None
    planned_minutes: float | None
    temperature_c: float | None
    humidity_percent: float | None

    @property
    def minutes(self) -> float | None:
        """How long it was in, None while it is."""
        if self.released is None:
            return None
        return (self.released.at - self.clamped.at).total_seconds() / 60


@dataclass(frozen=True, slots=True)
class Stack:
    """One stack: rings that are `on`, first at the faceplate, and those `in_press` now."""

    id: str
    faceplate: str | None = None
    on: tuple[str, ...] = ()
    in_press: tuple[str, ...] = ()
    press: Timer | None = None
    rest_until: datetime | None = None
    ready_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """A value measured on the floor, in the unit that its quantity names."""

    mark: Mark
    subject: str
    quantity: str
    value: float


@dataclass(frozen=True, slots=True)
class Floor:
    """Everything the ledger says of one piece, as it is at `now`.

    `clock_behind_s` is more than 0 when the server's clock is earlier than what it has already
    seen: `now` is then the last time seen, so that no timer fires or grows.
    """

    now: datetime
    last_seq: int = 0
    rings: Mapping[str, Ring] = field(default_factory=dict)
    stacks: Mapping[str, Stack] = field(default_factory=dict)
    steps: Mapping[str, Mapping[Kind, Mark]] = field(default_factory=dict)
    timers: tuple[Timer, ...] = ()
    contests: tuple[Contest, ...] = ()
    runs: tuple[PressRun, ...] = ()
    readings: tuple[Reading, ...] = ()
    used: Mapping[str, tuple[Entry, ...]] = field(default_factory=dict)
    photos: Mapping[str, tuple[Entry, ...]] = field(default_factory=dict)
    notes: Mapping[str, tuple[Entry, ...]] = field(default_factory=dict)
    undone: frozenset[str] = frozenset()
    journal: tuple[Entry, ...] = ()
    clock_behind_s: float = 0.0

    def ring(self, ring_id: str) -> Ring:
        """The ring's state, an untouched one where the ledger does not name it."""
        return self.rings.get(ring_id) or Ring(ring_id)

    def stack(self, stack_id: str) -> Stack:
        """The stack's state, an empty one where the ledger does not name it."""
        return self.stacks.get(stack_id) or Stack(stack_id)

    def last_use(self, item_id: str) -> Entry | None:
        """The newest use of an item of the rack that was not undone."""
        uses = self.used.get(item_id)
        return uses[-1] if uses else None

    def latest(self, quantity: str) -> Reading | None:
        """The newest reading of a quantity, whatever it was measured on."""
        found = [reading for reading in self.readings if reading.quantity == quantity]
        return max(found, key=lambda reading: (reading.mark.at, reading.mark.seq), default=None)
