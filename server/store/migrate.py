"""Bring a database to the tables of this program, all in one transaction or not at all."""

import sqlite3
from pathlib import Path

from sqlalchemy import Connection

from server.paths import MIGRATIONS
from server.store.database import open_engine
from server.store.errors import StoreRefused


def schema_of(path: Path) -> str | None:
    """The schema version of a database file, None when it has no tables of ours yet."""
    if not path.exists():
        return None
    raw = sqlite3.connect(f"file:{path}?mode=rw", uri=True)
    try:
        row = raw.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.OperationalError:
        return None
    finally:
        raw.close()
    return None if row is None else str(row[0])


def known_schemas() -> list[str]:
    """The schema versions that this program knows, oldest first: its migrations, numbered."""
    return sorted(file.name[:4] for file in (MIGRATIONS / "versions").glob("[0-9]*.py"))


def newest_schema() -> str:
    """The schema version that this program works with."""
    return known_schemas()[-1]


def needs_migration(path: Path) -> bool:
    """Whether the file is older than this program.

    Raises StoreRefused when it is newer, naming the program version that wrote it last.
    """
    found = schema_of(path)
    if found is not None and found not in known_schemas():
        raise StoreRefused(
            "This database was written by a newer Ringwright"
            f"{_writer(path)}. Start that version; nothing was changed."
        )
    return found != newest_schema()


def migrate(path: Path) -> None:
    """Bring the file to the newest schema. A kill at any moment leaves the old one or the new.

    Raises StoreRefused when the result does not hold together; nothing is changed then.
    """
    from alembic import command  # only a start that migrates pays for it
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    engine = open_engine(path, foreign_keys=False, pooled=False).execution_options(write=True)
    try:
        with engine.begin() as connection:
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
            _assert_whole(connection)
    finally:
        engine.dispose()


def _assert_whole(connection: Connection) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if broken:
        raise StoreRefused(f"Moving the database on would leave {len(broken)} rows without owner.")


def _writer(path: Path) -> str:
    raw = sqlite3.connect(f"file:{path}?mode=rw", uri=True)
    try:
        row = raw.execute("SELECT value FROM marks WHERE name = 'program_version'").fetchone()
    except sqlite3.OperationalError:
        return ""
    finally:
        raw.close()
    return "" if row is None else f" ({row[0]})"
