"""How the database is opened, read and written by many at once."""

import sqlite3
import threading
from pathlib import Path

import pytest
from sqlalchemy import text
from store_help import NOW, draft, drawing, fill, made_store

from server.store import ledger, pieces
from server.store.database import Store, prepare
from server.store.errors import NotSaved, StoreError, StoreRefused
from server.store.journal import Journal, journal_for

WRITERS, OPERATIONS = 8, 60


@pytest.mark.parametrize("journal", [Journal("WAL", "FULL"), Journal("DELETE", "EXTRA")])
def test_every_connection_has_its_pragmas(tmp_path: Path, journal: Journal) -> None:
    made_store(tmp_path).close()
    store = Store(tmp_path / "ringwright.db", journal)
    with store.read() as one, store.read() as two, store.write() as three:
        for session in (one, two, three):
            found = {
                name: session.connection().exec_driver_sql(f"PRAGMA {name}").scalar()
                for name in ("foreign_keys", "busy_timeout", "journal_mode", "synchronous")
            }
            assert found == {
                "foreign_keys": 1,
                "busy_timeout": 10_000,
                "journal_mode": journal.mode.lower(),
                "synchronous": journal.synchronous_level,
            }
    store.close()


def test_a_pragma_that_is_not_taken_is_refused() -> None:
    raw = sqlite3.connect(":memory:")  # keeps its journal in memory, whatever is asked
    with pytest.raises(StoreRefused, match="journal_mode"):
        prepare(raw, Journal("DELETE", "EXTRA"), foreign_keys=True)
    raw.close()


def test_a_write_that_fails_leaves_nothing(tmp_path: Path) -> None:
    store = made_store(tmp_path)

    def stop_half_way() -> None:
        with store.write() as session:
            pieces.create_piece(session, drawing(), NOW)
            raise RuntimeError("half way")

    with pytest.raises(RuntimeError, match="half way"):
        stop_half_way()
    with store.read() as session:
        assert pieces.list_pieces(session) == []
    store.close()


def test_a_full_disk_is_said_and_the_store_goes_on(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    piece = fill(store)
    with store.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()

    def write_too_much() -> None:
        with store.write() as session:
            session.connection().exec_driver_sql(f"PRAGMA max_page_count={pages}")
            ledger.append(session, draft(piece, note="x" * 1_000_000), NOW)

    with pytest.raises(NotSaved, match="disk is full"):
        write_too_much()
    with store.write() as session:
        session.connection().exec_driver_sql("PRAGMA max_page_count=1000000")
        ledger.append(session, draft(piece), NOW)
    with store.read() as session:
        assert ledger.last_seq(session) == 4
    store.close()


def test_damage_while_it_runs_is_said(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    piece = fill(store, lines=200)
    store.engine.dispose()
    with store.path.open("r+b") as file:
        for page in range(4096, store.path.stat().st_size, 4096):
            file.seek(page)
            file.write(b"\xff" * 200)
    with pytest.raises(StoreError, match="database is damaged"), store.read() as session:
        ledger.entries_for(session, piece)
    with pytest.raises(NotSaved, match="database is damaged"), store.write() as session:
        ledger.append(session, draft(piece), NOW)
    store.close()


@pytest.mark.parametrize(
    ("journal", "operations"),
    [(journal_for(sqlite3.sqlite_version_info), OPERATIONS), (Journal("WAL", "FULL"), 25)],
)
def test_many_writers_wait_for_each_other(
    tmp_path: Path, journal: Journal, operations: int
) -> None:
    """Read, then write, from eight threads: no write is lost and none finds a locked database."""
    made_store(tmp_path).close()
    store = Store(tmp_path / "ringwright.db", journal)
    with store.write() as session:
        piece = pieces.create_piece(session, drawing(), NOW).id
    failures: list[Exception] = []

    def work() -> None:
        try:
            for _ in range(operations):
                with store.write() as session:
                    record = pieces.get_piece(session, piece)
                    assert record is not None
                    pieces.save_revision(session, piece, drawing(), record.revision, NOW)
                with store.read() as session:
                    pieces.get_piece(session, piece)
        except Exception as failure:
            failures.append(failure)

    threads = [threading.Thread(target=work) for _ in range(WRITERS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    with store.read() as session:
        record = pieces.get_piece(session, piece)
        assert record is not None
        assert record.revision == 1 + WRITERS * operations
    store.close()


@pytest.mark.parametrize("table", ["ledger", "revisions"])
@pytest.mark.parametrize("statement", ["UPDATE {} SET device = 'x'", "DELETE FROM {}"])
def test_what_is_written_once_cannot_be_changed(tmp_path: Path, table: str, statement: str) -> None:
    store = made_store(tmp_path)
    fill(store)
    raw = sqlite3.connect(store.path)
    with pytest.raises(sqlite3.IntegrityError, match="written once"):
        raw.execute(statement.format(table))
    raw.close()
    store.close()


def test_a_reader_sees_one_state(tmp_path: Path) -> None:
    made_store(tmp_path).close()
    store = Store(tmp_path / "ringwright.db", Journal("WAL", "FULL"))
    piece = fill(store, lines=1)
    with store.read() as reading:
        before = ledger.last_seq(reading)
        with store.write() as writing:
            ledger.append(writing, draft(piece), NOW)
        assert ledger.last_seq(reading) == before
    with store.read() as reading:
        assert ledger.last_seq(reading) == before + 1
        assert reading.exec(text("SELECT count(*) FROM ledger")).scalar_one() == 2  # type: ignore[call-overload]
    store.close()
