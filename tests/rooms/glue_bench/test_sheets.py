"""One drawing for all who ask at once, none kept of what failed, and nobody leaves with it."""

import asyncio
import threading

import pytest
from own_loop import in_own_loop

from server.rooms.glue_bench.sheets import KEPT, Sheets


class Pen:
    """Draws when it is let, and counts how often."""

    def __init__(self) -> None:
        self.may_draw, self.drawn = threading.Event(), 0

    def draw(self) -> bytes:
        assert self.may_draw.wait(10)
        self.drawn += 1
        return b"sheet"

    def fail(self) -> bytes:
        self.drawn += 1
        raise ValueError("no paper")


def test_twenty_who_ask_at_once_get_one_drawing() -> None:
    async def scene() -> None:
        pen, sheets = Pen(), Sheets()
        asking = [asyncio.create_task(sheets.get("a", pen.draw)) for _ in range(20)]
        await asyncio.sleep(0)
        asking[0].cancel()  # the one who asked first goes away
        pen.may_draw.set()
        assert await asyncio.gather(*asking[1:]) == [b"sheet"] * 19
        assert await sheets.get("a", pen.draw) == b"sheet"
        assert pen.drawn == 1

    in_own_loop(scene)


def test_what_failed_is_tried_again() -> None:
    async def scene() -> None:
        pen, sheets = Pen(), Sheets()
        for _ in range(2):
            with pytest.raises(ValueError, match="no paper"):
                await sheets.get("a", pen.fail)
        assert pen.drawn == 2

    in_own_loop(scene)


def test_only_the_newest_are_kept() -> None:
    async def scene() -> None:
        pen, sheets = Pen(), Sheets()
        pen.may_draw.set()
        for key in range(KEPT + 1):
            await sheets.get(key, pen.draw)
        await sheets.get(KEPT, pen.draw)
        assert pen.drawn == KEPT + 1
        await sheets.get(0, pen.draw)
        assert pen.drawn == KEPT + 2

    in_own_loop(scene)
