"""The floor of every piece, kept up with the ledger: what runs, what is next, what to show.

The book hears each line of the ledger once and folds a piece again when it heard of it; it asks for
what is new when something was saved.
"""

import threading
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import NamedTuple

from fastapi import FastAPI, HTTPException, Request

from server.craft.document import DocumentError
from server.craft.floor import (
    Ears,
    Floor,
    Settled,
    StackOrder,
    Timer,
    settled,
    soonest_first,
    what_next,
)
from server.craft.glue.learned import SuggestedTimes, suggested_times
from server.craft.ledger import Entry, Kind
from server.craft.planned import Planned
from server.store import ledger, pieces
from server.store.database import Store
from server.store.opening import last_seen
from server.web import kept
from server.web.drawn import DrawnPieces
from server.web.frame import HeadTimer, NextLine
from server.web.kept import Kept
from server.web.last_used import LastUsed
from server.web.orders import stack_orders

TITLES = {
    "press": "In the press on {plate}",
    "halves": "Half rings of ring {ring} set",
    "rest": "Resting on {plate}",
    "cure": "Curing on {plate}",
}

_TIMES_KEPT = 32


class RingName(NamedTuple):
    """A ring's number in its part, which other parts have too, and the letter of its faceplate."""

    label: str
    faceplate: str


class FloorBook:
    """What the ledger says of each piece. Safe from several threads."""

    def __init__(self, store: Store, kept: Kept) -> None:
        self._store, self._kept = store, kept
        self._lock = threading.Lock()
        self._ears: dict[str, Ears] = {}
        self._settled: dict[str, Settled] = {}
        self._seq = 0
        self._heard_at = -1
        self._last_piece: str | None = None
        self._times = LastUsed[tuple[int, str, float], tuple[SuggestedTimes | None]](_TIMES_KEPT)
        self._orders: dict[tuple[str, int], tuple[StackOrder, ...]] = {}

    def look(self, piece: str, now: datetime) -> tuple[Floor, int]:
        """The floor of one piece at `now`, and the newest line of the whole ledger in it."""
        with self._lock:
            self._listen()
            return self._floor(piece, now), self._seq

    def lines(self, piece: str | None = None) -> list[Entry]:
        """The lines of the ledger about one piece or about all, oldest first."""
        with self._lock:
            self._listen()
            if piece is not None:
                return list(self._ears.get(piece, Ears()).heard)
            every = [entry for ears in self._ears.values() for entry in ears.heard]
        return sorted(every, key=lambda entry: entry.seq)

    def floor(self, piece: str, now: datetime) -> Floor:
        """The floor of one piece at `now`, every line of the ledger so far heard."""
        return self.look(piece, now)[0]

    def last_piece(self) -> str | None:
        """The piece that the newest line speaks of."""
        with self._lock:
            self._listen()
            return self._last_piece

    def floors(self, now: datetime) -> dict[str, Floor]:
        """The floor of every piece that the ledger names."""
        with self._lock:
            self._listen()
            return {piece: self._floor(piece, now) for piece in self._ears}

    def suggested_times(self, glue: str, temperature_c: float) -> SuggestedTimes | None:
        """What the log of all pieces says of a glue; worked out again when a line was heard."""
        asked = (self.last_seq(), glue, temperature_c)
        return self._times.get(
            asked, lambda: (suggested_times(self.lines(), glue, temperature_c),)
        )[0]

    def last_seq(self) -> int:
        """The newest line heard."""
        with self._lock:
            self._listen()
            return self._seq

    def uses(self) -> list[Entry]:
        """Every use of the rack by any piece that was not undone, oldest first."""
        with self._lock:
            self._listen()
            found = [use for ears in self._ears.values() for use in ears.records_of(Kind.USED)]
        return sorted(found, key=lambda use: use.seq)

    def timers(self, now: datetime) -> tuple[Timer, ...]:
        """All times that run, of all pieces, soonest first."""
        return soonest_first(timer for floor in self.floors(now).values() for timer in floor.timers)

    def orders(self, record: pieces.PieceRecord) -> tuple[StackOrder, ...]:
        """What a drawing asks of the floor; worked out once for each revision."""
        key = (record.id, record.revision)
        if key not in self._orders:
            self._orders[key] = stack_orders(record.document)
        return self._orders[key]

    def record(self, piece: str | None) -> pieces.PieceRecord | None:
        """A kept piece that is not put away; the one drawn last where none is named."""
        if piece is None:
            return next(iter(self._kept.get(pieces.list_pieces)), None)
        record = self._kept.get(pieces.get_piece, piece)
        return record if record is not None and not record.archived else None

    def worked_on_last(self) -> str | None:
        """The piece that the ledger names last, or else that was drawn last; none put away."""
        record = self.record(self.last_piece()) or self.record(None)
        return record.id if record is not None else None

    def rings(self, wanted: Iterable[str]) -> dict[str, dict[str, RingName]]:
        """What the rings of pieces are called; without those put away."""
        known = {piece: self.record(piece) for piece in wanted}
        return {piece: rings_of(self.orders(record)) for piece, record in known.items() if record}

    def _floor(self, piece: str, now: datetime) -> Floor:
        if piece not in self._ears:
            return settled(Ears()).at(now)
        if piece not in self._settled:
            self._settled[piece] = settled(self._ears[piece])
        return self._settled[piece].at(now)

    def _listen(self) -> None:
        commits = self._store.commits
        if commits == self._heard_at:
            return
        with self._store.read() as session:
            newest = ledger.last_seq(session)
            if newest < self._seq:  # an older ledger was put back
                self._ears.clear()
                self._settled.clear()
                self._times.clear()
                self._seq = 0
            heard = ledger.entries_after(session, self._seq) if newest > self._seq else []
        for entry in heard:
            self._ears.setdefault(entry.piece, Ears()).hear(entry)
            self._settled.pop(entry.piece, None)
            self._seq, self._last_piece = entry.seq, entry.piece
        self._heard_at = commits


def install(app: FastAPI) -> None:
    """Give the app its book, and the frame what it shows of it."""
    book = FloorBook(app.state.store, kept.install(app))
    app.state.floors, app.state.drawn = book, DrawnPieces()
    app.state.head_timers = lambda now: head_timers(book, now)
    app.state.next_line = lambda piece, now: next_line(book, piece, now)
    app.state.last_seq = book.last_seq
    app.state.off = off_before(app.state.store, app.state.clock())


def off_before(store: Store, now: datetime) -> tuple[datetime, datetime] | None:
    """From when to when the server was not running before this start; None at the very first.

    After a crash the beginning is the last moment remarked, up to five minutes early.
    """
    seen = last_seen(store)
    return None if seen is None else (seen, now)


def drawn_of(request: Request) -> DrawnPieces:
    """The drawings worked out."""
    drawn: DrawnPieces = request.app.state.drawn
    return drawn


def piece_of(request: Request, piece_id: str) -> pieces.PieceRecord:
    """A kept piece, put away or not. Raises 404 where there is none."""
    record = kept.kept(request, pieces.get_piece, piece_id)
    if record is None:
        raise HTTPException(404, "There is no such piece.")
    return record


def planned_of(request: Request, record: pieces.PieceRecord) -> Planned:
    """A kept drawing worked out. Raises 409 for one that cannot be read."""
    try:
        return drawn_of(request).planned(record)
    except DocumentError as error:
        raise HTTPException(409, f"This drawing cannot be read: {error}") from error


def off_of(request: Request) -> tuple[datetime, datetime] | None:
    """When the server was last off."""
    off: tuple[datetime, datetime] | None = request.app.state.off
    return off


def floors_of(request: Request) -> FloorBook:
    """The app's book."""
    book: FloorBook = request.app.state.floors
    return book


def next_line(book: FloorBook, piece: str | None, now: datetime) -> NextLine | None:
    """What to do now on a piece, or on the one worked on last; None where nothing is drawn."""
    record = book.record(piece or book.last_piece())
    if record is None:
        return None
    thing = what_next(book.orders(record), book.floor(record.id, now), now)
    if thing.action == "nothing":
        return None
    bench = {"cut": "saw-bench", "turn": "lathe"}.get(thing.action, "glue-bench")
    href = f"/pieces/{record.id}/{bench}"
    return NextLine(thing.do, record.name, thing.faceplate or "", href, record.id)


def head_timers(book: FloorBook, now: datetime) -> list[HeadTimer]:
    """The running times as the head shows them, of every piece that is not put away."""
    timers = book.timers(now)
    rings = book.rings({timer.piece for timer in timers})
    return [_head_timer(t, rings[t.piece], now) for t in timers if t.piece in rings]


def _head_timer(timer: Timer, rings: Mapping[str, RingName], now: datetime) -> HeadTimer:
    ring = rings.get(timer.subject, RingName(timer.subject, ""))
    plate = timer.faceplate or "the stack"
    return HeadTimer(
        id=timer.id,
        letter=timer.faceplate or ring.faceplate or ring.label,
        title=TITLES[timer.kind].format(plate=plate, ring=ring.label),
        ring=ring.label if timer.kind == "halves" else "",
        deadline=timer.deadline,
        kind=timer.kind,
        href=f"/pieces/{timer.piece}/glue-bench",
        now=now,
        heard=timer.heard,
        piece=timer.piece,
        subject=timer.subject,
    )


def rings_of(stacks: Iterable[StackOrder]) -> dict[str, RingName]:
    """What each stacked ring is called at the bench, and the faceplate it goes on."""
    return {
        ring.id: RingName(ring.label, stack.faceplate) for stack in stacks for ring in stack.rings
    }
