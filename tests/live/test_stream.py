"""The stream over the wire: what was missed, then what happens; resumed, held open, ended."""

import http.client
import json
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from fastapi import FastAPI
from shop_help import ledger_line, shop_app, simple_piece

STREAMS = 50


@dataclass
class Live:
    """The app behind a real server in a thread."""

    app: FastAPI
    port: int

    def ask(self, method: str, path: str, body: Any = None) -> Any:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        sent = None if body is None else json.dumps(body)
        connection.request(method, path, sent, {"content-type": "application/json"})
        reply = connection.getresponse()
        assert reply.status < 300, reply.read()
        answer = json.load(reply)
        connection.close()
        return answer


@pytest.fixture
def live(tmp_path: Path) -> Iterator[Live]:
    app = shop_app(tmp_path / "data", ping_seconds=0.3)
    bound = socket.socket()
    bound.bind(("127.0.0.1", 0))
    config = uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
    thread.start()
    while not server.started:
        assert thread.is_alive()
        time.sleep(0.01)
    yield Live(app, bound.getsockname()[1])
    app.state.hub.close()
    server.should_exit = True
    thread.join(10)
    bound.close()


@dataclass
class Reader:
    """Reads events as a browser does (html.spec.whatwg.org, server-sent events)."""

    port: int
    after: int | None = None
    headers: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        asked = dict(self.headers)
        if self.after is not None:
            asked["Last-Event-ID"] = str(self.after)
        self.connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        self.connection.request("GET", "/api/live", headers=asked)
        self.reply = self.connection.getresponse()
        assert self.reply.status == 200
        assert self.reply.getheader("content-type") == "text/event-stream; charset=utf-8"
        self.last_id: str | None = None

    def block(self) -> dict[str, str]:
        """The next block, `comment` for a line that is none of the known fields."""
        found: dict[str, str] = {}
        while True:
            line = self.reply.readline().decode()
            assert line, "the stream ended"
            if line == "\n":
                break
            name, _, value = line.rstrip("\n").partition(":")
            found[name or "comment"] = value.removeprefix(" ")
        self.last_id = found.get("id", self.last_id)
        return found

    def event(self) -> dict[str, Any]:
        """The next block that carries data."""
        give_up = time.monotonic() + 20
        while True:
            block = self.block()
            assert time.monotonic() < give_up, "nothing but signs of life"
            if "data" in block:
                line: dict[str, Any] = json.loads(block["data"])
                assert block["id"] == str(line["seq"])
                return line

    def close(self) -> None:
        self.reply.close()
        self.connection.close()


def ticks(live: Live, count: int) -> list[dict[str, Any]]:
    pieces = live.ask("GET", "/api/pieces")["items"]
    piece = pieces[0]["id"] if pieces else live.ask("POST", "/api/pieces", simple_piece())["id"]
    return [live.ask("POST", "/api/ledger", ledger_line(piece)) for _ in range(count)]


def test_a_new_listener_hears_what_comes_and_knows_where_it_began(live: Live) -> None:
    ticks(live, 3)
    reader = Reader(live.port)
    assert reader.block()["id"] == "3"
    made = ticks(live, 2)
    assert [reader.event(), reader.event()] == made
    reader.close()


def test_one_that_comes_back_hears_what_it_missed_once(live: Live) -> None:
    reader = Reader(live.port, after=0)
    made = ticks(live, 3)
    assert [reader.event() for _ in range(3)] == made
    last = reader.last_id
    reader.close()
    missed = ticks(live, 4)
    again = Reader(live.port, after=int(last or 0))
    later = ticks(live, 2)
    assert [again.event() for _ in range(6)] == missed + later
    again.close()


def test_a_long_absence_is_made_up_in_full(live: Live) -> None:
    from datetime import UTC, datetime

    from store_help import draft

    from server.store import ledger

    ticks(live, 1)
    piece = live.ask("GET", "/api/pieces")["items"][0]["id"]
    with live.app.state.store.write() as session:
        for _ in range(1200):
            ledger.append(session, draft(piece), datetime.now(UTC))
    reader = Reader(live.port, after=1)
    assert [reader.event()["seq"] for _ in range(1200)] == list(range(2, 1202))
    reader.close()


@pytest.mark.parametrize("odd", ["", "x", "-1", "9" * 40, "1e3", "²"])
def test_an_odd_last_id_is_taken_for_none(live: Live, odd: str) -> None:
    ticks(live, 2)
    reader = Reader(live.port, headers={"Last-Event-ID": odd.encode().decode("latin-1")})
    assert reader.block()["id"] == "2"
    reader.close()


def test_an_idle_stream_says_that_it_is_alive(live: Live) -> None:
    reader = Reader(live.port)
    reader.block()
    assert [reader.block() for _ in range(3)] == [{"comment": "ping"}] * 3
    reader.close()


def test_fifty_streams_hold_no_connection_to_the_database(live: Live) -> None:
    readers = [Reader(live.port, after=0) for _ in range(STREAMS)]
    made = ticks(live, 1)
    assert [reader.event() for reader in readers] == made * STREAMS
    time.sleep(0.2)
    assert live.app.state.store.engine.pool.checkedout() == 0
    began = time.monotonic()
    live.ask("GET", "/api/pieces")
    assert time.monotonic() - began < 5, "a page must not wait for a stream"
    for reader in readers:
        reader.close()
    give_up = time.monotonic() + 10
    while len(live.app.state.hub) and time.monotonic() < give_up:
        time.sleep(0.05)
    assert len(live.app.state.hub) == 0, "streams that were left must be forgotten"


def test_writers_and_listeners_at_once_agree_on_the_order(live: Live) -> None:
    piece = live.ask("POST", "/api/pieces", simple_piece())["id"]
    readers = [Reader(live.port, after=0) for _ in range(3)]

    def write() -> None:
        for _ in range(20):
            live.ask("POST", "/api/ledger", ledger_line(piece))

    writers = [threading.Thread(target=write) for _ in range(4)]
    for writer in writers:
        writer.start()
    for reader in readers:
        assert [reader.event()["seq"] for _ in range(80)] == list(range(1, 81))
        reader.close()
    for writer in writers:
        writer.join()
