"""Layouts being worked out: in a thread of their own, the best so far shown, at once if known."""

import threading
import time
from collections import Counter, OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from fastapi import Request

from server.craft.errors import CraftError
from server.craft.saw.buying import Shopping, buy_list
from server.craft.saw.layout import Layout, cut_layout
from server.craft.saw.layout.answer import Status
from server.craft.saw.layout.convert import layout_cost
from server.craft.saw.request import Board, CuttingRequest, Strip
from server.rooms.saw_bench.laid import Laid
from server.rooms.saw_bench.laying import key_of

KEPT = 24
WORTH_A_CHANGE = 0.01
"""A plan in hand is given up only for one that is cheaper by more than this part."""
_FIRST_WAIT_S = 0.35

Clock = Callable[[], float]


@dataclass
class Solving:
    """One question and its best answer so far. `refused` says why there is none."""

    key: str
    request: CuttingRequest
    started_s: float
    layout: Layout | None = None
    carried: Layout | None = None
    refused: str = ""
    shopping: Shopping | None = None
    found: int = 0
    first_s: float | None = None
    ended_s: float | None = None
    cancelled: bool = False
    changed: threading.Event = field(default_factory=threading.Event)
    _laid: Laid | None = field(default=None, repr=False)

    @property
    def done(self) -> bool:
        """Whether this is the last word."""
        return self.ended_s is not None

    @property
    def laid(self) -> Laid | None:
        """The answer so far with what follows from it; anew only when a better one is found."""
        layout, laid = self.layout, self._laid
        if layout is None:
            return None
        if laid is None or laid.layout is not layout:
            laid = self._laid = Laid(self.request, layout)
        return laid

    def share(self, now_s: float) -> float:
        """How much of the time is gone, 0 to 1."""
        return 1.0 if self.done else min(1.0, (now_s - self.started_s) / self.request.time_limit_s)


class LayoutDesk:
    """Keeps the answers to the last questions, and works on new ones. Safe from several threads."""

    def __init__(self, clock: Clock = time.monotonic) -> None:
        self._lock = threading.Lock()
        self._known: OrderedDict[str, Solving] = OrderedDict()
        self._newest: dict[str, str] = {}
        self.clock = clock

    def ask(
        self,
        sawing: str,
        request: CuttingRequest,
        offers: Sequence[Board],
        wait_s: float = _FIRST_WAIT_S,
    ) -> Solving:
        """The answer so far; work begins with the first asking. Older work on the same
        pieces is ended.

        Where the last answer, less the boards sawn since, still covers all there is to cut, it
        stays unless a clearly cheaper one is found: nobody wants a plan that moves under the saw.
        """
        key = key_of(request, offers)
        with self._lock:
            known = self._known.get(key)
            before = self._known.get(self._newest.get(sawing, ""))
            self._newest[sawing] = key
            if before is not None and before.key != key:
                before.cancelled = True
            if known is None or (known.cancelled and known.done and not known.layout):
                carried = carried_over(before, request) if before else None
                known = self._begin(key, request, offers, carried)
            self._known.move_to_end(key)
        known.changed.wait(wait_s)
        return known

    def cancel(self, sawing: str) -> None:
        """Leave it at the best so far."""
        with self._lock:
            solving = self._known.get(self._newest.get(sawing, ""))
        if solving is not None:
            solving.cancelled = True

    def again(self, sawing: str) -> None:
        """Forget the newest answer, so that the next asking works it out anew."""
        with self._lock:
            self._known.pop(self._newest.get(sawing, ""), None)

    def _begin(
        self,
        key: str,
        request: CuttingRequest,
        offers: Sequence[Board],
        carried: Layout | None,
    ) -> Solving:
        solving = Solving(key, request, self.clock(), layout=carried, carried=carried)
        if carried is not None:
            solving.changed.set()
        self._known[key] = solving
        while len(self._known) > KEPT:
            self._known.popitem(last=False)
        worker = threading.Thread(
            target=self._work, args=(solving, tuple(offers)), name="cutting-layout", daemon=True
        )
        worker.start()
        return solving

    def _work(self, solving: Solving, offers: Sequence[Board]) -> None:
        def better(layout: Layout) -> None:
            solving.layout = preferred(solving.carried, layout)
            solving.found += 1
            solving.first_s = solving.first_s or self.clock() - solving.started_s
            solving.changed.set()

        def enough() -> bool:
            return solving.cancelled

        try:
            found = cut_layout(solving.request, self.clock, on_progress=better, should_stop=enough)
            solving.layout = preferred(solving.carried, found)
            if solving.layout.short and offers:
                solving.shopping = buy_list(solving.request, offers, self.clock, should_stop=enough)
        except CraftError as no:
            solving.refused = str(no)
        finally:
            solving.ended_s = self.clock()
            solving.changed.set()


def carried_over(before: Solving, request: CuttingRequest) -> Layout | None:
    """The boards of the last layout that are still on the rack, if they cover exactly the rest.

    Only where saw, strips and boards are what they were: a ring drawn wider is another question.
    """
    layout, asked = before.layout, before.request
    if layout is None or layout.short or asked.saw != request.saw:
        return None
    if not (_unchanged(asked.strips, request.strips) and _unchanged(asked.rack, request.rack)):
        return None
    left = {board.id: board.count for board in request.rack}
    boards = []
    for board in layout.boards:
        if left.get(board.id, 0) > 0:
            left[board.id] -= 1
            boards.append(replace(board, copy=request_count(request, board.id) - left[board.id]))
    got = Counter[str]()
    for board in boards:
        for strip in board.strips:
            for part in strip.pieces:
                got[part.strip] += part.count
    if got != Counter({strip.id: strip.count for strip in request.strips}):
        return None
    return Layout("bounded", layout_cost(request.rack, boards), 0.0, tuple(boards), ())


def _unchanged(before: Sequence[Strip | Board], now: Sequence[Strip | Board]) -> bool:
    """Whether what is in both differs at most in its count."""
    known = {one.id: one for one in before}
    return all(
        known[one.id].model_copy(update={"count": one.count}) == one
        for one in now
        if one.id in known
    )


def request_count(request: CuttingRequest, board_id: str) -> int:
    """How many boards of that id are at hand."""
    return next(board.count for board in request.rack if board.id == board_id)


def preferred(carried: Layout | None, found: Layout) -> Layout:
    """The found layout, or the carried one where that is hardly dearer; the bound of the found."""
    if carried is None or found.cost < carried.cost * (1 - WORTH_A_CHANGE):
        return found
    status: Status = "proven" if carried.cost <= found.bound * 1.001 else "bounded"
    return replace(carried, bound=min(found.bound, carried.cost), status=status)


def desk_of(request: Request) -> LayoutDesk:
    """The app's desk, made when it is first asked for."""
    desk: LayoutDesk | None = getattr(request.app.state, "layout_desk", None)
    if desk is None:
        desk = request.app.state.layout_desk = LayoutDesk()
    return desk
