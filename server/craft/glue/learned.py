"""What the log of earlier presses suggests for the next: how long rings were really pressed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from statistics import median

from server.craft.ledger import Entry, Kind

LEAST_PRESSES = 3
"""Fewer presses than this suggest nothing."""

_LATEST = 20
_NEAR_C = 5.0
_FORGOTTEN = 3.0
_SAME_VISIT_MINUTES = 240.0


@dataclass(frozen=True, slots=True)
class Press:
    """One ring's press as logged. `minutes` from clamped to released."""

    ring: str
    stack: str
    glue: str | None
    temperature_c: float | None
    began_at: datetime
    minutes: float
    rest_minutes: float | None
    cure_hours: float | None


@dataclass(frozen=True, slots=True)
class SuggestedTimes:
    """Medians of the presses that are like the one asked about; `presses` says of how many.

    `changeover_minutes` is from taking one ring out to having the next in, on the same visit.
    """

    presses: int
    press_minutes: float
    rest_minutes: float | None
    cure_hours: float | None
    changeover_minutes: float | None


def logged_presses(entries: Iterable[Entry]) -> list[Press]:
    """Presses that were begun and ended in the ledger, in order; undone entries count for nothing.

    A ring that stayed in for more than three times what was set was forgotten there and is left
    out: it says nothing about how long the glue wants.
    """
    begun: dict[tuple[str, str], Entry] = {}
    asked: dict[tuple[str, str], float] = {}
    found: list[Press] = []
    for entry in _standing(entries):
        key = (entry.piece, entry.subject)
        if entry.kind is Kind.CLAMPED and "add_minutes" in entry.data:
            asked[key] = asked.get(key, 0.0) + (_number(entry, "add_minutes") or 0.0)
        elif entry.kind is Kind.CLAMPED:
            begun[key] = entry
            asked[key] = _number(entry, "minutes") or 0.0
        elif entry.kind is Kind.RELEASED and key in begun:
            press = _press(begun.pop(key), entry)
            if press.minutes >= 0 and press.minutes <= _FORGOTTEN * max(asked.pop(key), 1.0):
                found.append(press)
    return found


def suggested_times(
    entries: Iterable[Entry], glue: str | None = None, temperature_c: float | None = None
) -> SuggestedTimes | None:
    """Times for the next press with this glue at this temperature, None without enough of a log.

    Presses within 5 °C are used when there are enough of them, otherwise all with that glue.
    """
    presses = logged_presses(entries)
    like = [press for press in presses if glue is None or press.glue == glue]
    if temperature_c is not None:
        near = [
            press
            for press in like
            if press.temperature_c is not None
            and abs(press.temperature_c - temperature_c) <= _NEAR_C
        ]
        like = near if len(near) >= LEAST_PRESSES else like
    like = like[-_LATEST:]
    if len(like) < LEAST_PRESSES:
        return None
    return SuggestedTimes(
        len(like),
        median(press.minutes for press in like),
        _median([press.rest_minutes for press in like]),
        _median([press.cure_hours for press in like]),
        _median(_changeovers(presses)),
    )


def _standing(entries: Iterable[Entry]) -> list[Entry]:
    """Entries in order of what happened, without those that were undone."""
    known = list(entries)
    undone: set[str] = set()
    for entry in sorted(known, key=lambda entry: entry.seq, reverse=True):
        if entry.undoes is not None and entry.id not in undone:
            undone.add(entry.undoes)
    left = [e for e in known if e.id not in undone and e.kind is not Kind.UNDONE]
    return sorted(left, key=lambda entry: (entry.at, entry.seq))


def _press(begun: Entry, ended: Entry) -> Press:
    stack = ended.data.get("stack", begun.data.get("stack"))
    glue = begun.data.get("glue")
    return Press(
        ring=begun.subject,
        stack=stack if isinstance(stack, str) else "",
        glue=glue if isinstance(glue, str) else None,
        temperature_c=_number(begun, "temperature_c"),
        began_at=begun.at,
        minutes=(ended.at - begun.at).total_seconds() / 60,
        rest_minutes=_number(ended, "rest_minutes"),
        cure_hours=_number(ended, "cure_hours"),
    )


def _number(entry: Entry, name: str) -> float | None:
    value = entry.data.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value)


def _changeovers(presses: Sequence[Press]) -> list[float | None]:
    ordered = sorted(presses, key=lambda press: press.began_at)
    gaps: list[float | None] = []
    for before, after in pairwise(ordered):
        gap = (after.began_at - before.began_at).total_seconds() / 60 - before.minutes
        if 0 <= gap <= _SAME_VISIT_MINUTES:
            gaps.append(gap)
    return gaps


def _median(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return median(known) if len(known) >= LEAST_PRESSES else None
