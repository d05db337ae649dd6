"""Opening the data folder at the start: checked, brought up to date, furnished the first time."""

from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path

from sqlmodel import Session

from server.settings import Settings, program_version
from server.store import marks, pieces, rack
from server.store.backup import back_up, newest_whole
from server.store.database import DATABASE_NAME, Store
from server.store.folder import ready_folder
from server.store.health import WENT_WELL, StoreDamaged, look_at
from server.store.ledger import last_received_at, last_seq
from server.store.migrate import migrate, needs_migration, schema_of
from server.store.sole import SoleUse

_RUNNING = "still running"


def open_store(settings: Settings) -> Store:
    """The open database of a data folder, with the newest tables.

    Raises StoreRefused when the folder cannot be used as it is, StoreDamaged when the database
    is not whole.
    """
    folder = ready_folder(settings.data_dir)
    sole = SoleUse(folder)
    try:
        return _open(folder / DATABASE_NAME, sole, settings.empty)
    except BaseException:
        sole.release()
        raise


def close_store(store: Store, now: datetime | None = None) -> None:
    """Close, and remark that it went well: the next start need not look so closely.

    `now` is remarked too, so that what came due later is known to have come due while off.
    """
    with store.write() as session:
        marks.set_mark(session, marks.STOPPED, WENT_WELL)
        if now is not None:
            marks.set_mark(session, marks.SEEN_AT, now.isoformat())
    store.close()


def last_seen(store: Store) -> datetime | None:
    """The newest moment that this database knows of, for the clock.

    Lines from before somebody said that the clock is right may bear a wrong time: not from them.
    """
    with store.read() as session:
        marked = marks.read_mark(session, marks.SEEN_AT)
        believed = int(marks.read_mark(session, marks.BELIEVED_AFTER) or 0)
        received = last_received_at(session, believed)
    known = [received, datetime.fromisoformat(marked) if marked else None]
    return max((moment for moment in known if moment), default=None)


def believe_clock(store: Store, now: datetime) -> None:
    """Remark that the clock is right at `now`, whatever was seen before: also for later starts."""
    with store.write() as session:
        marks.set_mark(session, marks.SEEN_AT, now.isoformat())
        marks.set_mark(session, marks.BELIEVED_AFTER, str(last_seq(session)))


def _open(path: Path, sole: SoleUse, empty: bool) -> Store:
    now = datetime.now(UTC)
    thorough = _assert_whole(path, now)
    if needs_migration(path):
        found = schema_of(path)
        if found is not None:
            back_up(path, now, f"before-schema-{found}")
        migrate(path)
    store = Store(path, sole=sole)
    with store.write() as session:
        if marks.read_mark(session, marks.FURNISHED) is None:
            _furnish(session, now, empty)
        marks.set_mark(session, marks.PROGRAM_VERSION, program_version())
        marks.set_mark(session, marks.STOPPED, _RUNNING)
        if thorough:
            marks.set_mark(session, marks.CHECKED_AT, now.isoformat())
    return store


def _assert_whole(path: Path, now: datetime) -> bool:
    """Whether the file was looked at thoroughly. Raises StoreDamaged."""
    if not path.exists():
        return True
    health = look_at(path, now)
    if health.faults:
        newest = newest_whole(path, now)
        raise StoreDamaged(path, health.faults, newest.path if newest else None)
    return health.thorough


def _furnish(session: Session, now: datetime, empty: bool) -> None:
    """Put out the demo, once in the life of a database and together with the mark of it."""
    marks.set_mark(session, marks.FURNISHED, "empty" if empty else "with the demo")
    if empty:
        return
    demo = import_module("server.demo")  # its documents are read only at the very first start
    pieces.create_piece(session, demo.demo_piece(), now)
    for item in demo.demo_rack():
        rack.create_item(session, item, now)
