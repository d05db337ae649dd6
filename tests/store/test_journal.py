"""Which journal each SQLite may be trusted with (sqlite.org/wal.html, WAL-reset bug)."""

import sqlite3

import pytest

from server.store.journal import Journal, journal_for

WAL = Journal("WAL", "FULL")
ROLLBACK = Journal("DELETE", "EXTRA")


@pytest.mark.parametrize(
    ("version", "expected"),
    [
        ((3, 7, 0), ROLLBACK),
        ((3, 40, 1), ROLLBACK),  # Debian 12
        ((3, 44, 5), ROLLBACK),
        ((3, 44, 6), WAL),
        ((3, 44, 9), WAL),
        ((3, 45, 0), ROLLBACK),
        ((3, 46, 1), ROLLBACK),  # Debian 13
        ((3, 50, 6), ROLLBACK),
        ((3, 50, 7), WAL),
        ((3, 51, 0), ROLLBACK),
        ((3, 51, 2), ROLLBACK),
        ((3, 51, 3), WAL),
        ((3, 52, 0), WAL),
        ((4, 0, 0), WAL),
    ],
)
def test_only_a_repaired_sqlite_gets_a_write_ahead_log(
    version: tuple[int, int, int], expected: Journal
) -> None:
    assert journal_for(version) == expected


def test_the_levels_are_sqlites_own() -> None:
    raw = sqlite3.connect(":memory:")
    for journal in (WAL, ROLLBACK):
        raw.execute(f"PRAGMA synchronous={journal.synchronous}")
        assert raw.execute("PRAGMA synchronous").fetchone() == (journal.synchronous_level,)
    raw.close()
