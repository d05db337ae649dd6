"""What to buy when the rack is short: the cheapest boards of a price list that hold the rest."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from server.craft.saw.layout import Layout, cut_layout
from server.craft.saw.layout.convert import price_of
from server.craft.saw.request import Board, CuttingRequest, Strip

Clock = Callable[[], float]


@dataclass(frozen=True, slots=True)
class Purchase:
    """So many boards of one offer; `cost` is what is paid for them, whole boards."""

    offer: Board
    count: int
    cost: float


@dataclass(frozen=True, slots=True)
class Shopping:
    """What to buy for one wood; `lacking` pieces fit on no offer."""

    wood: str
    purchases: tuple[Purchase, ...]
    cost: float
    lacking: int


def shopping(
    request: CuttingRequest,
    short: Layout,
    offers: Sequence[Board],
    clock: Clock,
    time_limit_s: float = 1.0,
) -> tuple[Shopping, ...]:
    """The cheapest purchase found for each wood that is short.

    Each offer is tried alone and all together; the dearer plans are dropped. What is paid counts,
    not what the rests are worth, for the money leaves the purse.
    """
    lacking = {row.strip: row.pieces for row in short.short}
    missing = [
        strip.model_copy(update={"count": lacking[strip.id]})
        for strip in request.strips
        if strip.id in lacking
    ]
    woods = list(dict.fromkeys(strip.wood for strip in missing))
    return tuple(
        _for_wood(
            request, wood, [s for s in missing if s.wood == wood], offers, clock, time_limit_s
        )
        for wood in woods
    )


def _for_wood(
    request: CuttingRequest,
    wood: str,
    strips: Sequence[Strip],
    offers: Sequence[Board],
    clock: Clock,
    time_limit_s: float,
) -> Shopping:
    fitting = [offer for offer in offers if offer.wood == wood]
    racks = [[offer] for offer in fitting] + ([fitting] if len(fitting) > 1 else [])
    best = Shopping(wood, (), 0.0, sum(strip.count for strip in strips))
    for rack in racks:
        asked = request.model_copy(
            update={
                "strips": list(strips),
                "rack": rack,
                "time_limit_s": time_limit_s / max(1, len(racks)),
            }
        )
        found = _bought(wood, cut_layout(asked, clock), rack)
        if (found.lacking, found.cost) < (best.lacking, best.cost) or not best.purchases:
            best = found
    return best


def _bought(wood: str, layout: Layout, rack: Sequence[Board]) -> Shopping:
    purchases = []
    for offer in rack:
        count = sum(1 for board in layout.boards if board.id == offer.id)
        if count:
            purchases.append(Purchase(offer, count, count * price_of(offer)))
    cost = sum(purchase.cost for purchase in purchases)
    return Shopping(wood, tuple(purchases), cost, sum(row.pieces for row in layout.short))
