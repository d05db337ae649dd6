"""The journal as a book: days, each with its lines in the order in which things happened."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from itertools import groupby

from server.craft.ledger import Entry, Kind
from server.rooms.journal.names import Names
from server.rooms.journal.telling import is_told, told

PAGE_LINES = 200

GROUPS: Mapping[str, frozenset[Kind]] = {
    "saw": frozenset({Kind.CUT, Kind.USED}),
    "glue": frozenset(
        {
            Kind.DRY_FITTED,
            Kind.HALVES_GLUED,
            Kind.TRUED,
            Kind.CLOSED,
            Kind.FLATTENED,
            Kind.CLAMPED,
            Kind.RELEASED,
            Kind.STACKED,
        }
    ),
    "lathe": frozenset({Kind.TURNED, Kind.BORED}),
    "measured": frozenset({Kind.MEASURED}),
    "photos": frozenset({Kind.PHOTO, Kind.NOTE}),
}
GROUP_NAMES = {
    "": "All",
    "saw": "Saw",
    "glue": "Glue bench",
    "lathe": "Lathe",
    "measured": "Measured",
    "photos": "Notes and photos",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One line: `taken_back` when it was undone, `photo` the picture's address if it is one.

    `early` are the words for a tick that came before its turn.
    """

    entry: Entry
    at: datetime
    words: str
    note: str
    who: str
    photo: str
    piece: str
    title: str
    taken_back: bool
    early: str = ""

    @property
    def time(self) -> str:
        """The time of day."""
        return f"{self.at:%H:%M}"


@dataclass(frozen=True, slots=True)
class Day:
    """One day's lines, oldest first."""

    date: date
    lines: tuple[Line, ...]

    @property
    def heading(self) -> str:
        """The day in words."""
        return f"{self.date:%A}, {self.date.day} {self.date:%B %Y}"


def lines_of(
    entries: Iterable[Entry],
    names: Mapping[str, Names],
    zone: tzinfo,
    early: Mapping[str, str] | None = None,
) -> list[Line]:
    """Every line that belongs into the journal, oldest first; of pieces that have names only.

    `early` has words for the lines that came before their turn, by their ids.
    """
    known = [entry for entry in entries if entry.piece in names]
    gone = taken_back(known)
    told_ones = [entry for entry in known if is_told(entry)]
    odd = early or {}
    lines = [
        _line(entry, names[entry.piece], entry.id in gone, zone, odd.get(entry.id, ""))
        for entry in told_ones
    ]
    return sorted(lines, key=lambda line: (line.at, line.entry.seq))


def taken_back(entries: Sequence[Entry]) -> frozenset[str]:
    """Ids of the lines that an undo took back, an undo that was itself undone counting nothing."""
    gone: set[str] = set()
    for entry in sorted(entries, key=lambda one: one.seq, reverse=True):
        if entry.kind is Kind.UNDONE and entry.undoes is not None and entry.id not in gone:
            gone.add(entry.undoes)
    return frozenset(gone)


def _line(entry: Entry, names: Names, gone: bool, zone: tzinfo, early: str) -> Line:
    picture = entry.data.get("sha256") if entry.kind is Kind.PHOTO else None
    return Line(
        entry=entry,
        at=min(entry.at, entry.received_at).astimezone(zone),
        words=told(entry, names),
        note=entry.note or "",
        who=entry.device or "",
        photo=f"/api/pieces/{entry.piece}/photos/{picture}" if isinstance(picture, str) else "",
        piece=entry.piece,
        title=names.title,
        taken_back=gone,
        early="" if gone else early,
    )


def found(lines: Sequence[Line], query: str, group: str) -> list[Line]:
    """Lines that hold every word of the query, of that group of kinds."""
    words = query.casefold().split()
    kinds = GROUPS.get(group)
    return [
        line
        for line in lines
        if (kinds is None or line.entry.kind in kinds) and _holds(line, words)
    ]


def _holds(line: Line, words: Sequence[str]) -> bool:
    day = f"{line.at:%A %d %B %Y %H:%M}"
    text = " ".join((line.words, line.early, line.note, line.who, line.title, day)).casefold()
    return all(word in text for word in words)


def days_of(lines: Sequence[Line]) -> tuple[Day, ...]:
    """The lines by day, the newest day first."""
    days = [Day(day, tuple(group)) for day, group in groupby(lines, key=lambda one: one.at.date())]
    return tuple(reversed(days))


@dataclass(frozen=True, slots=True)
class Page:
    """A page of the book, counted from the newest: `older` and `newer` are page numbers or None.

    `number` is None for the whole book.
    """

    days: tuple[Day, ...]
    count: int
    number: int | None
    older: int | None
    newer: int | None


def page_of(lines: Sequence[Line], number: int | None) -> Page:
    """The page of that number, 1 the newest; beyond the last there is nothing to read.

    None is the whole book on one page.
    """
    if number is None:
        return Page(days_of(lines), len(lines), None, None, None)
    last = max(1, -(-len(lines) // PAGE_LINES))
    number = min(max(1, number), last)
    end = len(lines) - (number - 1) * PAGE_LINES
    shown = lines[max(0, end - PAGE_LINES) : end]
    older = number + 1 if number < last else None
    return Page(days_of(shown), len(lines), number, older, number - 1 if number > 1 else None)
