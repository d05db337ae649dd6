"""`ringwright backup` and `ringwright restore FILE`: copies of the database, with nobody in it."""

import sys
from datetime import UTC, datetime
from pathlib import Path

from server.store.backup import back_up, prune, restore
from server.store.database import DATABASE_NAME
from server.store.errors import StoreError, StoreRefused
from server.store.folder import ready_folder
from server.store.sole import SoleUse


def make_copy(data_dir: Path) -> int:
    """Copy the database now, also while the server runs; returns the exit status."""
    path = data_dir / DATABASE_NAME
    now = datetime.now(UTC)
    try:
        if not path.exists():
            raise StoreRefused(f"There is no database in {data_dir} yet.")
        made = back_up(path, now, "asked-for")
        prune(path, now)
    except StoreError as error:
        return _say(str(error))
    print(made.path)
    return 0


def put_back(data_dir: Path, copy: Path) -> int:
    """Put a copy in the place of the database; returns the exit status."""
    try:
        sole = SoleUse(ready_folder(data_dir))
        try:
            restore(copy, data_dir / DATABASE_NAME, datetime.now(UTC))
        finally:
            sole.release()
    except StoreError as error:
        return _say(str(error))
    print(f"{copy} was put in place. What was there before is kept beside it.")
    return 0


def _say(message: str) -> int:
    print(f"ringwright: {message}", file=sys.stderr)
    return 1
