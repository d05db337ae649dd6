"""Who said what about one thing, and what stands.

A claim never toggles: it says how a thing is. Two devices that say the same agree. One that
contradicts something it could not have known is held beside it, not applied and not lost,
until an entry that has seen both settles it.
"""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, field

from server.craft.ledger import Entry


def knows(entry: Entry, other: Entry) -> bool:
    """Whether whoever wrote `entry` can have known of `other`.

    A device knows its own entries, what it undoes, and all up to `seen_seq`. An entry without
    `seen_seq` was not written in a queue on a device; it is taken to know what lies before it.
    """
    if entry.seen_seq is None or other.seq <= entry.seen_seq:
        return True
    same_device = entry.device is not None and entry.device == other.device
    return same_device or entry.undoes == other.id


@dataclass(slots=True)
class Assertion:
    """One thing said, by the entry that said it first and those that agreed."""

    value: Hashable
    entry: Entry
    adds: list[Entry] = field(default_factory=list)


@dataclass(slots=True)
class Voice:
    """One entry's word on a register: `asserted`, or its opposite where `holds` is false."""

    entry: Entry
    asserted: Assertion
    holds: bool


@dataclass(slots=True)
class Register:
    """The state of one thing: what was asserted and stands, newest last, and what is held."""

    layers: list[Assertion] = field(default_factory=list)
    voices: list[Voice] = field(default_factory=list)
    held: list[Voice] = field(default_factory=list)

    @property
    def top(self) -> Assertion | None:
        """What stands now, or None."""
        return self.layers[-1] if self.layers else None

    def hear(self, voice: Voice, others: Iterable[Entry] = ()) -> None:
        """Take in one entry; `others` are entries elsewhere that would contradict it too."""
        if not voice.holds and self._withdraws(voice):
            return
        informed = all(knows(voice.entry, v.entry) for v in (*self.voices, *self.held))
        unknown = [entry for entry in others if not knows(voice.entry, entry)]
        if self._buried(voice) and informed:
            self.layers.remove(voice.asserted)
        elif self._agrees(voice) and not self._buried(voice):
            if voice.holds and self.top is not None:
                voice.asserted = self.top
            self.voices.append(voice)
            if informed:
                self._settle()
        elif informed and not unknown:
            self._apply(voice)
        else:
            self.held.append(voice)

    def _agrees(self, voice: Voice) -> bool:
        same = self.top is not None and self.top.value == voice.asserted.value
        return same == voice.holds

    def _buried(self, voice: Voice) -> bool:
        """An undo of something that no longer decides: it goes without a word."""
        return not voice.holds and any(a is voice.asserted for a in self.layers[:-1])

    def _withdraws(self, voice: Voice) -> bool:
        """An undo of a held word takes that word back; the rest stays held."""
        target = voice.asserted.entry.id
        mine = [v for v in self.held if v.holds and v.entry.id == target]
        if not mine:
            return False
        self.held = [v for v in self.held if v.entry.id != target]
        if all(knows(voice.entry, v.entry) for v in (*self.voices, *self.held)):
            self._settle()
            self.voices.append(voice)
        return True

    def _apply(self, voice: Voice) -> None:
        if voice.holds:
            self.layers.append(voice.asserted)
        else:
            self.layers.pop()
        self.voices = [voice]
        self._settle()

    def _settle(self) -> None:
        """Nothing is held any more; those who said what now stands stand with it."""
        for voice in self.held:
            if self.top is not None and voice.asserted.value == self.top.value and voice.holds:
                voice.asserted = self.top
        self.held.clear()
