"""Bring a database to the tables of this program, all in one transaction or not at all."""

import sqlite3
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
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


def newest_schema() -> str:
    """The schema version that this program works with."""
    head = ScriptDirectory.from_config(_config()).get_current_head()
    assert head is not None, "the program carries no migrations"
    return head


def needs_migration(path: Path) -> bool:
    """Whether the file is older than this program.

    Raises StoreRefused when it is newer, naming the program version that wrote it last.
    """
    found = schema_of(path)
    known = {script.revision for script in ScriptDirectory.from_config(_config()).walk_revisions()}
    if found is not None and found not in known:
        raise StoreRefused(
            "This database was written by a newer Ringwright"
            f"{_writer(path)}. Start that version; nothing was changed."
        )
    return found != newest_schema()


def migrate(path: Path) -> None:
    """Bring the file to the newest schema. A kill at any moment leaves the old one or the new.

    Raises StoreRefused when the result does not hold together; nothing is changed then.
    """
    engine = open_engine(path, foreign_keys=False, pooled=False).execution_options(write=True)
    try:
        with engine.begin() as connection:
            config = _config()
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
            _assert_whole(connection)
    finally:
        engine.dispose()


def current_revision(connection: Connection) -> str | None:
    """The schema version as the open connection sees it."""
    return MigrationContext.configure(connection).get_current_revision()


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    return config


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
