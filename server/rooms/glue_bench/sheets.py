"""The sheet of a bench, drawn once for all the devices that ask for it in the same moment."""

import asyncio
from collections import OrderedDict
from collections.abc import Callable, Hashable

from starlette.concurrency import run_in_threadpool

KEPT = 16


class Sheets:
    """The newest sheets by what they show; all calls come from one event loop.

    Twenty devices that ask at once wait for one drawing, and none of them holds a thread.
    """

    def __init__(self) -> None:
        self._kept: OrderedDict[Hashable, asyncio.Task[bytes]] = OrderedDict()

    async def get(self, key: Hashable, draw: Callable[[], bytes]) -> bytes:
        """The sheet of that key, drawn in a thread for the first who asks.

        What `draw` raises is raised for all who waited for it, and is not kept.
        """
        drawing = self._kept.get(key)
        if drawing is None:
            drawing = asyncio.create_task(run_in_threadpool(draw))
            self._kept[key] = drawing
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        try:
            # One device that goes away must not take the drawing from the others.
            return await asyncio.shield(drawing)
        except BaseException:
            if drawing.done():
                self._kept.pop(key, None)
            raise
