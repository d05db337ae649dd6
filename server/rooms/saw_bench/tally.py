"""What was cut and what was lost, strip by strip, out of the ledger."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from server.craft.floor import Floor
from server.craft.ledger import Entry, Kind
from server.craft.results import StripRow

KNOWN_TO_DEVICE = 60
"""Newest lines that the sheet names, so that a device can tell which of its own are in it."""


@dataclass(frozen=True, slots=True)
class Tally:
    """One strip's count: good segments, broken ones, and the lines that said so, oldest first."""

    cut: int = 0
    broken: int = 0
    entries: tuple[Entry, ...] = ()
    undone: tuple[Entry, ...] = ()

    @property
    def newest(self) -> Entry | None:
        """The line that undo takes back."""
        return self.entries[-1] if self.entries else None


def subject_of(row: StripRow) -> str:
    """What a cut is written down about: the ring for its segments, else the strip itself."""
    in_ring = row.kind in ("segment", "stave") and row.ring is not None
    return row.ring if in_ring and row.ring is not None else row.id


def needed(row: StripRow, spare: int) -> int:
    """How many go into the piece; the rest of the row's count is to spare."""
    return row.count - spare if row.kind in ("segment", "stave", "spacer") else row.count


def tallies(floor: Floor, rows: Sequence[StripRow]) -> dict[str, Tally]:
    """The tally of every strip of a piece."""
    standing: dict[str, list[Entry]] = {row.id: [] for row in rows}
    undone: dict[str, list[Entry]] = {row.id: [] for row in rows}
    for entry in sorted(floor.journal, key=lambda entry: entry.seq):
        row = _row_of(entry, rows) if entry.kind is Kind.CUT else None
        if row is not None:
            (undone if entry.id in floor.undone else standing)[row.id].append(entry)
    return {
        name: Tally(
            _sum(entries, "count"), _sum(entries, "broken"), tuple(entries), tuple(undone[name])
        )
        for name, entries in standing.items()
    }


def amount(entry: Entry, key: str) -> int:
    """A count in a line, 0 where there is none."""
    value = entry.data.get(key)
    right = isinstance(value, int | float) and not isinstance(value, bool) and value >= 1
    return int(value) if right and value is not None else 0


def _row_of(entry: Entry, rows: Sequence[StripRow]) -> StripRow | None:
    """A line names its strip; one from elsewhere may name only the ring, or the ring's wood."""
    about = [row for row in rows if subject_of(row) == entry.subject]
    for key, name in (("strip", "id"), ("wood", "wood")):
        named = [row for row in about if getattr(row, name) == entry.data.get(key)]
        if named:
            return named[0]
    return about[0] if about else None


def _sum(entries: Iterable[Entry], key: str) -> int:
    return sum(amount(entry, key) for entry in entries)
