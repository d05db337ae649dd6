"""The front door: a request in, the best layout found in its time out.

Each wood is a problem of its own. The search is limited by a count of work, so that the same
question has the same answer; the clock only guards the promised time.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from server.craft.saw.layout.answer import Lacking, LaidBoard, Layout, Status
from server.craft.saw.layout.choose import Chooser
from server.craft.saw.layout.construct import Plan, Prices, complete, empty_plan, first_prices
from server.craft.saw.layout.convert import laid_boards, layout_cost
from server.craft.saw.layout.finish import first_fit
from server.craft.saw.layout.lacking import lacking_rows
from server.craft.saw.layout.problem import Wood, woods_of
from server.craft.saw.request import CuttingRequest, check_request

Clock = Callable[[], float]
Progress = Callable[[Layout], None]
ShouldStop = Callable[[], bool]

_GRACE_S = 0.5
"""Of the second that the answer may be late, what the first plan may take."""
_PROVEN = 1e-3
_ROUNDS_A_SECOND = 4


@dataclass(slots=True)
class _Search:
    """One wood while it is being solved."""

    wood: Wood
    chooser: Chooser
    prices: Prices
    plan: Plan
    bound: float = 0.0
    rounds: int = field(default=0)


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
    start_s = clock()
    last_s = start_s + request.time_limit_s

    def stop() -> bool:
        return clock() > last_s or (should_stop is not None and should_stop())

    def late() -> bool:
        return clock() > last_s + _GRACE_S

    searches = [_first(wood, late) for wood in woods_of(request)]
    layout = _layout(request, searches)
    if on_progress:
        on_progress(layout)
    rounds = int(request.time_limit_s * _ROUNDS_A_SECOND)
    for _ in range(rounds):
        if stop():
            break
        better = [search for search in searches if _improve(search, stop)]
        if better:
            layout = _layout(request, searches)
            if on_progress:
                on_progress(layout)
    return layout


def _first(wood: Wood, late: Callable[[], bool]) -> _Search:
    chooser = Chooser(wood)
    plan, prices = complete(chooser, empty_plan(wood), first_prices(wood), late)
    if plan.lacking:
        plan = first_fit(wood, plan, lambda: False)
    return _Search(wood, chooser, prices, plan)


def _improve(search: _Search, stop: Callable[[], bool]) -> bool:
    plan, search.prices = complete(search.chooser, empty_plan(search.wood), search.prices, stop)
    search.rounds += 1
    if plan.rank < search.plan.rank:
        search.plan = plan
        return True
    return False


def _layout(request: CuttingRequest, searches: list[_Search]) -> Layout:
    boards: list[LaidBoard] = []
    short: list[Lacking] = []
    for search in searches:
        boards += laid_boards(search.wood, search.plan.boards)
        short += lacking_rows(search.wood, search.plan)
    cost = layout_cost(request.rack, boards)
    bound = min(cost, sum(search.bound for search in searches))
    order = {board.id: place for place, board in enumerate(request.rack)}
    boards.sort(key=lambda board: (order[board.id], board.copy))
    return Layout(_status(cost, bound, short), cost, bound, tuple(boards), tuple(short))


def _status(cost: float, bound: float, short: list[Lacking]) -> Status:
    if short:
        return "short"
    return "proven" if cost - bound <= _PROVEN * cost else "bounded"
