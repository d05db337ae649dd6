"""Coroutines run to their end in a thread of their own: a browser test before may have left a
loop running in this one."""

import asyncio
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

T = TypeVar("T")


def in_own_loop(scene: Callable[[], Coroutine[Any, Any, T]]) -> T:
    """What the coroutine gives."""
    with ThreadPoolExecutor(1) as one:
        return one.submit(lambda: asyncio.run(scene())).result()
