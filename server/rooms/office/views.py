"""What the office shows: the shop, the copies, the program and its database."""

import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from server.craft.document.kept_shop import Shop, shop_of
from server.settings import Settings, program_version
from server.store.backup import Backup
from server.store.database import Store
from server.store.keeper import BackupState
from server.web.fields import Fields

_KB = 1024


@dataclass(frozen=True, slots=True)
class Copy:
    """One copy of the database: when, why, how large."""

    when: str
    reason: str
    size: str
    name: str


@dataclass(frozen=True, slots=True)
class About:
    """The program and how its database is kept."""

    version: str
    folder: str
    sqlite: str
    journal: str
    synchronous: str


@dataclass(frozen=True, slots=True)
class ShopView:
    """The shop's form: `shop` as kept, rows to fill in with one to spare in each list."""

    shop: Shop
    revision: int
    form: Fields
    saved: bool

    def rows(self, name: str) -> list[Any]:
        """The kept rows of a list and one empty row."""
        return [*getattr(self.shop, name), None]


def shop_view(
    document: dict[str, Any], revision: int, form: Fields | None = None, *, saved: bool = False
) -> ShopView:
    """The shop's form, with what was typed where `form` is given."""
    shop = shop_of(document)
    return ShopView(shop, revision, form or Fields({}, shop.display_units), saved)


def copies(backups: list[Backup]) -> list[Copy]:
    """The copies, newest first, in words."""
    return [_copy(backup) for backup in backups]


def _copy(backup: Backup) -> Copy:
    made = backup.made_at.astimezone()
    reason = backup.reason.replace("-", " ")
    return Copy(f"{made:%-d %b %Y, %H:%M}", reason, _size(backup.path), backup.path.name)


def _size(path: Path) -> str:
    kilobytes = path.stat().st_size / _KB
    return f"{kilobytes:.0f} kB" if kilobytes < _KB else f"{kilobytes / _KB:.1f} MB"


def about(store: Store, settings: Settings) -> About:
    """Read from the open database itself, not from what was asked of it."""
    with store.read() as session:
        connection = session.connection()
        mode = str(connection.exec_driver_sql("PRAGMA journal_mode").scalar())
        level = int(connection.exec_driver_sql("PRAGMA synchronous").scalar() or 0)
    return About(
        version=program_version(),
        folder=str(settings.data_dir),
        sqlite=sqlite3.sqlite_version,
        journal=mode.upper(),
        synchronous=("OFF", "NORMAL", "FULL", "EXTRA")[level],
    )


def warning(state: BackupState) -> str | None:
    """What is wrong with the copies, if anything."""
    return state.warning
