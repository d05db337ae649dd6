"""A plan from the bound: the openings that its linear programme uses whole, laid as they are."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.craft.saw.layout.choose import Chooser
from server.craft.saw.layout.construct import Plan, Prices, Stop, complete, empty_plan
from server.craft.saw.layout.mix import Choice, Ground
from server.craft.saw.layout.problem import UM
from server.craft.saw.layout.relay import laid

_WHOLE = 1e-6


@dataclass(frozen=True, slots=True)
class Use:
    """How often the bound opens a board with these lanes, `length_mm` of them."""

    board: int
    pattern: tuple[int, ...]
    length_mm: float
    times: float


def rounded(chooser: Chooser, uses: Sequence[Use], prices: Prices, stop: Stop) -> Plan:
    """Lay every use as many whole times as the bound does, then the rest wherever it fits."""
    wood = chooser.wood
    start = empty_plan(wood)
    free: dict[int, list[int]] = {}
    for index, stock in enumerate(wood.stocks):
        free.setdefault(stock.alike, []).append(index)
    choices = []
    for alike, pattern, length_mm, times in _together(chooser, uses):
        for _ in range(int(times + _WHOLE)):
            if not free[alike]:
                break
            stock = wood.stocks[free[alike][0]]
            ground = Ground(free[alike].pop(0), stock.trim_um, length_mm)
            choices.append(Choice(ground, pattern, int(length_mm * UM)))
    plan, _ = complete(chooser, laid(wood, start, choices, 0), prices, stop)
    return plan


def _together(
    chooser: Chooser, uses: Sequence[Use]
) -> list[tuple[int, tuple[int, ...], float, float]]:
    """Uses of boards that are alike added up, the most used first."""
    sums: dict[tuple[int, tuple[int, ...], float], float] = {}
    for use in uses:
        key = (chooser.wood.stocks[use.board].alike, use.pattern, use.length_mm)
        sums[key] = sums.get(key, 0.0) + use.times
    ordered = sorted(sums.items(), key=lambda item: (-item[1], item[0]))
    return [(*key, times) for key, times in ordered]
