"""What was read from the disk, kept until something is saved: only this program writes there."""

from collections.abc import Callable, Hashable
from typing import Any, TypeVar, cast

from fastapi import FastAPI, Request

from server.store.database import Store
from server.web.last_used import LastUsed

V = TypeVar("V")
_MOST = 128


class Kept:
    """Answers of the store by question. Safe from several threads.

    What comes back is shared by all who ask: copy it before changing it.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._known = LastUsed[Hashable, tuple[int, Any]](_MOST)

    def get(self, read: Callable[..., V], *asked: Hashable) -> V:
        """What `read(session, *asked)` gives, read again only when something was saved since."""
        commits = self._store.commits
        _, answer = self._known.get(
            (read, asked),
            lambda: (commits, self._read(read, asked)),
            lambda known: known[0] == commits,
        )
        return cast(V, answer)

    def _read(self, read: Callable[..., V], asked: tuple[Hashable, ...]) -> V:
        with self._store.read() as session:
            return read(session, *asked)


def install(app: FastAPI) -> Kept:
    """Give the app what it keeps."""
    kept = app.state.kept = Kept(app.state.store)
    return kept


def kept(request: Request, read: Callable[..., V], *asked: Hashable) -> V:
    """What a function of the store reads with these words, as it is now."""
    known: Kept = request.app.state.kept
    return known.get(read, *asked)
