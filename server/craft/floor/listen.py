"""Reading the ledger in order: which entry speaks about which thing."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from server.craft.floor.claims import Assertion, Register, Voice
from server.craft.ledger import Entry, Kind

TICKS = frozenset(
    {
        Kind.DRY_FITTED,
        Kind.HALVES_GLUED,
        Kind.TRUED,
        Kind.CLOSED,
        Kind.FLATTENED,
        Kind.TURNED,
        Kind.BORED,
    }
)
PLACES = frozenset({Kind.CLAMPED, Kind.RELEASED, Kind.STACKED})


@dataclass(slots=True)
class Ears:
    """The registers that the entries heard so far have filled. Feed entries in order of `seq`."""

    ticks: dict[tuple[str, Kind], Register] = field(default_factory=dict)
    places: dict[str, Register] = field(default_factory=dict)
    records: dict[str, Register] = field(default_factory=dict)
    said: dict[str, tuple[Register, Voice]] = field(default_factory=dict)
    heard: list[Entry] = field(default_factory=list)

    def hear_all(self, entries: Iterable[Entry]) -> None:
        """Take in entries in any order, each once however often it is given."""
        known = {entry.id for entry in self.heard}
        fresh = {entry.id: entry for entry in entries if entry.id not in known}
        for entry in sorted(fresh.values(), key=lambda entry: entry.seq):
            self.hear(entry)

    def hear(self, entry: Entry) -> None:
        """Take in the next entry of the ledger."""
        self.heard.append(entry)
        if entry.kind is Kind.UNDONE:
            self._undo(entry)
        elif entry.kind is Kind.CLAMPED and "add_minutes" in entry.data:
            self._add_minutes(entry)
        elif entry.kind in PLACES:
            self._place(entry)
        elif entry.kind in TICKS:
            register = self.ticks.setdefault((entry.subject, entry.kind), Register())
            self._say(register, Voice(entry, Assertion(True, entry), True))
        else:
            self._record(entry)

    def records_of(self, kind: Kind) -> Iterator[Entry]:
        """Entries of a kind that only adds up, without those undone, oldest first."""
        for register in self.records.values():
            if register.top is not None and register.top.entry.kind is kind:
                yield register.top.entry

    def live(self, entry: Entry) -> bool:
        """Whether an entry that only adds up still counts."""
        register = self.records.get(entry.id)
        return register is not None and register.top is not None

    def _say(self, register: Register, voice: Voice, others: Iterable[Entry] = ()) -> None:
        self.said[voice.entry.id] = (register, voice)
        register.hear(voice, others)

    def _undo(self, entry: Entry) -> None:
        target = self.said.get(entry.undoes or "")
        if target is not None:
            register, voice = target
            self._say(register, Voice(entry, voice.asserted, not voice.holds))

    def _record(self, entry: Entry) -> None:
        register = self.records.setdefault(entry.id, Register())
        self._say(register, Voice(entry, Assertion(True, entry), True))

    def _place(self, entry: Entry) -> None:
        register = self.places.setdefault(entry.subject, Register())
        stack = self._stack_of(entry, register)
        place = "press" if entry.kind is Kind.CLAMPED else "on"
        others = self._in_press_with(stack, entry.subject) if place == "press" else ()
        self._say(register, Voice(entry, Assertion((place, stack), entry), True), others)

    def _add_minutes(self, entry: Entry) -> None:
        self._record(entry)
        top = self.places.get(entry.subject, Register()).top
        if top is not None and isinstance(top.value, tuple) and top.value[0] == "press":
            top.adds.append(entry)

    @staticmethod
    def _stack_of(entry: Entry, register: Register) -> str | None:
        named = entry.data.get("stack")
        if isinstance(named, str):
            return named
        top = register.top
        return top.value[1] if top is not None and isinstance(top.value, tuple) else None

    def _in_press_with(self, stack: str | None, ring: str) -> Iterator[Entry]:
        for other, register in self.places.items():
            top = register.top
            if other != ring and top is not None and top.value == ("press", stack):
                yield top.entry
