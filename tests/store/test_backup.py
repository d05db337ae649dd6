"""Copies: made whole or not at all, thinned by age, put back with what was there kept."""

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from database_help import content_hash, is_whole
from hypothesis import given
from hypothesis import strategies as st
from store_help import NOW, draft, fill, made_store

from server.store import ledger
from server.store.backup import (
    Backup,
    BackupFailed,
    back_up,
    keepers,
    list_backups,
    newest_whole,
    prune,
    restore,
)
from server.store.database import Store
from server.store.errors import StoreRefused
from server.store.journal import Journal
from server.store.keeper import Keeper
from server.store.migrate import migrate, newest_schema, schema_of


def flip_bytes(path: Path) -> None:
    """Damage the middle of every page but the first."""
    with path.open("r+b") as file:
        size = path.stat().st_size
        for page in range(4096, size, 4096):
            file.seek(page + 8)
            file.write(b"\xff" * 64)


@pytest.mark.parametrize("journal", [Journal("WAL", "FULL"), Journal("DELETE", "EXTRA")])
def test_a_copy_of_a_database_in_use_is_whole(tmp_path: Path, journal: Journal) -> None:
    made_store(tmp_path).close()
    store = Store(tmp_path / "ringwright.db", journal)
    piece = fill(store)
    copy = back_up(store.path, NOW, "asked-for")
    assert is_whole(copy.path)
    assert content_hash(copy.path) == content_hash(store.path)
    with store.write() as session:
        ledger.append(session, draft(piece), NOW)
    assert content_hash(copy.path) != content_hash(store.path)
    assert [one.path for one in list_backups(store.path)] == [copy.path]
    assert (list_backups(store.path)[0].made_at, copy.reason) == (NOW, "asked-for")
    store.close()


def test_a_copy_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    (tmp_path / "backups").write_text("in the way")
    with pytest.raises(BackupFailed):
        back_up(store.path, NOW, "daily")
    keeper = Keeper(store, lambda: NOW)
    keeper.round()
    warning = keeper.state().warning
    assert warning is not None
    assert "No copy" in warning
    (tmp_path / "backups").unlink()
    keeper.round()
    assert keeper.state().warning is None
    store.close()


def test_an_unfinished_copy_is_never_taken_for_one(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    folder = tmp_path / "backups"
    folder.mkdir()
    rubbish = folder / "ringwright-20260101T000000000000Z-daily.unfinished"
    rubbish.write_bytes(b"half a copy")
    assert list_backups(store.path) == []
    back_up(store.path, NOW, "daily")
    assert not rubbish.exists()
    store.close()


def test_the_newest_whole_copy_is_found_behind_a_damaged_one(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    fill(store)
    good = back_up(store.path, NOW, "daily")
    bad = back_up(store.path, NOW + timedelta(days=1), "daily")
    flip_bytes(bad.path)
    assert newest_whole(store.path, NOW) == good
    store.close()


def test_daily_copies_and_a_warning_when_they_stop(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    time = [NOW]
    keeper = Keeper(store, lambda: time[0])
    for hours in range(0, 73, 6):
        time[0] = NOW + timedelta(hours=hours)
        keeper.round()
    assert [one.made_at for one in list_backups(store.path)] == [
        NOW + timedelta(hours=hours) for hours in (72, 48, 24, 0)
    ]
    assert keeper.state().warning is None
    time[0] = NOW + timedelta(hours=72 + 49)
    assert keeper.state().warning is not None
    store.close()


def _days(*ago: float) -> list[Backup]:
    return [Backup(Path(f"{days}.db"), NOW - timedelta(days=days), "daily") for days in ago]


def test_a_year_of_daily_copies_is_thinned_to_days_weeks_and_months() -> None:
    kept = keepers(_days(*range(730)), NOW)
    ages = sorted((NOW - one.made_at).days for one in kept)
    assert ages[:7] == [0, 1, 2, 3, 4, 5, 6]
    assert len(kept) <= 7 + 8 + 12
    assert len({one.made_at.strftime("%G-%V") for one in kept}) >= 8
    assert len({one.made_at.strftime("%Y-%m") for one in kept}) == 12
    # The twelfth month back from May 2026 is June 2025; its newest day is 30 June.
    assert max(ages) == (NOW.date() - datetime(2025, 6, 30, tzinfo=UTC).date()).days


@given(st.lists(st.floats(0, 1000, allow_nan=False), min_size=1, max_size=60, unique=True))
def test_thinning_keeps_the_newest_and_all_of_two_days_and_is_settled(ago: list[float]) -> None:
    backups = _days(*ago)
    kept = keepers(backups, NOW)
    assert max(backups, key=lambda one: one.made_at) in kept
    assert {one for one in backups if NOW - one.made_at < timedelta(days=2)} <= kept
    assert keepers(kept, NOW) == kept


def test_pruning_removes_files(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    for days in range(20):
        back_up(store.path, NOW - timedelta(days=days), "daily")
    removed = prune(store.path, NOW)
    assert removed
    assert len(list_backups(store.path)) == 20 - len(removed)
    assert list_backups(store.path)[0].made_at == NOW
    store.close()


def test_a_copy_of_any_schema_is_put_back_and_brought_on(released: Path, tmp_path: Path) -> None:
    store = made_store(tmp_path / "now")
    fill(store, lines=1)
    store.close()
    replaced = content_hash(store.path)
    restore(released, store.path, NOW)
    assert content_hash(store.path) == content_hash(released)
    migrate(store.path)
    assert schema_of(store.path) == newest_schema()
    assert content_hash(store.path) == content_hash(released)
    aside = list_backups(store.path)
    assert [(one.reason, content_hash(one.path)) for one in aside] == [("before-restore", replaced)]


def test_sidecars_of_the_replaced_database_are_not_replayed(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    piece = fill(store, lines=2)
    copy = back_up(store.path, NOW, "asked-for")
    with store.write() as session:
        ledger.append(session, draft(piece), NOW)
    store.close()
    stale = store.path.with_name(store.path.name + "-journal")
    stale.write_bytes(b"\xd9\xd5\x05\xf9\x20\xa1\x63\xd7" + b"\0" * 504)
    restore(copy.path, store.path, NOW + timedelta(hours=1))
    assert not stale.exists()
    assert content_hash(store.path) == content_hash(copy.path)


def test_a_damaged_copy_is_not_put_back(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    fill(store)
    copy = back_up(store.path, NOW, "daily")
    store.close()
    flip_bytes(copy.path)
    before = store.path.read_bytes()
    with pytest.raises(StoreRefused, match="not whole"):
        restore(copy.path, store.path, NOW)
    with pytest.raises(StoreRefused, match="no copy"):
        restore(tmp_path / "nothing.db", store.path, NOW)
    assert store.path.read_bytes() == before


def test_a_copy_of_a_newer_program_is_not_put_back(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    copy = back_up(store.path, NOW, "daily")
    store.close()
    with closing(sqlite3.connect(copy.path)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
        raw.commit()
    with pytest.raises(StoreRefused, match="newer"):
        restore(copy.path, store.path, NOW)


def test_a_damaged_database_is_set_aside_byte_for_byte(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    fill(store)
    copy = back_up(store.path, NOW, "daily")
    store.close()
    flip_bytes(store.path)
    damaged = store.path.read_bytes()
    restore(copy.path, store.path, NOW)
    assert content_hash(store.path) == content_hash(copy.path)
    assert [file.read_bytes() for file in tmp_path.glob("damaged-*.db")] == [damaged]
