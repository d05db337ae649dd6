"""What may come in: bodies of a size, and as JSON only what can be answered and kept."""

from typing import Any

from fastapi import HTTPException, Request
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.craft.document.ordinary import unwritable
from server.web.problems import reply

LARGEST_BODY = 1024 * 1024
LARGEST_FILE = 20 * 1024 * 1024
# A form with a file: what the form adds around it is small. For `max_body_size` of its route.
LARGEST_FILE_BODY = LARGEST_FILE + 64 * 1024
DEEPEST = 100


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
    for fault in unwritable(value, DEEPEST):
        raise fault
