"""What to buy when the rack is short: the cheapest boards of a price list that make it enough."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from server.craft.saw.layout.construct import Plan
from server.craft.saw.layout.problem import Terms, Wood, wood_of
from server.craft.saw.layout.search import Search
from server.craft.saw.layout.watch import Watch
from server.craft.saw.request import Board, CuttingRequest, check_request
from server.craft.saw.strips import nominal_board_feet
from server.craft.units import board_feet

_OWN = Terms(factor=1e-3)
"""Wood that is on the rack already is paid for: it is used first, but not wasted."""
_OFFERED = "offered:"


@dataclass(frozen=True, slots=True)
class Purchase:
    """Boards of one line of the price list. `board_feet` and `money` are for all of them.

    Board feet are tallied on the nominal thickness where the line has one.
    """

    offer: str
    wood: str
    count: int
    board_feet: float
    money: float


@dataclass(frozen=True, slots=True)
class Shopping:
    """What to buy, and STRIP ids that no board on offer can give with the segments each lacks."""

    purchases: tuple[Purchase, ...]
    lacking: tuple[tuple[str, int], ...]


def buy_list(
    request: CuttingRequest,
    offers: Sequence[Board],
    clock: Callable[[], float],
    *,
    should_stop: Callable[[], bool] | None = None,
) -> Shopping:
    """The cheapest purchase found within the request's time that lets the rack cut everything.

    Found by laying out again with the boards on offer, bought whole: what is left over of them
    counts for nothing here. `count` of an offer is how many the seller has. Raises `FieldError`.
    """
    check_request(request)
    watch = Watch(clock, request.time_limit_s, should_stop)
    renamed = [offer.model_copy(update={"id": _OFFERED + offer.id}) for offer in offers]
    asked = request.model_copy(update={"rack": [*request.rack, *renamed]})
    terms = {board.id: _OWN for board in request.rack}
    terms |= {board.id: Terms(_factor(board), 0.0) for board in renamed}
    purchases: list[Purchase] = []
    lacking: list[tuple[str, int]] = []
    for name in sorted({strip.wood for strip in request.strips if strip.count}):
        own = Search(wood_of(request, name, {}), watch)
        own.begin()
        if not own.best.lacking:
            continue
        wood = wood_of(asked, name, terms)
        plan = _cheapest(wood, watch)
        purchases += _bought(wood, plan)
        lacking += [(wood.items[i].strip.id, n) for i, n in sorted(plan.left.items()) if n]
    return Shopping(tuple(purchases), tuple(lacking))


_TURNS = 60


def _cheapest(wood: Wood, watch: Watch) -> Plan:
    search = Search(wood, watch, mixing=False)
    search.begin()
    for _ in range(_TURNS):
        if watch.over():
            break
        search.turn()
    return search.best


def _factor(offer: Board) -> float:
    """How much dearer the tally makes the board than its actual thickness."""
    return _feet(offer) / board_feet(offer.thickness_mm, offer.width_mm, offer.length_mm)


def _feet(offer: Board) -> float:
    """Board feet that are paid for: on the nominal thickness where the price list names one."""
    if offer.nominal_thickness_mm is None:
        return board_feet(offer.thickness_mm, offer.width_mm, offer.length_mm)
    return nominal_board_feet(offer.nominal_thickness_mm, offer.width_mm, offer.length_mm)


def _bought(wood: Wood, plan: Plan) -> list[Purchase]:
    counts: dict[str, tuple[Board, int]] = {}
    for sawn in plan.boards:
        board = sawn.stock.board
        if sawn.strips and board.id.startswith(_OFFERED):
            counts[board.id] = (board, counts.get(board.id, (board, 0))[1] + 1)
    return [_purchase(wood, board, count) for board, count in counts.values()]


def _purchase(wood: Wood, board: Board, count: int) -> Purchase:
    feet = count * _feet(board)
    money = feet * board.price_per_board_foot
    return Purchase(board.id.removeprefix(_OFFERED), wood.name, count, feet, money)
