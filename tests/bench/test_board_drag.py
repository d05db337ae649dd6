"""How quickly the drawing board answers a finger, in Chromium. Measured, not judged.

Frames are counted by `requestAnimationFrame` in the page while a point is pulled by the browser's
own touch input, and while a large piece turns in three dimensions.
"""

import json
import statistics
import time
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

import httpx
import pytest
from page_watch import CHROMIUM, TABLET, Visitor, chromium_flags, served
from piece_makers import curve, piece, ring
from playwright.sync_api import Page, sync_playwright
from shop_help import loopback_client, shop_app

pytestmark = pytest.mark.skipif(not CHROMIUM.exists(), reason="there is no Chromium here")

COUNT_FRAMES = """() => {
  window.frames_at = [];
  const tick = (at) => { window.frames_at.push(at); requestAnimationFrame(tick); };
  requestAnimationFrame(tick);
}"""


def tall(rings: int, segments: int) -> dict[str, Any]:
    part = {
        "id": "t",
        "kind": "ringed",
        "outside": curve((40, 0), (60, rings * 2.5), (66, rings * 5.0), (50, rings * 10.0)),
        "inside": curve((0, 10), (34, 10), (54, rings * 5.0), (44, rings * 10.0)),
        "rings": [
            ring(f"r{k}", 10.0, segments, woods=["holly", "wenge", "cherry-black"])
            for k in range(rings)
        ],
    }
    return piece([part], name=f"{rings} rings of {segments}")


@pytest.fixture(scope="module")
def bench_port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    with served(shop_app(tmp_path_factory.mktemp("drag") / "data")) as port:
        yield port


@pytest.fixture
def bench_visitor(bench_port: int) -> Iterator[Visitor]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=chromium_flags())
        visiting = Visitor(browser, bench_port)
        yield visiting
        visiting.close()
        browser.close()


def keep(port: int, document: dict[str, Any]) -> str:
    made = httpx.post(f"http://127.0.0.1:{port}/api/pieces", json=document)
    made.raise_for_status()
    return str(made.json()["id"])


def frames(page: Page) -> dict[str, float]:
    """Frames a second and the slowest frames of what was counted."""
    at: list[float] = page.evaluate("window.frames_at.splice(0)")
    steps = sorted(b - a for a, b in pairwise(at))
    return {
        "frames_per_s": round(1000 * len(steps) / (at[-1] - at[0]), 1),
        "median_ms": round(statistics.median(steps), 1),
        "p95_ms": round(steps[int(len(steps) * 0.95) - 1], 1),
        "frames": len(steps),
    }


class Thread:
    """What the page's main thread has spent of the processor, whatever else the machine does."""

    def __init__(self, page: Page) -> None:
        self.session = page.context.new_cdp_session(page)
        self.session.send("Performance.enable", {"timeDomain": "threadTicks"})
        self.begun = self._seconds()

    def _seconds(self) -> float:
        found = self.session.send("Performance.getMetrics")["metrics"]
        return float(next(one["value"] for one in found if one["name"] == "TaskDuration"))

    def per_frame(self, count: float) -> float:
        """Milliseconds for each of so many frames."""
        return round((self._seconds() - self.begun) * 1000 / max(1.0, count), 2)


def pull(page: Page, moves: int, every_s: float) -> None:
    """Pull a point of the outside to and fro, one touch event every so often."""
    box = page.locator(".handle.outside[data-index='2'] .hit").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    session = page.context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        at = [{"x": px, "y": py, "id": k} for k, (px, py) in enumerate(points)]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})

    touch("touchStart", (x, y))
    for k in range(moves):
        begun = time.perf_counter()
        touch("touchMove", (x - 30 + abs(k % 60 - 30), y))
        time.sleep(max(0.0, every_s - (time.perf_counter() - begun)))
    touch("touchCancel")


def test_pulling_a_form_of_forty_rings(
    benchmark: Callable[..., Any], bench_visitor: Visitor, bench_port: int
) -> None:
    kept = keep(bench_port, tall(40, 24))
    page = bench_visitor.open(f"/pieces/{kept}/drawing-board?show=form", TABLET)
    page.locator(".form-editor[data-ready=yes]").wait_for()
    page.evaluate(COUNT_FRAMES)
    thread = Thread(page)
    asked: list[float] = []
    page.on("requestfinished", lambda r: asked.append(r.timing["responseEnd"]))
    benchmark.pedantic(lambda: pull(page, 180, 1 / 60), rounds=1, iterations=1)
    counted = frames(page)
    benchmark.extra_info |= counted | {
        "main_thread_cpu_ms_a_frame": thread.per_frame(counted["frames"]),
        "trials": len(asked),
        "trial_p95_ms": round(sorted(asked)[int(len(asked) * 0.95) - 1], 1),
    }
    print(f"\npulling a point, 40 rings: {benchmark.extra_info}")


def test_the_server_answers_a_pull(benchmark: Callable[..., Any], tmp_path: Any) -> None:
    with loopback_client(shop_app(tmp_path / "data")) as client:
        kept = client.post("/api/pieces", json=tall(40, 24)).json()["id"]
        part = client.get(f"/api/pieces/{kept}").json()["piece"]["parts"][0]
        shape = {
            name: [[p["r_mm"], p["z_mm"], p.get("corner", False)] for p in part[name]["points"]]
            for name in ("outside", "inside")
        }
        times: list[float] = []

        def answer() -> None:
            shape["outside"][2][0] = 60 + len(times) % 23 * 0.5
            begun = time.perf_counter()
            reply = client.post(
                f"/pieces/{kept}/drawing-board/try",
                data={"of_part": "t", "shape": json.dumps(shape)},
            )
            times.append((time.perf_counter() - begun) * 1000)
            assert "Holds" in reply.text

        benchmark.pedantic(answer, rounds=60, iterations=1)
    benchmark.extra_info["p95_ms"] = round(sorted(times)[int(len(times) * 0.95) - 1], 1)
    print(f"\na trial of 40 rings: {benchmark.extra_info}")


def test_turning_two_hundred_rings_of_seventy_two(
    benchmark: Callable[..., Any], bench_visitor: Visitor, bench_port: int
) -> None:
    kept = keep(bench_port, tall(200, 72))
    begun = time.perf_counter()
    page = bench_visitor.open(f"/pieces/{kept}/drawing-board?show=look", TABLET)
    page.locator(".model[data-built=yes]").wait_for(timeout=120_000)
    built_s = time.perf_counter() - begun
    size = len(page.request.get(f"{page.url.split('?')[0]}/look.json").body())
    box = page.locator(".model-canvas").bounding_box()
    assert box is not None
    page.evaluate(COUNT_FRAMES)
    thread = Thread(page)

    def turn() -> None:
        page.mouse.move(box["x"] + 200, box["y"] + 200)
        page.mouse.down()
        for k in range(20):
            page.mouse.move(box["x"] + 200 + 10 * k, box["y"] + 200)
            page.evaluate("() => new Promise((done) => requestAnimationFrame(done))")
        page.mouse.up()

    benchmark.pedantic(turn, rounds=1, iterations=1)
    counted = frames(page)
    benchmark.extra_info |= counted | {
        "main_thread_cpu_ms_a_frame": thread.per_frame(counted["frames"]),
        "opened_and_built_s": round(built_s, 2),
        "geometry_bytes": size,
    }
    print(f"\nturning 200 x 72: {benchmark.extra_info}")
