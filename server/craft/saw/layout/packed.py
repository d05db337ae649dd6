"""The cheapest way to lay a handful of strips, looked for in every set of them on every board."""

from collections.abc import Sequence

import numpy as np

from server.craft.saw.layout.blocks import Blocks, parts_of
from server.craft.saw.layout.problem import Wood
from server.craft.saw.layout.sawn import Sawn, whole
from server.craft.saw.layout.section import Run
from server.craft.saw.layout.zones import Zones

MOST_PACKED = 8
"""More strips than these take too long: the work triples with each."""
_WORK_A_JOIN = 0.03
_WORK_A_SET = 0.08
_WORK_A_BOARD = 1.0


def packed(
    wood: Wood, parts: Sequence[Run], only: Sequence[int]
) -> tuple[dict[int, Sawn] | None, float]:
    """The boards of `only` with these strips, None where they do not fit, and the work it took."""
    stocks = [wood.stocks[index] for index in only]
    if not stocks:
        return None, 0.0
    longest = max(stock.length_um - 2 * stock.trim_um for stock in stocks)
    blocks = Blocks(wood, parts, longest, max(stock.width_um for stock in stocks))
    size = 1 << len(parts)
    best = np.full(size, np.inf)
    best[0] = 0.0
    alike: dict[int, Zones] = {}
    taken = []
    for stock in stocks:
        if stock.alike not in alike:
            fits = [kind in stock.fits for kind, _ in parts]
            allowed = sum(1 << place for place, fit in enumerate(fits) if fit)
            alike[stock.alike] = Zones(wood, stock, blocks, allowed)
        costs = alike[stock.alike].costs
        after, chosen = best.copy(), np.zeros(size, np.int64)
        for strips in range(1, size):
            some = parts_of(strips)
            every = best[strips ^ some] + costs[some]
            place = int(every.argmin())
            after[strips], chosen[strips] = every[place], some[place]
        taken.append(chosen)
        best = after
    work = _WORK_A_JOIN * blocks.joined + len(alike) * (_WORK_A_BOARD + _WORK_A_SET * size)
    if not np.isfinite(best[-1]):
        return None, work
    boards, strips = {}, size - 1
    for place in range(len(stocks) - 1, -1, -1):
        here = int(taken[place][strips])
        boards[only[place]] = (
            alike[stocks[place].alike].laid(here) if here else whole(stocks[place])
        )
        strips ^= here
    return boards, work
