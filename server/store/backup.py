"""Copies of the database: made through SQLite, proved whole, then given their name.

A copy that has its final name is a good copy; anything else in the folder is rubbish of a kill.
"""

import os
import re
import shutil
import sqlite3
from collections.abc import Iterable
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from server.store.errors import StoreError, StoreRefused
from server.store.health import look_at
from server.store.migrate import needs_migration
from server.store.photo_copies import bring_photos

BACKUPS = "backups"
DAYS, WEEKS, MONTHS = 7, 8, 12
DUE_AFTER = timedelta(hours=24)
LATE_AFTER = timedelta(hours=48)
# Everything this young is kept, so that a copy made by hand does not push out its neighbour.
ALL_KEPT_FOR = timedelta(hours=48)
_NAME = re.compile(r"ringwright-(\d{8}T\d{6})(\d{6})Z-([a-z0-9-]+)\.db")
_UNFINISHED = ".unfinished"


@dataclass(frozen=True, slots=True)
class Backup:
    """A finished copy. `reason` is daily, asked-for, before-schema-0002, before-restore."""

    path: Path
    made_at: datetime
    reason: str

    @property
    def bytes(self) -> int:
        """How large the copy is."""
        return self.path.stat().st_size


class BackupFailed(StoreError):  # noqa: N818
    """No copy was made; the reason is in the message."""


def back_up(path: Path, now: datetime, reason: str) -> Backup:
    """Copy the database into the folder `backups` beside it, and the photos that are new.

    Raises BackupFailed when the copy could not be made or is not whole; the database is not
    touched in any case.
    """
    folder = path.parent / BACKUPS
    moment = now.astimezone(UTC)
    final = folder / f"ringwright-{moment:%Y%m%dT%H%M%S%f}Z-{reason}.db"
    unfinished = final.with_suffix(_UNFINISHED)
    try:
        folder.mkdir(exist_ok=True)
        _sweep(folder)
        with closing(sqlite3.connect(f"file:{path}?mode=rw", uri=True, timeout=10)) as raw:
            raw.execute("VACUUM INTO ?", (str(unfinished),))
        faults = look_at(unfinished, now, thorough=True).faults
        if faults:
            raise BackupFailed(f"The copy is not whole: {faults[0]}")
        _finish(unfinished, final)
    except (OSError, sqlite3.Error) as error:
        with suppress(OSError):  # on a full disk half a copy must not stay
            unfinished.unlink()
        raise BackupFailed(f"No copy of the database could be made: {error}") from error
    try:
        bring_photos(path.parent, folder)
    except OSError as error:
        raise BackupFailed(f"The photos could not be copied: {error}") from error
    return Backup(final, moment, reason)


def list_backups(path: Path) -> list[Backup]:
    """The finished copies of a database, newest first."""
    found = []
    for file in (path.parent / BACKUPS).glob("ringwright-*.db"):
        named = _NAME.fullmatch(file.name)
        if named:
            made_at = datetime.strptime(named[1] + named[2], "%Y%m%dT%H%M%S%f")
            found.append(Backup(file, made_at.replace(tzinfo=UTC), named[3]))
    return sorted(found, key=lambda backup: backup.made_at, reverse=True)


def newest_whole(path: Path, now: datetime) -> Backup | None:
    """The newest copy that is whole."""
    for backup in list_backups(path):
        if not look_at(backup.path, now, thorough=True).faults:
            return backup
    return None


def prune(path: Path, now: datetime) -> list[Backup]:
    """Remove copies beyond 7 days, 8 weeks and 12 months of one each; returns the removed."""
    backups = list_backups(path)
    kept = keepers(backups, now)
    removed = [backup for backup in backups if backup not in kept]
    for backup in removed:
        backup.path.unlink(missing_ok=True)
    return removed


def keepers(backups: Iterable[Backup], now: datetime) -> set[Backup]:
    """Which copies stay: all young ones, the newest of each of the last days, weeks, months."""
    newest_first = sorted(backups, key=lambda backup: backup.made_at, reverse=True)
    kept = {backup for backup in newest_first if now - backup.made_at < ALL_KEPT_FOR}
    for shape, count in (("%Y-%m-%d", DAYS), ("%G-%V", WEEKS), ("%Y-%m", MONTHS)):
        newest_of: dict[str, Backup] = {}
        for backup in newest_first:
            newest_of.setdefault(backup.made_at.strftime(shape), backup)
        kept.update(list(newest_of.values())[:count])
    return kept


def restore(copy: Path, path: Path, now: datetime) -> None:
    """Put a copy in the place of the database, which is backed up first. Nobody may have it open.

    Photos that are missing come back from beside the copy.

    Raises StoreRefused when the copy is not whole or newer than this program, BackupFailed when
    what is there now cannot be saved first. Nothing is changed then.
    """
    if not copy.is_file():
        raise StoreRefused(f"There is no copy {copy}.")
    faults = look_at(copy, now, thorough=True).faults
    if faults:
        raise StoreRefused(f"The copy {copy} is not whole: {faults[0]}")
    needs_migration(copy)  # refuses a newer one; an older one is brought on at the next start
    if path.exists():
        _set_aside(path, now)
    incoming = path.with_suffix(_UNFINISHED)
    shutil.copyfile(copy, incoming)
    for sidecar in ("-wal", "-shm", "-journal"):
        path.with_name(path.name + sidecar).unlink(missing_ok=True)
    _finish(incoming, path)
    bring_photos(copy.parent, path.parent)


def _set_aside(path: Path, now: datetime) -> None:
    """Keep what is there: through SQLite if it is whole, otherwise its very bytes."""
    if not look_at(path, now).faults:
        back_up(path, now, "before-restore")
        return
    damaged = path.with_name(f"damaged-{now.astimezone(UTC):%Y%m%dT%H%M%S%f}Z.db")
    shutil.copyfile(path, damaged)


def _finish(unfinished: Path, final: Path) -> None:
    """Push to the disk, then give the final name: after a power cut it is there whole or not."""
    descriptor = os.open(unfinished, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    unfinished.replace(final)
    if os.name == "posix":
        folder = os.open(final.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _sweep(folder: Path) -> None:
    for rubbish in folder.glob(f"*{_UNFINISHED}*"):
        rubbish.unlink(missing_ok=True)
