"""The one database: how it is opened, read and written.

Every connection proves its pragmas. Writes take a lock of this process and then begin
immediately, so that two writers wait for each other instead of failing half-way.
"""

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DatabaseError, IntegrityError, ProgrammingError
from sqlmodel import Session

from server.store.errors import NotSaved, StoreError, StoreRefused
from server.store.journal import Journal, journal_for
from server.store.sole import SoleUse

BUSY_TIMEOUT_MS = 10_000
DATABASE_NAME = "ringwright.db"
# Threads of the web server that may read at once; each holds a connection only while it reads.
_CONNECTIONS_KEPT = 5
_CONNECTIONS_MORE = 60


def open_engine(
    path: Path, journal: Journal | None = None, *, foreign_keys: bool = True, pooled: bool = True
) -> Engine:
    """An engine whose connections all carry, and have proved, the chosen pragmas.

    `foreign_keys=False` is for migrations alone, which copy and drop tables.
    Raises StoreRefused when SQLite does not take a pragma.
    """
    chosen = journal or journal_for(sqlite3.sqlite_version_info)
    engine = create_engine(
        f"sqlite:///{path}",
        pool_size=_CONNECTIONS_KEPT if pooled else 1,
        max_overflow=_CONNECTIONS_MORE if pooled else 0,
    )

    @event.listens_for(engine, "connect")
    def _connect(raw: Any, _record: Any) -> None:
        raw.isolation_level = None  # the driver's own BEGIN never wraps DDL
        prepare(raw, chosen, foreign_keys=foreign_keys)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        write = connection.get_execution_options().get("write", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    return engine


def prepare(raw: sqlite3.Connection, journal: Journal, *, foreign_keys: bool) -> None:
    """Set the pragmas of one connection and read each back.

    Raises StoreRefused when SQLite answers something else than was asked for.
    """
    wanted: tuple[tuple[str, str, Any], ...] = (
        ("busy_timeout", str(BUSY_TIMEOUT_MS), BUSY_TIMEOUT_MS),
        ("journal_mode", journal.mode, journal.mode.lower()),
        ("synchronous", journal.synchronous, journal.synchronous_level),
        ("foreign_keys", "ON" if foreign_keys else "OFF", int(foreign_keys)),
    )
    for name, value, _ in wanted:
        raw.execute(f"PRAGMA {name}={value}")
    for name, _, expected in wanted:
        found = raw.execute(f"PRAGMA {name}").fetchone()[0]
        if found != expected:
            raise StoreRefused(f"SQLite did not take {name}: {found!r} instead of {expected!r}.")


class Store:
    """The open database. `read()` and `write()` give a session each and close it after."""

    def __init__(
        self, path: Path, journal: Journal | None = None, sole: SoleUse | None = None
    ) -> None:
        """`sole` is the hold on the folder, let go of when the store is closed."""
        self.path = path
        self._sole = sole
        self.journal = journal or journal_for(sqlite3.sqlite_version_info)
        self._engine = open_engine(path, self.journal)
        self._write_engine = self._engine.execution_options(write=True)
        self._write_lock = threading.Lock()
        self._commits = 0

    @property
    def commits(self) -> int:
        """How often something was saved: nobody else writes, so that until it grows all is as read.

        Ask before reading: what is read then is at least as new.
        """
        return self._commits

    @property
    def engine(self) -> Engine:
        """The engine, for those who count its connections."""
        return self._engine

    @contextmanager
    def read(self) -> Iterator[Session]:
        """A session that sees one state of the database. Keep it short: a commit waits for it.

        Raises StoreError when the disk or another program prevents it.
        """
        with Session(self._engine, expire_on_commit=False) as session:
            try:
                yield session
            except DatabaseError as error:
                if isinstance(error, _OUR_OWN_FAULTS):
                    raise
                raise StoreError(f"{_NOT_READ} {_reason(error)}") from error

    @contextmanager
    def write(self) -> Iterator[Session]:
        """A session that is alone in writing; committed at the end, or nothing of it is kept.

        Raises NotSaved when the disk or another program prevents it.
        """
        with self._write_lock, Session(self._write_engine, expire_on_commit=False) as session:
            try:
                session.connection()  # begin immediately, before anything is read
                yield session
                session.commit()
                self._commits += 1
            except DatabaseError as error:
                if isinstance(error, _OUR_OWN_FAULTS):
                    raise
                raise NotSaved(f"{_NOT_SAVED} {_reason(error)}") from error

    def close(self) -> None:
        """Close every connection and let go of the folder; more than once does no harm."""
        self._engine.dispose()
        if self._sole is not None:
            self._sole.release()


_NOT_READ, _NOT_SAVED = "This could not be read:", "Not saved:"
# These say that the program asked for something wrong, not that the disk failed.
_OUR_OWN_FAULTS = (IntegrityError, ProgrammingError)


def _reason(error: DatabaseError) -> str:
    """Why SQLite could not do it, in plain words."""
    said = str(error.orig).lower()
    if "full" in said:
        return "the disk is full. Make room and try again."
    if "readonly" in said or "read-only" in said:
        return "the data folder cannot be written to."
    if "locked" in said or "busy" in said:
        return "another program holds the database. Try again in a moment."
    if "malformed" in said or "not a database" in said:
        return (
            "the database is damaged. Stop Ringwright and start it again to see what can be done."
        )
    return "the disk failed. Try again; if it stays so, check the disk."
