"""Copies of the photos beside the copies of the database. A photo never changes and never goes."""

import os
import shutil
from pathlib import Path

from server.store.photos import PHOTOS

_UNFINISHED = ".unfinished"


def bring_photos(source: Path, target: Path) -> int:
    """Copy the photos that are in the one folder's `photos` and not in the other's; how many.

    Their names are their digests: what is there already is the same. Raises OSError.
    """
    brought = 0
    for photo in (source / PHOTOS).glob("??/*.*"):
        kept = target / PHOTOS / photo.parent.name / photo.name
        if photo.suffix == _UNFINISHED or kept.exists():
            continue
        kept.parent.mkdir(parents=True, exist_ok=True)
        _copy(photo, kept)
        brought += 1
    return brought


def _copy(photo: Path, kept: Path) -> None:
    """Whole under its own name, or not there."""
    unfinished = kept.with_suffix(_UNFINISHED)
    try:
        with photo.open("rb") as reading, unfinished.open("wb") as writing:
            shutil.copyfileobj(reading, writing)
            writing.flush()
            os.fsync(writing.fileno())
        unfinished.replace(kept)
    except OSError:
        unfinished.unlink(missing_ok=True)
        raise
