"""The exact bound lies below every layout, however that was found."""

from typing import Any

import pytest
from cutting_cases import board, instance, made_requests, request, strip
from hypothesis import HealthCheck, given, settings

from server.craft.saw.layout.branching import Branching
from server.craft.saw.layout.construct import Plan
from server.craft.saw.layout.few import FewStrips, few_strips
from server.craft.saw.layout.problem import Wood, woods_of
from server.craft.saw.layout.search import Search
from server.craft.saw.layout.watch import Watch
from server.craft.saw.request import CuttingRequest

STEPS = 30


def woods(asked: dict[str, Any]) -> list[Wood]:
    return woods_of(CuttingRequest.model_validate(asked))


def searched(wood: Wood, turns: int) -> Plan:
    """The best plan of a few turns of the search, and of strips placed one by one."""
    search = Search(wood, Watch(lambda: 0.0, 10.0, None), mixing=False)
    search.begin()
    for _ in range(turns):
        search.turn()
    plans = [search.best]
    if few_strips(wood):
        few = FewStrips(wood)
        found = few.best(few.divisions[0], 4, lambda: False)
        plans += [found] if found else []
        plans += [plan for _ in range(6) if not few.done and (plan := few.turn(lambda: False))]
    return min(plans, key=lambda plan: plan.rank)


def bounded(wood: Wood, lacking: int, steps: int) -> Branching:
    branching = Branching(wood, lacking)
    for _ in range(steps):
        if not branching.possible or branching.done:
            break
        branching.step(float("inf"))
    return branching


@settings(
    max_examples=5, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
@given(made_requests())
def test_no_layout_is_cheaper(asked: dict[str, Any]) -> None:
    for wood in woods(asked):
        plan = searched(wood, 2)
        assert bounded(wood, plan.lacking, STEPS).bound <= plan.cost + 1e-6


def test_the_last_board_is_needed_whole() -> None:
    """The 60 × 330 mm offcut cannot give all of the goblet's padauk; nothing of it can be kept."""
    padauk = next(w for w in woods(instance("01_goblet20x12")) if w.name == "padauk")
    branching = bounded(padauk, 1, STEPS)
    assert branching.done
    assert branching.bound == pytest.approx(padauk.stocks[0].value, rel=1e-5)


def test_a_short_strip_costs_as_much_as_one_that_can_be_held() -> None:
    """Worked by hand: one segment takes 150 mm of strip; a section up to 300 mm long keeps nothing
    beside it, one of 300 mm keeps what is beside the strip at 0.9.
    """
    asked = request([strip("s1", count=1)], [board("b1")])
    (wood,) = woods(asked)
    rate = 6.5 * 21 / (144 * 25.4**3)
    trim, cross, rip = 5.0, 3.0, 2.4
    plain = rate * 120 * (trim + 150 + cross)
    beside = rate * (120 * (300 + cross) - 0.9 * 300 * (120 - 22 - rip))
    cheapest = min(plain, beside)
    branching = Branching(wood, 0)
    for _ in range(150):
        if not branching.done:
            branching.step(0.97 * cheapest)
    # The slices do not know that the strip is one piece: 3 % are left to them.
    assert 0.97 * cheapest <= branching.bound * (1 + 1e-5) <= cheapest * (1 + 1e-5)


def test_offcuts_may_have_each_other_beside_them() -> None:
    """Two strips at one end; a narrow offcut goes on behind them, another lies all along."""
    saw = {"rip_kerf_mm": 3.0, "cross_kerf_mm": 2.4, "end_trim_mm": 10.0, "plane_mm": 0.0}
    long = strip("s1", width_mm=25.0, mitre_deg=15.0, outer_edge_mm=45.2, count=9)
    asked = request([long], [board("b1", length_mm=560.0, width_mm=148.0)], saw=saw)
    (wood,) = woods(asked)
    plan = searched(wood, 2)
    (opened,) = (sawn for sawn in plan.boards if sawn.strips)
    narrow = [r for r in opened.rests if r[1] - r[0] >= 300_000 and r[3] - r[2] < 148_000]
    assert len(narrow) == 2
    assert bounded(wood, 0, 400).bound <= plan.cost + 1e-6


def test_strips_longer_than_half_a_board_lie_abreast() -> None:
    """The 257 × 120 mm offcut holds four of the five strips of the bowl's cherry at most.

    All of them are longer than half of it, so that they would lie abreast in its middle. Without
    that the bound is the price of that offcut alone.
    """
    cherry = next(w for w in woods(instance("04_bowl15x24_defects")) if w.name == "cherry")
    offcut = min(cherry.stocks, key=lambda stock: stock.value)
    assert bounded(cherry, 0, STEPS).bound > 1.1 * offcut.value
