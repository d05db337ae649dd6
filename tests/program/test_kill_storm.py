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
from process_help import Served, running
from shop_help import ledger_line, simple_piece
from warm_program import warm

ROUNDS = int(os.environ.get("RINGWRIGHT_KILLS", "4"))
CLIENTS = 4
STALLED_SECONDS = 60


class Storm:
    """Clients that tick as fast as they are answered, and remember what was acknowledged."""

    def __init__(self, server: Served, piece: str) -> None:
        self.acknowledged: dict[str, dict[str, Any]] = {}
        self.sent: set[str] = set()
        self.refused: list[str] = []
        self._server, self._piece = server, piece
        self._threads = [threading.Thread(target=self._tick) for _ in range(CLIENTS)]
        for thread in self._threads:
            thread.start()

    def rage(self, ticks: int) -> None:
        """Until so many ticks are acknowledged. A slow machine may take its time over each."""
        seen, give_up = 0, time.monotonic() + STALLED_SECONDS
        while seen < ticks:
            if len(self.acknowledged) > seen:
                seen, give_up = len(self.acknowledged), time.monotonic() + STALLED_SECONDS
            alive = sum(thread.is_alive() for thread in self._threads)
            assert time.monotonic() < give_up, f"stalled: {alive} clients, {self.refused}"
            time.sleep(0.001)

    def wait(self) -> None:
        """Until every client has noticed that the server is gone."""
        for thread in self._threads:
            thread.join(30)

    def _tick(self) -> None:
        connection = http.client.HTTPConnection(
            self._server.host, self._server.port, timeout=STALLED_SECONDS
        )
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
                else:
                    self.refused.append(f"{reply.status} {answer}")
        except (OSError, http.client.HTTPException, ValueError) as killed:
            self.refused.append(repr(killed))
        finally:
            connection.close()


def test_no_acknowledged_tick_is_lost_or_doubled(tmp_path: Path) -> None:
    acknowledged: dict[str, dict[str, Any]] = {}
    sent: set[str] = set()
    chance = random.Random(4)
    with running(tmp_path, "--empty") as server:
        piece = server.ask("POST", "/api/pieces", simple_piece())[1]["id"]
    for _ in range(ROUNDS):
        with warm(tmp_path) as server:
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
