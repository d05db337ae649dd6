"""For tests that look into a database file without the program's own code."""

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

KEPT_TABLES = ("kept", "revisions", "ledger", "marks")


def rows(path: Path, table: str) -> list[list[tuple[str, object]]]:
    """Every row of a table, what is filled in by its column: a new, empty column adds nothing."""
    with closing(sqlite3.connect(path)) as raw:
        found = raw.execute(f"SELECT * FROM {table}")
        names = [column[0] for column in found.description]
        filled = [
            [(name, value) for name, value in zip(names, row, strict=True) if value is not None]
            for row in found
        ]
    return sorted(filled, key=repr)


def content_hash(path: Path, tables: tuple[str, ...] = KEPT_TABLES) -> str:
    """One digest over every row of the tables that the first schema had."""
    digest = hashlib.sha256()
    for table in tables:
        digest.update(repr((table, rows(path, table))).encode())
    return digest.hexdigest()


def is_whole(path: Path) -> bool:
    """SQLite's own thorough check."""
    with closing(sqlite3.connect(path)) as raw:
        broken = raw.execute("PRAGMA foreign_key_check").fetchall()
        return raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)] and not broken
