"""Small readings of an entry: when, who, and the numbers in its data."""

import math
from datetime import datetime
from typing import Any

from server.craft.floor.state import Mark
from server.craft.ledger import Entry

LONGEST_MINUTES = 60.0 * 24 * 30
"""No timer of the floor runs longer than thirty days; more than that is a slip of the finger."""


def happened(entry: Entry) -> datetime:
    """When it happened: the device's word, but never later than the server heard of it."""
    return min(entry.at, entry.received_at)


def mark(entry: Entry) -> Mark:
    """Who and when."""
    return Mark(entry.id, entry.seq, happened(entry), entry.device)


def number(value: Any) -> float | None:
    """A finite number out of an entry's data, or None."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if math.isfinite(value) else None


def minutes_of(entry: Entry, key: str = "minutes") -> float | None:
    """A length of time in minutes, more than 0 and no longer than a month, or None."""
    value = number(entry.data.get(key))
    return value if value is not None and 0 < value <= LONGEST_MINUTES else None


def word(entry: Entry, key: str) -> str | None:
    """A text out of an entry's data, or None."""
    value = entry.data.get(key)
    return value if isinstance(value, str) and value else None
