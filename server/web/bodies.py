"""What may come in as JSON: ordinary numbers, writable text, no bottomless nesting.

Python's reader takes NaN, Infinity, lone surrogates and figures of any length, none of which can
be answered or kept.
"""

import math
from typing import Any

from fastapi import HTTPException, Request
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.craft.document.parse import pointer
from server.craft.errors import FieldError
from server.web.problems import reply

LARGEST_BODY = 1024 * 1024
LARGEST_FILE = 20 * 1024 * 1024
# A form with a file: what the form adds around it is small. For `max_body_size` of its route.
LARGEST_FILE_BODY = LARGEST_FILE + 64 * 1024
DEEPEST = 100
LARGEST_INTEGER = 2**63 - 1


class TooLargeInWords:
    """Turns the bare 413 that a body over the limit gets into the problem that the rest speak."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass through; only a bare 413 is said again in full."""
        bare = False

        async def in_words(message: Message) -> None:
            nonlocal bare
            if message["type"] == "http.response.start" and message["status"] == 413:
                kind = Headers(raw=message["headers"]).get("content-type", "")
                bare = kind.startswith("text/plain")
                if bare:
                    await reply(Request(scope), 413)(scope, receive, send)
            if not bare:
                await send(message)

        await self.app(scope, receive, in_words)


async def ordinary_json(request: Request) -> None:
    """Refuse a JSON body that holds what JSON cannot hold. A dependency of every API router.

    Raises FieldError with the place of the first such value.
    """
    if "json" not in request.headers.get("content-type", ""):
        return
    if not await request.body():
        return
    try:
        value = await request.json()
    except (ValueError, RecursionError):
        raise HTTPException(400, "This is not valid JSON.") from None
    assert_ordinary(value)


def assert_ordinary(value: Any) -> None:
    """Raises FieldError for the first value that cannot be kept or answered."""
    waiting: list[tuple[Any, tuple[str | int, ...]]] = [(value, ())]
    while waiting:
        item, steps = waiting.pop()
        if len(steps) > DEEPEST:
            raise FieldError("", f"This is nested more than {DEEPEST} deep.")
        if isinstance(item, dict):
            for key in item:
                _assert_plain(key, steps)
            waiting.extend((below, (*steps, key)) for key, below in item.items())
        elif isinstance(item, list):
            waiting.extend((below, (*steps, index)) for index, below in enumerate(item))
        else:
            _assert_plain(item, steps)


def _assert_plain(value: Any, steps: tuple[str | int, ...]) -> None:
    if isinstance(value, float) and not math.isfinite(value):
        raise FieldError(pointer(*steps), "This must be an ordinary number.")
    if isinstance(value, int) and abs(value) > LARGEST_INTEGER:
        raise FieldError(pointer(*steps), "This number is larger than can be reckoned with.")
    if isinstance(value, str) and not _writable(value):
        raise FieldError(pointer(*steps), "This text holds characters that cannot be written.")


def _writable(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
