"""Who is listening, and what they are told once a line of the ledger is on disk."""

import asyncio
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

QUEUE_LENGTH = 256


@dataclass(frozen=True, slots=True)
class Message:
    """One ledger line as it goes over the wire: its number and its JSON."""

    seq: int
    text: str


@dataclass(eq=False, slots=True)
class Listener:
    """One open stream. `None` in the queue ends it; the browser then comes back by itself."""

    loop: asyncio.AbstractEventLoop
    queue: asyncio.Queue[Message | None] = field(
        default_factory=lambda: asyncio.Queue(QUEUE_LENGTH)
    )

    def offer(self, messages: Sequence[Message]) -> None:
        """Hand over messages, on the listener's own loop. One that cannot keep up is ended."""
        for message in messages:
            if self.queue.full():
                self.end()
                return
            self.queue.put_nowait(message)

    def end(self) -> None:
        """End the stream after dropping what was not sent: it is in the ledger anyway."""
        while not self.queue.empty():
            self.queue.get_nowait()
        self.queue.put_nowait(None)


class Hub:
    """Passes new ledger lines on to every open stream.

    `load(seq)` reads the lines after a number; it is called from the thread that published, once
    for all listeners.
    """

    def __init__(self, load: Callable[[int], Sequence[Message]], seq: int = 0) -> None:
        self._load = load
        self._seq = seq
        self._listeners: set[Listener] = set()
        self._lock = threading.Lock()
        self._closed = False

    @property
    def seq(self) -> int:
        """The newest line that was published."""
        return self._seq

    def publish(self, seq: int) -> None:
        """Tell everyone about the lines up to `seq`, which are committed. From any thread."""
        with self._lock:
            if seq <= self._seq or self._closed:
                return
            messages = self._load(self._seq) if self._listeners else []
            self._seq = max(seq, messages[-1].seq if messages else seq)
            # Still under the lock: what is handed over second must not overtake the first.
            _on_loops(self._listeners, lambda listener: listener.offer(messages))

    def join(self) -> Listener:
        """Begin to listen, on the running loop. Read the ledger only after this."""
        listener = Listener(asyncio.get_running_loop())
        with self._lock:
            if self._closed:
                listener.end()
            self._listeners.add(listener)
        return listener

    def leave(self, listener: Listener) -> None:
        """Stop listening."""
        with self._lock:
            self._listeners.discard(listener)

    def close(self) -> None:
        """End every stream, and every one that begins from now on."""
        with self._lock:
            self._closed = True
            _on_loops(self._listeners, Listener.end)

    def __len__(self) -> int:
        """How many streams are open."""
        return len(self._listeners)


def _on_loops(listeners: Iterable[Listener], call: Callable[[Listener], None]) -> None:
    """Do it to each listener on its own loop. A loop is woken once, not once a listener."""
    by_loop: dict[asyncio.AbstractEventLoop, list[Listener]] = {}
    for listener in listeners:
        by_loop.setdefault(listener.loop, []).append(listener)
    for loop, own in by_loop.items():
        if not loop.is_closed():
            loop.call_soon_threadsafe(_for_each, own, call)


def _for_each(listeners: Iterable[Listener], call: Callable[[Listener], None]) -> None:
    for listener in listeners:
        call(listener)
