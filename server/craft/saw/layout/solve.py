"""The front door: a request in, the best layout found in its time out.

Each wood is a problem of its own. The search is limited by a count of turns, so that the same
question has the same answer; the clock only guards the promised time.
"""

from collections.abc import Callable

from server.craft.saw.layout.answer import Lacking, LaidBoard, Layout, Status
from server.craft.saw.layout.convert import laid_boards, layout_cost
from server.craft.saw.layout.lacking import lacking_rows
from server.craft.saw.layout.problem import woods_of
from server.craft.saw.layout.search import PROVEN, Search
from server.craft.saw.request import CuttingRequest, check_request

Clock = Callable[[], float]
Progress = Callable[[Layout], None]
ShouldStop = Callable[[], bool]

_GRACE_S = 0.5
"""Of the second that the answer may be late, what the first plan may take."""
_TURNS_A_SECOND = 30


def cut_layout(
    request: CuttingRequest,
    clock: Clock,
    *,
    on_progress: Progress | None = None,
    should_stop: ShouldStop | None = None,
) -> Layout:
    """The cheapest layout found within `request.time_limit_s`; raises `FieldError` for bad input.

    `clock` counts seconds. `on_progress` gets every better layout, `should_stop` ends the search
    early with the best so far.
    """
    check_request(request)
    last_s = clock() + request.time_limit_s

    def stop() -> bool:
        return clock() > last_s or (should_stop is not None and should_stop())

    def late() -> bool:
        return clock() > last_s + _GRACE_S

    searches = [Search(wood, late) for wood in woods_of(request)]
    layout = _layout(request, searches)
    if on_progress:
        on_progress(layout)
    for _ in range(int(request.time_limit_s * _TURNS_A_SECOND)):
        search = _next(searches)
        if search is None or stop():
            break
        if search.turn(stop):
            layout = _layout(request, searches)
            if on_progress:
                on_progress(layout)
    return _layout(request, searches)


def _next(searches: list[Search]) -> Search | None:
    """The wood whose plan is furthest from its bound for the turns it has had."""
    open_ones = [search for search in searches if search.gap > 0]
    return max(open_ones, key=lambda s: s.gap / (1 + s.turns), default=None)


def _layout(request: CuttingRequest, searches: list[Search]) -> Layout:
    boards: list[LaidBoard] = []
    short: list[Lacking] = []
    for search in searches:
        boards += laid_boards(search.wood, search.best.boards)
        short += lacking_rows(search.wood, search.best)
    cost = layout_cost(request.rack, boards)
    bound = min(cost, sum(search.bound for search in searches))
    order = {board.id: place for place, board in enumerate(request.rack)}
    boards.sort(key=lambda board: (order[board.id], board.copy))
    return Layout(_status(cost, bound, short), cost, bound, tuple(boards), tuple(short))


def _status(cost: float, bound: float, short: list[Lacking]) -> Status:
    if short:
        return "short"
    return "proven" if cost - bound <= PROVEN * cost else "bounded"
