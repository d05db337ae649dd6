"""Addresses of static files, marked with their content so that a browser may keep them for good."""

import hashlib
from functools import lru_cache

from server.paths import STATIC

_MARK_LENGTH = 10


@lru_cache(maxsize=256)
def _mark(name: str, changed_ns: int) -> str:
    del changed_ns  # part of the key: a file changed while the server runs gets a new mark
    return hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:_MARK_LENGTH]


def asset(name: str) -> str:
    """The address of a file under `static/`, with a mark of its content.

    Raises `FileNotFoundError` for a file that is not there, so that a page never asks in vain.
    """
    return f"/static/{name}?v={_mark(name, (STATIC / name).stat().st_mtime_ns)}"
