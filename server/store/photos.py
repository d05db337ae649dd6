"""Photos: proved to be pictures, freed of where they were taken, kept under their own digest."""

import hashlib
import io
import os
import re
import tempfile
import warnings
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from server.craft.errors import FieldError
from server.store.errors import NotSaved

PHOTOS = "photos"
LONGEST_SIDE_PX = 4096
MOST_PIXELS = 80_000_000
_QUALITY = 90
_TYPES = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
_ENDINGS = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
_DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Photo:
    """A kept picture; `type` is its media type."""

    sha256: str
    type: str
    bytes: int


def keep_photo(data_dir: Path, sent: bytes) -> Photo:
    """Keep a picture without its metadata, upright, at most 4096 px long.

    Raises FieldError at /photo for what is no JPEG, PNG or WebP, NotSaved when the disk does not
    take it.
    """
    clean, media_type = _clean(sent)
    digest = hashlib.sha256(clean).hexdigest()
    path = _path(data_dir, digest, media_type)
    try:
        if not path.exists():
            _write(path, clean)
    except OSError as error:
        raise NotSaved(f"The photo was not saved: {error.strerror}.") from error
    return Photo(digest, media_type, len(clean))


def find_photo(data_dir: Path, sha256: str, media_type: str) -> Path | None:
    """The file of a kept picture; None when there is none."""
    if _DIGEST.fullmatch(sha256) is None or media_type not in _ENDINGS:
        return None
    path = _path(data_dir, sha256, media_type)
    return path if path.is_file() else None


def _path(data_dir: Path, digest: str, media_type: str) -> Path:
    return data_dir / PHOTOS / digest[:2] / f"{digest}.{_ENDINGS[media_type]}"


def _clean(sent: bytes) -> tuple[bytes, str]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            return _again(sent)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise FieldError("/photo", "This picture has too many pixels.") from error
    except UnidentifiedImageError as error:
        raise FieldError("/photo", "Send a photo as JPEG, PNG or WebP.") from error
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        raise FieldError("/photo", "This picture is damaged and cannot be read.") from error


def _again(sent: bytes) -> tuple[bytes, str]:
    """Draw the picture again, so that nothing but its pixels and colours comes along."""
    with Image.open(io.BytesIO(sent), formats=list(_TYPES)) as picture:
        if picture.width * picture.height > MOST_PIXELS:
            raise FieldError("/photo", "This picture has too many pixels.")
        kind = picture.format or ""
        colours = picture.info.get("icc_profile")
        upright = ImageOps.exif_transpose(picture)
    upright.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    if kind == "JPEG" and upright.mode not in ("L", "RGB"):
        upright, colours = upright.convert("RGB"), None
    out = io.BytesIO()
    bare = Image.frombytes(upright.mode, upright.size, upright.tobytes())
    if upright.mode == "P":
        bare.putpalette(upright.getpalette() or [])
    bare.save(out, kind, quality=_QUALITY, icc_profile=colours)
    return out.getvalue(), _TYPES[kind]


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    descriptor, unfinished = tempfile.mkstemp(dir=path.parent, suffix=".unfinished")
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(unfinished).replace(path)
    except OSError:
        Path(unfinished).unlink(missing_ok=True)
        raise
