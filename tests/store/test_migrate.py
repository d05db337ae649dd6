"""Bringing old databases on: every released schema, killed at every step, newer ones refused."""

import multiprocessing
import os
import signal
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from database_help import content_hash, is_whole
from sqlalchemy import event
from sqlalchemy.engine import Engine
from sqlmodel import SQLModel
from store_help import NOW, draft, made_store

from server.paths import MIGRATIONS
from server.store import ledger, pieces
from server.store.database import Store, open_engine
from server.store.errors import StoreRefused
from server.store.migrate import known_schemas, migrate, needs_migration, newest_schema, schema_of

DATABASES = Path(__file__).parents[1] / "data" / "databases"


def test_there_is_a_database_of_every_schema() -> None:
    newest = int(newest_schema())
    assert [path.name for path in sorted(DATABASES.iterdir())] == [
        f"schema-{number:04d}.db" for number in range(1, newest + 1)
    ]


def test_the_numbers_of_the_migrations_are_their_order() -> None:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    scripts = ScriptDirectory.from_config(config)
    assert [one.revision for one in scripts.walk_revisions()] == known_schemas()[::-1]


def test_an_old_database_comes_on_with_every_row(released: Path) -> None:
    before = content_hash(released)
    migrate(released)
    assert schema_of(released) == newest_schema()
    assert not needs_migration(released)
    assert content_hash(released) == before
    assert is_whole(released)


def test_an_old_database_can_be_worked_with(released: Path) -> None:
    migrate(released)
    store = Store(released)
    with store.write() as session:
        piece = pieces.list_pieces(session)[0]
        assert piece.document["name"] == "Second"
        entries = ledger.entries_for(session, piece.id)
        assert [str(entry.kind) for entry in entries] == ["cut"] * 5 + ["clamped", "undone"]
        assert entries[-1].undoes == entries[0].id
        assert ledger.append(session, draft(piece.id), NOW)[0].seq == len(entries) + 1
    store.close()


def test_migrating_twice_changes_nothing(released: Path) -> None:
    migrate(released)
    before = released.read_bytes()
    migrate(released)
    assert released.read_bytes() == before


def test_the_tables_are_the_ones_the_code_speaks_of(tmp_path: Path) -> None:
    """Types aside (text holds the moments), migrations and models describe the same tables."""
    path = tmp_path / "ringwright.db"
    migrate(path)
    engine = open_engine(path)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": False})
        assert compare_metadata(context, SQLModel.metadata) == []
    engine.dispose()


def test_a_newer_database_is_refused_and_left_alone(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    store.close()
    with closing(sqlite3.connect(store.path)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
        raw.execute("INSERT INTO marks VALUES ('program_version', '7.2.0')")
        raw.commit()
    before = store.path.read_bytes()
    with pytest.raises(StoreRefused, match=r"newer Ringwright \(7\.2\.0\)"):
        needs_migration(store.path)
    assert store.path.read_bytes() == before


def _migrate_and_die(path: Path, fatal: int) -> None:
    """In a process of its own: kill it before the n-th statement, the commit being one too."""
    count = 0

    def step(*_anything: Any) -> None:
        nonlocal count
        if count == fatal:
            os.kill(os.getpid(), signal.SIGKILL)
        count += 1

    event.listen(Engine, "before_cursor_execute", step)
    event.listen(Engine, "commit", step)
    migrate(path)


def _exit_of_killed(path: Path, step: int) -> int | None:
    process = multiprocessing.get_context("fork").Process(
        target=_migrate_and_die, args=(path, step)
    )
    process.start()
    process.join(60)
    return process.exitcode


def test_a_kill_at_any_step_leaves_old_or_new(tmp_path: Path) -> None:
    """From nothing, and from the first schema: killed before each statement and the commit."""
    first = DATABASES / "schema-0001.db"
    for start in (None, first):
        step, schemas = 0, set()
        while True:
            path = tmp_path / f"{start is None}-{step}.db"
            if start is not None:
                path.write_bytes(start.read_bytes())
            ended = _exit_of_killed(path, step)
            if ended == 0:
                break
            assert ended == -signal.SIGKILL
            schemas.add(schema_of(path))
            assert schema_of(path) in (start and "0001", newest_schema())
            assert start is None or content_hash(path) == content_hash(start)
            migrate(path)
            assert schema_of(path) == newest_schema()
            assert is_whole(path)
            step += 1
        assert step >= 4, "the kill never came"
        assert schemas == {start and "0001"}, "a kill before the commit must leave the old schema"
