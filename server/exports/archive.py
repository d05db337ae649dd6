"""A kept piece with everything that belongs to it, as one ZIP: drawing, ledger, photos."""

import io
import json
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

_EARLIEST, _LATEST = 1980, 2107
"""Years that the format can write."""


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """A picture in the data folder, and the digest that the ledger knows it by."""

    sha256: str
    path: Path


def piece_zip(
    document: Mapping[str, Any],
    ledger: Sequence[Mapping[str, Any]],
    photos: Iterable[PhotoFile],
    now: datetime,
) -> bytes:
    """`piece.json`, `ledger.json` (entries as the API has them, oldest first), `photos/`.

    Photos are named by their digest, as the ledger's photo entries name them.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        _add(archive, "piece.json", pretty(document), now)
        _add(archive, "ledger.json", pretty({"items": list(ledger)}), now)
        for photo in {photo.sha256: photo for photo in photos}.values():
            name = f"photos/{photo.sha256}{photo.path.suffix}"
            # Pictures are packed already.
            _add(archive, name, photo.path.read_bytes(), now, zipfile.ZIP_STORED)
    return out.getvalue()


def pretty(value: Any) -> bytes:
    """JSON that people can read, in UTF-8."""
    return (json.dumps(value, ensure_ascii=False, indent=1) + "\n").encode()


def _add(
    archive: zipfile.ZipFile,
    name: str,
    content: bytes,
    now: datetime,
    packing: int = zipfile.ZIP_DEFLATED,
) -> None:
    year = min(max(now.year, _EARLIEST), _LATEST)
    info = zipfile.ZipInfo(name, (year, now.month, now.day, now.hour, now.minute, now.second))
    info.compress_type = packing
    archive.writestr(info, content)
