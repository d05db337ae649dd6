"""The hub: everyone hears everything in order, and who cannot keep up is ended."""

import asyncio
import sys
import threading

from own_loop import in_own_loop

from server.live.hub import QUEUE_LENGTH, Hub, Message


def ledger_up_to(newest: list[int]) -> Hub:
    """A hub over a ledger whose newest number is in the list."""

    def load(seq: int) -> list[Message]:
        return [Message(number, str(number)) for number in range(seq + 1, newest[0] + 1)]

    return Hub(load)


async def heard(listener_queue: "asyncio.Queue[Message | None]") -> list[int | None]:
    await asyncio.sleep(0.01)
    found: list[int | None] = []
    while not listener_queue.empty():
        message = listener_queue.get_nowait()
        found.append(None if message is None else message.seq)
    return found


def test_everyone_hears_each_line_once_and_in_order() -> None:
    async def scene() -> None:
        newest = [0]
        hub = ledger_up_to(newest)
        one, two = hub.join(), hub.join()
        newest[0] = 3
        # Three threads committed; their words arrive in any order, from other threads.
        for seq in (2, 3, 1):
            await asyncio.to_thread(hub.publish, seq)
        assert await heard(one.queue) == [1, 2, 3]
        assert await heard(two.queue) == [1, 2, 3]
        hub.leave(two)
        newest[0] = 4
        hub.publish(4)
        assert await heard(one.queue) == [4]
        assert await heard(two.queue) == []
        assert len(hub) == 1

    in_own_loop(scene)


def test_nobody_listening_costs_no_reading() -> None:
    def load(seq: int) -> list[Message]:
        raise AssertionError("nobody listens")

    hub = Hub(load)
    hub.publish(7)
    hub.publish(7)


def test_one_that_cannot_keep_up_is_ended() -> None:
    async def scene() -> None:
        newest = [0]
        hub = ledger_up_to(newest)
        slow = hub.join()
        newest[0] = QUEUE_LENGTH + 1
        hub.publish(newest[0])
        assert await heard(slow.queue) == [None]

    in_own_loop(scene)


def test_closing_ends_all_and_those_who_come_later() -> None:
    async def scene() -> None:
        hub = ledger_up_to([0])
        before = hub.join()
        await asyncio.to_thread(hub.close)
        after = hub.join()
        assert await heard(before.queue) == [None]
        assert await heard(after.queue) == [None]
        hub.publish(1)
        assert await heard(before.queue) == []

    in_own_loop(scene)


def test_what_is_handed_over_second_does_not_overtake_the_first() -> None:
    """Eight threads commit and publish at once; each listener must still hear every line."""

    async def scene() -> None:
        newest, writing = [0], threading.Lock()
        hub = ledger_up_to(newest)
        listener = hub.join()
        found: list[int | None] = []

        def commit_and_publish() -> None:
            for _ in range(25):
                with writing:
                    newest[0] += 1
                    seq = newest[0]
                hub.publish(seq)

        async def listen() -> None:
            while len(found) < 200:
                message = await asyncio.wait_for(listener.queue.get(), 20)
                found.append(None if message is None else message.seq)

        switching = sys.getswitchinterval()
        sys.setswitchinterval(1e-6)  # so that threads cut in everywhere
        try:
            await asyncio.gather(
                listen(), *(asyncio.to_thread(commit_and_publish) for _ in range(8))
            )
        finally:
            sys.setswitchinterval(switching)
        assert found == list(range(1, 201))

    in_own_loop(scene)
