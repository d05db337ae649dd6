"""A whole layout of one wood, section after section, and the prices it teaches."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from server.craft.saw.layout.choose import Chooser, Section
from server.craft.saw.layout.problem import UM, Wood
from server.craft.saw.layout.sawn import Sawn, whole

Stop = Callable[[], bool]
Prices = list[float]

_MOST_UNOPENED = 24
_LEARNING = 0.35


@dataclass(frozen=True, slots=True)
class Plan:
    """One wood laid out: every board of the rack, and the segments that found no place."""

    boards: tuple[Sawn, ...]
    left: Mapping[int, int]

    @property
    def cost(self) -> float:
        """Money for the boards opened, less what goes back."""
        return sum(board.cost for board in self.boards)

    @property
    def lacking(self) -> int:
        """Segments without a place."""
        return sum(self.left.values())

    @property
    def rank(self) -> tuple[int, float]:
        """Fewer segments short first, then less money."""
        return self.lacking, self.cost


def empty_plan(wood: Wood) -> Plan:
    """Nothing laid yet."""
    left = {item: wood.items[item].count for item in range(len(wood.items))}
    return Plan(tuple(whole(stock) for stock in wood.stocks), left)


def first_prices(wood: Wood) -> Prices:
    """Money for each µm of pitches if every strip took its own width and kerf of middling wood."""
    rates = sorted(stock.rate for stock in wood.stocks)
    middle = max(rates[len(rates) // 2] if rates else 1.0, 1e-9)
    return [1.1 * middle * (kind.width_um + wood.rip_um) / UM / UM for kind in wood.kinds]


def complete(chooser: Chooser, start: Plan, prices: Prices, stop: Stop) -> tuple[Plan, Prices]:
    """Lay sections until nothing is left or nothing fits; and the prices those sections taught.

    A kind that ended in wasteful sections becomes dearer, so that the next layout serves it
    earlier.
    """
    boards, left = list(start.boards), start.left
    learnt = list(prices)
    while any(left.values()) and not stop():
        section = _next(chooser, boards, left, prices)
        if section is None:
            break
        _learn(chooser.wood, learnt, section, left)
        boards[section.board], left = section.after, section.left
    return Plan(tuple(boards), left), learnt


def _next(
    chooser: Chooser, boards: Sequence[Sawn], left: Mapping[int, int], prices: Prices
) -> Section | None:
    opened = [index for index, board in enumerate(boards) if board.strips]
    closed = [index for index, board in enumerate(boards) if not board.strips]
    if len(closed) > _MOST_UNOPENED:
        closed.sort(key=lambda i: (boards[i].stock.rate, boards[i].stock.value, i))
    section = chooser.choose(boards, opened + closed[:_MOST_UNOPENED], left, prices)
    if section is None and len(closed) > _MOST_UNOPENED:
        section = chooser.choose(boards, closed[_MOST_UNOPENED:], left, prices)
    return section


def _learn(wood: Wood, prices: Prices, section: Section, left: Mapping[int, int]) -> None:
    """Move the price of each kind laid towards what its wood did cost in this section."""
    wide: dict[int, float] = {}
    for item, before in left.items():
        laid = before - section.left[item]
        if laid:
            kind = wood.items[item].kind
            wide[kind] = wide.get(kind, 0.0) + laid * wood.items[item].pitch_um
    area = sum(um * (wood.kinds[kind].width_um + wood.rip_um) for kind, um in wide.items())
    for kind in wide:
        paid = section.cost / area * (wood.kinds[kind].width_um + wood.rip_um)
        prices[kind] += _LEARNING * (paid - prices[kind])
