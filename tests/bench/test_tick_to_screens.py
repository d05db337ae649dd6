"""From a tick on one device to the sheet in the hands of the last of twenty. Measured, not judged.

Each of twenty clients holds the event stream open and asks for the sheet when it hears of a line,
as the page does; the time runs from sending the tick to the last answered sheet that has it.
"""

import http.client
import statistics
import threading
import time
from collections.abc import Iterator

import pytest
from live_shop import LiveShop, goblet

CLIENTS = 20
TICKS = 40
KINDS = ("dry-fitted", "halves-glued", "trued", "closed", "flattened")
RINGS = ("c1", "c2", "c3", "c4", "c5", "c6", "f1", "f2")


class Screen(threading.Thread):
    """One open page: its stream, and a kept connection for the sheet."""

    def __init__(self, shop: LiveShop, piece: str, board: "Board") -> None:
        super().__init__(daemon=True)
        self.port, self.piece, self.board = shop.port, piece, board
        self.stream = http.client.HTTPConnection("127.0.0.1", shop.port)
        self.sheets = http.client.HTTPConnection("127.0.0.1", shop.port)
        self.ready, self.over = threading.Event(), threading.Event()

    def run(self) -> None:
        self.stream.request("GET", "/api/live?after=0")
        reply = self.stream.getresponse()
        while not self.over.is_set() and (line := reply.readline()):
            if line.startswith(b"retry"):
                self.ready.set()
            if line.startswith(b"data:"):
                self.board.seen(self.sheet_seq())
        reply.close()
        self.stream.close()
        self.sheets.close()

    def sheet_seq(self) -> int:
        path = f"/pieces/{self.piece}/glue-bench"
        self.sheets.request("GET", path, headers={"HX-Request": "true"})
        body = self.sheets.getresponse().read()
        return int(body.split(b'data-seq="', 1)[1].split(b'"', 1)[0])


class Board:
    """Counts which screens show which line."""

    def __init__(self) -> None:
        self.lock = threading.Condition()
        self.shown: list[tuple[int, float]] = []

    def seen(self, seq: int) -> None:
        with self.lock:
            self.shown.append((seq, time.perf_counter()))
            self.lock.notify_all()

    def wait_for(self, seq: int) -> float:
        """When the last screen showed the line."""
        with self.lock:
            done = self.lock.wait_for(
                lambda: sum(s >= seq for s, _ in self.shown) >= CLIENTS, timeout=30
            )
            assert done, "a screen never showed it"
            found = max(at for s, at in self.shown if s >= seq)
            self.shown.clear()
            return found


@pytest.fixture
def busy_shop(tmp_path) -> Iterator[LiveShop]:
    running = LiveShop(tmp_path / "data", "--empty").start()
    yield running
    running.stop()


def test_tick_to_the_last_of_twenty_screens(benchmark, busy_shop):
    piece, board = busy_shop.keep(goblet()), Board()
    screens = [Screen(busy_shop, piece, board) for _ in range(CLIENTS)]
    for screen in screens:
        screen.start()
    for screen in screens:
        assert screen.ready.wait(20)
    for screen in screens:
        screen.sheet_seq()  # warm, as a page that is open is
    ticks = iter([(ring, kind) for ring in RINGS for kind in KINDS])
    times: list[float] = []

    def tick() -> None:
        ring, kind = next(ticks)
        begun = time.perf_counter()
        entry = busy_shop.say(piece, kind, ring)
        times.append(board.wait_for(entry["seq"]) - begun)

    benchmark.pedantic(tick, rounds=TICKS, iterations=1)
    for screen in screens:
        screen.over.set()
    busy_shop.say(piece, "note", "low", note="closing")
    for screen in screens:
        screen.join(20)
    times.sort()
    p95 = times[int(len(times) * 0.95) - 1]
    benchmark.extra_info |= {
        "median_ms": round(statistics.median(times) * 1000, 1),
        "p95_ms": round(p95 * 1000, 1),
        "last_ms": round(times[-1] * 1000, 1),
    }
    print(f"\ntick to the last of {CLIENTS} screens: {benchmark.extra_info}")
