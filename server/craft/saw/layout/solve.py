"""The front door: a request in, the best layout found in its time out.

Each wood is a problem of its own. The search is limited by a count of work, so that the same
question has the same answer; the clock only guards the promised time.
"""

from collections.abc import Callable

from server.craft.saw.layout.answer import Lacking, LaidBoard, Layout, Status
from server.craft.saw.layout.convert import laid_boards, layout_cost
from server.craft.saw.layout.lacking import lacking_rows
from server.craft.saw.layout.problem import woods_of
from server.craft.saw.layout.search import PROVEN, Search
from server.craft.saw.layout.warm import plan_from
from server.craft.saw.layout.watch import Watch
from server.craft.saw.request import CuttingRequest, check_request

Clock = Callable[[], float]
Progress = Callable[[Layout], None]
ShouldStop = Callable[[], bool]


def cut_layout(
    request: CuttingRequest,
    clock: Clock,
    *,
    on_progress: Progress | None = None,
    should_stop: ShouldStop | None = None,
    known: Layout | None = None,
) -> Layout:
    """The cheapest layout found within `request.time_limit_s`; raises `FieldError` for bad input.

    `clock` counts seconds. `on_progress` gets every better layout, `should_stop` ends the search
    early with the best so far, `known` is a former layout to start from.
    """
    check_request(request)
    watch = Watch(clock, request.time_limit_s, should_stop)
    laid = known.boards if known else ()
    woods = woods_of(request)
    searches = [Search(wood, watch, plan_from(wood, laid) if laid else None) for wood in woods]
    answer = _Answer(request, searches, watch, on_progress)
    answer.report()
    for search in searches:
        search.begin()
    answer.report()
    for search in searches:
        if not watch.over():
            search.find_bound()
    answer.report()
    while not watch.over():
        furthest = _furthest(searches)
        if furthest is None:
            break
        if furthest.turn():
            answer.report()
    return answer.layout()


def _furthest(searches: list[Search]) -> Search | None:
    """The wood whose plan is furthest from its bound for the work it has had."""
    unproven = [search for search in searches if search.gap > 0]
    return max(unproven, key=lambda s: s.promise / (1 + s.work), default=None)


class _Answer:
    """Puts the woods' plans together."""

    def __init__(
        self,
        request: CuttingRequest,
        searches: list[Search],
        watch: Watch,
        on_progress: Progress | None,
    ) -> None:
        self._request = request
        self._searches = searches
        self._watch = watch
        self._on_progress = on_progress
        self._order = {board.id: place for place, board in enumerate(request.rack)}
        self._short: dict[tuple[str, tuple[int, ...]], list[Lacking]] = {}

    def report(self) -> None:
        """Tell whoever listens how far it is."""
        if self._on_progress:
            self._on_progress(self.layout())

    def layout(self) -> Layout:
        """The best plans as one layout."""
        boards: list[LaidBoard] = []
        short: list[Lacking] = []
        for search in self._searches:
            boards += laid_boards(search.wood, search.best.boards)
            short += self._lacking(search)
        cost = layout_cost(self._request.rack, boards)
        bound = min(cost, sum(search.bound for search in self._searches))
        boards.sort(key=lambda board: (self._order[board.id], board.copy))
        return Layout(_status(cost, bound, short), cost, bound, tuple(boards), tuple(short))

    def _lacking(self, search: Search) -> list[Lacking]:
        plan = search.best
        if not plan.lacking:
            return []
        key = (search.wood.name, tuple(plan.left.values()))
        if key not in self._short:
            rows = lacking_rows(self._request, search.wood, plan, self._watch.late)
            self._short[key] = rows
        return self._short[key]


def _status(cost: float, bound: float, short: list[Lacking]) -> Status:
    if short:
        return "short"
    return "proven" if cost - bound <= PROVEN * cost else "bounded"
