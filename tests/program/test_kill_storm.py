"""`kill -9` in a storm of ticks: what was answered is there, once, and the database is whole.

RINGWRIGHT_KILLS sets the rounds: a few in every run, 200 for a release.
"""

import http.client
import json
import os
import random
import threading
import time
from pathlib import Path
from typing import Any

from database_help import is_whole
from process_help import Running, running
from shop_help import ledger_line, simple_piece

ROUNDS = int(os.environ.get("RINGWRIGHT_KILLS", "4"))
CLIENTS = 4


class Storm:
    """Clients that tick as fast as they are answered, and remember what was acknowledged."""

    def __init__(self, server: Running, piece: str) -> None:
        self.acknowledged: dict[str, dict[str, Any]] = {}
        self.sent: set[str] = set()
        self._server, self._piece = server, piece
        self._threads = [threading.Thread(target=self._tick) for _ in range(CLIENTS)]
        for thread in self._threads:
            thread.start()

    def rage(self, ticks: int) -> None:
        """Until so many ticks are acknowledged."""
        give_up = time.monotonic() + 30
        while len(self.acknowledged) < ticks:
            assert time.monotonic() < give_up, "the server does not answer"
            time.sleep(0.001)

    def wait(self) -> None:
        """Until every client has noticed that the server is gone."""
        for thread in self._threads:
            thread.join(30)

    def _tick(self) -> None:
        connection = http.client.HTTPConnection(self._server.host, self._server.port, timeout=20)
        try:
            while True:
                line = ledger_line(self._piece, data={"count": 1})
                self.sent.add(line["id"])
                connection.request(
                    "POST",
                    "/api/ledger",
                    json.dumps(line),
                    {"content-type": "application/json"},
                )
                reply = connection.getresponse()
                answer = json.load(reply)
                if reply.status == 200:
                    self.acknowledged[line["id"]] = answer
        except (OSError, http.client.HTTPException, ValueError):
            return  # killed
        finally:
            connection.close()


def test_no_acknowledged_tick_is_lost_or_doubled(tmp_path: Path) -> None:
    acknowledged: dict[str, dict[str, Any]] = {}
    sent: set[str] = set()
    chance = random.Random(4)
    with running(tmp_path, "--empty") as server:
        piece = server.ask("POST", "/api/pieces", simple_piece())[1]["id"]
    for _ in range(ROUNDS):
        with running(tmp_path) as server:
            storm = Storm(server, piece)
            storm.rage(chance.randint(5, 60))
            time.sleep(chance.uniform(0, 0.02))
            server.kill()
            storm.wait()
        acknowledged.update(storm.acknowledged)
        sent |= storm.sent
    assert len(acknowledged) >= 5 * ROUNDS, "the storm was no storm"
    with running(tmp_path) as server:
        kept = server.ask("GET", "/api/ledger")[1]["items"]
    by_id = {line["id"]: line for line in kept}
    assert len(by_id) == len(kept), "a tick is there twice"
    assert {name: by_id.get(name) for name in acknowledged} == acknowledged
    assert set(by_id) <= sent
    assert is_whole(tmp_path / "ringwright.db")
