"""What happened on the shop floor: one entry each, never edited. Folds over them are pure."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any


class Kind(StrEnum):
    """What an entry says was done."""

    CUT = "cut"
    DRY_FITTED = "dry-fitted"
    HALVES_GLUED = "halves-glued"
    TRUED = "trued"
    CLOSED = "closed"
    FLATTENED = "flattened"
    CLAMPED = "clamped"
    RELEASED = "released"
    STACKED = "stacked"
    TURNED = "turned"
    BORED = "bored"
    USED = "used"
    MEASURED = "measured"
    PHOTO = "photo"
    NOTE = "note"
    UNDONE = "undone"


@dataclass(frozen=True, slots=True)
class EntryDraft:
    """What a device says was done; `id` is a UUID made by the device.

    `at` is its word for when it happened, aware; `at_said` is that word as it was written, offset
    and all. `seen_seq` is the newest entry that the device knew when it spoke; an entry that
    contradicts one after it was said in ignorance and is contested.
    """

    id: str
    piece: str
    kind: Kind
    subject: str
    at: datetime
    part: str | None = None
    note: str | None = None
    device: str | None = None
    undoes: str | None = None
    seen_seq: int | None = None
    data: Mapping[str, Any] = field(default_factory=dict)
    at_said: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(EntryDraft):
    """One line of the ledger; `received_at` is the server's word for when it arrived, aware."""

    seq: int
    received_at: datetime
