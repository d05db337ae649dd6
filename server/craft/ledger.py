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
class Entry:
    """One line of the ledger.

    `at` is the device's word for when it happened, `received_at` the server's for when it
    arrived, both aware; `at_said` is that word as it was written, offset and all. `seen_seq`
    is the newest entry that the device knew when it spoke; an entry that contradicts one
    after it was said in ignorance and is contested.
    """

    id: str
    seq: int
    piece: str
    kind: Kind
    subject: str
    at: datetime
    received_at: datetime
    part: str | None = None
    note: str | None = None
    device: str | None = None
    undoes: str | None = None
    seen_seq: int | None = None
    data: Mapping[str, Any] = field(default_factory=dict)
    at_said: str | None = None
