"""Opening the data folder at the start: checked, brought up to date, filled the first time."""

from datetime import UTC, datetime
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

from server.settings import Settings
from server.store import pieces, rack
from server.store.database import DATABASE_NAME, Store
from server.store.errors import StoreRefused
from server.store.migrate import migrate, needs_migration


def open_store(settings: Settings) -> Store:
    """The open database of a data folder, with the newest tables.

    Raises StoreRefused when the folder cannot be used as it is.
    """
    path = _folder(settings.data_dir) / DATABASE_NAME
    fresh = not path.exists()
    if needs_migration(path):
        migrate(path)
    store = Store(path)
    if fresh and not settings.empty:
        _put_out_the_demo(store)
    return store


def _folder(data_dir: Path) -> Path:
    try:
        data_dir.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreRefused(
            f"The data folder {data_dir} cannot be made: {error.strerror}."
        ) from error
    return data_dir


def _put_out_the_demo(store: Store) -> None:
    if find_spec("server.demo") is None:
        return
    demo = import_module("server.demo")  # read only at the very first start
    with store.write() as session:
        now = datetime.now(UTC)
        pieces.create_piece(session, demo.demo_piece(), now)
        for item in demo.demo_rack():
            rack.create_item(session, item, now)
