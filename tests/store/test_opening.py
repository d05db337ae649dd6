"""The start: damaged files, newer files, second programs, folders that cannot be used."""

import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from database_help import content_hash
from store_help import NOW, draft, fill, made_store

from server.settings import Settings
from server.store import ledger, marks, pieces
from server.store.backup import back_up, list_backups
from server.store.errors import StoreRefused
from server.store.folder import file_system
from server.store.health import StoreDamaged, look_at
from server.store.migrate import newest_schema, schema_of
from server.store.opening import close_store, last_seen, open_store

HOLD = """
import sys
from pathlib import Path
from server.store.sole import SoleUse
hold = SoleUse(Path(sys.argv[1]))
print("held", flush=True)
sys.stdin.readline()
"""


def settings(folder: Path, **more: object) -> Settings:
    return Settings(data_dir=folder, **{"empty": True, **more})  # type: ignore[arg-type]


def test_a_first_start_makes_everything(tmp_path: Path) -> None:
    store = open_store(settings(tmp_path / "new" / "deep"))
    assert schema_of(store.path) == newest_schema()
    with store.read() as session:
        assert pieces.list_pieces(session) == []
    assert list_backups(store.path) == []
    close_store(store)


def test_an_older_database_is_copied_before_it_is_brought_on(released: Path) -> None:
    before, schema = content_hash(released), schema_of(released)
    store = open_store(settings(released.parent))
    copies = list_backups(store.path)
    if schema == newest_schema():
        assert copies == []
    else:
        assert [one.reason for one in copies] == [f"before-schema-{schema}"]
        assert content_hash(copies[0].path) == before
        assert schema_of(copies[0].path) == schema
    close_store(store)


def test_a_damaged_database_is_named_with_its_newest_copy_and_left_alone(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    fill(store, lines=200)
    copy = back_up(store.path, NOW, "daily")
    store.close()
    with store.path.open("r+b") as file:
        for page in range(4096, store.path.stat().st_size, 4096):
            file.seek(page + 4)
            file.write(b"\xff" * 100)
    damaged = store.path.read_bytes()
    with pytest.raises(StoreDamaged) as error:
        open_store(settings(tmp_path))
    assert error.value.newest_backup == copy.path
    assert error.value.faults
    assert store.path.read_bytes() == damaged


def test_what_is_no_database_is_damaged(tmp_path: Path) -> None:
    (tmp_path / "ringwright.db").write_bytes(b"a letter to a friend\n" * 100)
    with pytest.raises(StoreDamaged, match="no whole copy"):
        open_store(settings(tmp_path))


def test_the_thorough_look_comes_weekly_and_after_an_unclean_stop(tmp_path: Path) -> None:
    store = open_store(settings(tmp_path))
    with store.read() as session:
        at = datetime.fromisoformat(marks.read_mark(session, marks.CHECKED_AT) or "")
    store.close()  # as a kill would: nothing is remarked
    assert look_at(store.path, at).thorough
    close_store(open_store(settings(tmp_path)))
    assert not look_at(store.path, at + timedelta(days=6)).thorough
    assert look_at(store.path, at + timedelta(days=8)).thorough


def test_a_second_program_on_the_same_folder_is_refused(tmp_path: Path) -> None:
    other = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        with pytest.raises(StoreRefused, match="Another Ringwright"):
            open_store(settings(tmp_path))
    finally:
        other.kill()
        other.communicate()
    close_store(open_store(settings(tmp_path)))  # the system lets go when the program dies


@pytest.mark.parametrize("folder", ["/proc/ringwright", "/dev/null/ringwright", "/sys/kernel"])
def test_a_folder_that_cannot_be_written_to_is_said(folder: str) -> None:
    with pytest.raises(StoreRefused, match="cannot be written to"):
        open_store(settings(Path(folder)))


def test_a_network_share_is_recognised() -> None:
    mounts = (
        "/dev/sda1 / ext4 rw 0 0\n"
        "nas:/shop /srv/shop nfs4 rw 0 0\n"
        "//nas/wood /srv/wood\\040yard cifs rw 0 0\n"
    )
    assert file_system(Path("/srv/shop/data"), mounts) == "nfs4"
    assert file_system(Path("/srv/wood yard"), mounts) == "cifs"
    assert file_system(Path("/srv/shopping"), mounts) == "ext4"


def test_a_network_share_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table = tmp_path / "mounts"
    table.write_text(f"/dev/sda1 / ext4 rw 0 0\nnas:/shop {tmp_path.resolve()} nfs4 rw 0 0\n")
    monkeypatch.setattr("server.store.folder._MOUNTS", table)
    with pytest.raises(StoreRefused, match="network share"):
        open_store(settings(tmp_path))


def test_the_clock_is_told_the_newest_moment(tmp_path: Path) -> None:
    store = open_store(settings(tmp_path))
    assert last_seen(store) is None
    piece = fill(store, lines=0)
    later = NOW + timedelta(days=3)
    with store.write() as session:
        marks.set_mark(session, marks.SEEN_AT, NOW.isoformat())
        ledger.append(session, draft(piece), later)
    assert last_seen(store) == later
    close_store(store)
