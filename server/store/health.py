"""Whether a database file is whole. It is only looked at: never altered, never moved."""

import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from server.store.errors import StoreRefused
from server.store.marks import CHECKED_AT, STOPPED

FULL_CHECK_EVERY = timedelta(days=7)
WENT_WELL = "cleanly"


class StoreDamaged(StoreRefused):
    """The database is not whole. `newest_backup` is the newest whole copy, if there is one."""

    def __init__(self, path: Path, faults: list[str], newest_backup: Path | None) -> None:
        super().__init__(
            f"The database {path} is damaged, and was not touched. "
            + (
                f"The newest whole copy is {newest_backup}."
                if newest_backup
                else "There is no whole copy of it."
            )
        )
        self.path = path
        self.faults = faults
        self.newest_backup = newest_backup


@dataclass(frozen=True, slots=True)
class Health:
    """What a look at the file found; `thorough` says how closely it was looked at."""

    faults: list[str]
    thorough: bool


def look_at(path: Path, now: datetime, *, thorough: bool = False) -> Health:
    """Check a database file: quickly, or thoroughly once a week and after an unclean stop."""
    try:
        raw = sqlite3.connect(f"file:{path}?mode=rw", uri=True, timeout=10)
    except sqlite3.Error as error:
        return Health([str(error)], thorough)
    try:
        thorough = thorough or _is_due(raw, now)
        return Health(_faults(raw, thorough), thorough)
    except sqlite3.DatabaseError as error:
        return Health([str(error)], thorough)
    finally:
        raw.close()


def _faults(raw: sqlite3.Connection, thorough: bool) -> list[str]:
    check = "integrity_check" if thorough else "quick_check"
    found = [str(row[0]) for row in raw.execute(f"PRAGMA {check}(20)") if row[0] != "ok"]
    orphans = raw.execute("PRAGMA foreign_key_check").fetchall()
    if orphans:
        found.append(f"{len(orphans)} rows refer to something that is not there")
    return found


def _is_due(raw: sqlite3.Connection, now: datetime) -> bool:
    try:
        marks = dict(
            raw.execute(
                "SELECT name, value FROM marks WHERE name IN (?, ?)", (STOPPED, CHECKED_AT)
            ).fetchall()
        )
    except sqlite3.OperationalError:  # no marks yet: a database that was never finished
        return True
    if marks.get(STOPPED) != WENT_WELL or CHECKED_AT not in marks:
        return True
    checked = datetime.fromisoformat(marks[CHECKED_AT])
    return abs(now.astimezone(UTC) - checked) > FULL_CHECK_EVERY
