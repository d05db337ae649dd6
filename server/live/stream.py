"""The event stream: what was missed first, then what happens, and a sign of life between."""

import asyncio
from collections.abc import AsyncIterator

from server.live.entries import REPLAY_AT_ONCE, messages_after, newest_seq
from server.live.hub import Hub, Message
from server.store.database import Store

_RECONNECT_MS = 1000


async def events(
    store: Store, hub: Hub, after: int | None, ping_seconds: float
) -> AsyncIterator[bytes]:
    """Server-sent events, ids are ledger numbers. No database session is open while it waits.

    `after` is the last number that the device has; None starts with what comes from now on.
    """
    listener = hub.join()  # before the ledger is read, so that nothing falls between
    try:
        sent = after if after is not None else await asyncio.to_thread(newest_seq, store)
        yield f"retry: {_RECONNECT_MS}\nid: {sent}\n\n".encode()
        while missed := await asyncio.to_thread(messages_after, store, sent, REPLAY_AT_ONCE):
            for message in missed:
                yield _event(message)
            sent = missed[-1].seq
        while True:
            try:
                heard = await asyncio.wait_for(listener.queue.get(), ping_seconds)
            except TimeoutError:
                yield b": ping\n\n"
                continue
            if heard is None:
                return
            if heard.seq > sent:
                yield _event(heard)
                sent = heard.seq
    finally:
        hub.leave(listener)


def _event(message: Message) -> bytes:
    return f"id: {message.seq}\ndata: {message.text}\n\n".encode()
