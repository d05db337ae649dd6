"""`kill -9` of a process that writes the ledger: what it acknowledged is there, once.

RINGWRIGHT_KILLS sets the rounds; a release asks for 200. The same against the whole program,
with its start in every round, is in tests/program.
"""

import multiprocessing
import os
import random
import select
import signal
import threading
import time
from pathlib import Path

from database_help import is_whole
from store_help import NOW, draft, fill, made_store

from server.store import ledger
from server.store.database import Store

ROUNDS = int(os.environ.get("RINGWRIGHT_KILLS", "25"))
WRITERS = 4
ID_LENGTH = 36


def _write_until_killed(path: Path, piece: str, acknowledge: int) -> None:
    """Each writer says a line's id once `write()` is left, as a reply would."""
    store = Store(path)

    def write() -> None:
        while True:
            said = draft(piece, data={"count": 1})
            with store.write() as session:
                ledger.append(session, said, NOW)
            os.write(acknowledge, said.id.encode())  # short writes to a pipe are whole

    for _ in range(WRITERS):
        threading.Thread(target=write, daemon=True).start()
    time.sleep(600)


def _storm(path: Path, piece: str, ticks: int, wait_seconds: float) -> list[str]:
    """The ids that were acknowledged before the kill, which comes after some ticks."""
    reading, writing = os.pipe()
    process = multiprocessing.get_context("fork").Process(
        target=_write_until_killed, args=(path, piece, writing)
    )
    process.start()
    os.close(writing)
    heard = b""
    while len(heard) < ticks * ID_LENGTH:
        assert select.select([reading], [], [], 60)[0], "the writers stand still"
        heard += os.read(reading, 65536)
    time.sleep(wait_seconds)
    assert process.pid is not None
    os.kill(process.pid, signal.SIGKILL)
    process.join()
    while more := os.read(reading, 65536):
        heard += more
    os.close(reading)
    assert len(heard) % ID_LENGTH == 0
    text = heard.decode()
    return [text[at : at + ID_LENGTH] for at in range(0, len(text), ID_LENGTH)]


def test_no_acknowledged_line_is_lost_or_doubled(tmp_path: Path) -> None:
    store = made_store(tmp_path)
    piece = fill(store, lines=0)
    store.close()
    chance = random.Random(7)
    acknowledged: list[str] = []
    for _ in range(ROUNDS):
        ticks, wait = chance.randint(1, 30), chance.uniform(0, 0.01)
        acknowledged += _storm(store.path, piece, ticks, wait)
        assert is_whole(store.path)  # rolls back what was half written, as the next start does
    after = Store(store.path)
    with after.read() as session:
        kept = [entry.id for entry in ledger.entries_for(session, piece)]
    after.close()
    assert len(kept) == len(set(kept)), "a line is there twice"
    assert set(acknowledged) <= set(kept), "an acknowledged line is lost"
    # At most what each writer had in hand at each kill is there without having been acknowledged.
    assert len(kept) <= len(acknowledged) + WRITERS * ROUNDS
