"""A ledger for tests: entries as three devices in a shop would write them."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from server.craft.ledger import Entry, Kind

NOON = datetime(2031, 3, 5, 12, 0, tzinfo=UTC)


class FloorLog:
    """Entries in the order in which a server took them in, one minute apart."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []

    @property
    def seq(self) -> int:
        return len(self.entries)

    @property
    def now(self) -> datetime:
        return NOON + timedelta(minutes=self.seq)

    def say(
        self,
        kind: Kind,
        subject: str,
        *,
        device: str | None = "Tablet",
        seen: int | None = None,
        at: datetime | None = None,
        undoes: Entry | None = None,
        **data: Any,
    ) -> Entry:
        seq = self.seq + 1
        received = NOON + timedelta(minutes=seq)
        entry = Entry(
            id=f"e{seq}",
            seq=seq,
            piece="p",
            kind=kind,
            subject=subject,
            at=at or received,
            received_at=received,
            device=device,
            undoes=undoes.id if undoes else None,
            seen_seq=self.seq if seen is None else seen,
            data=data,
        )
        self.entries.append(entry)
        return entry

    def undo(self, entry: Entry, *, device: str = "Tablet", seen: int | None = None) -> Entry:
        return self.say(Kind.UNDONE, entry.subject, device=device, seen=seen, undoes=entry)


@pytest.fixture
def log() -> FloorLog:
    return FloorLog()


@pytest.fixture
def noon() -> datetime:
    return NOON


@pytest.fixture
def new_log() -> Callable[[], FloorLog]:
    return FloorLog
