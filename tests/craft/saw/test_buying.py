"""What to buy: enough, cheap, and only for what is short."""

import time
from typing import Any

from cutting_cases import board, instance, request, strip

from server.craft.saw.buying import Shopping, buy_list
from server.craft.saw.layout import cut_layout
from server.craft.saw.request import Board, CuttingRequest


def shopping(asked: dict[str, Any], offers: list[dict[str, Any]]) -> Shopping:
    priced = [Board.model_validate(offer) for offer in offers]
    return buy_list(CuttingRequest.model_validate(asked), priced, time.monotonic)


def test_nothing_short_nothing_bought() -> None:
    found = shopping(request([strip("s1")], [board("b1")]), [board("offer")])
    assert found == Shopping((), ())


def test_the_cheaper_of_two_boards_that_do() -> None:
    # One ring takes a strip 482 mm long; either board holds it, the short one costs less.
    offers = [
        board("long", length_mm=2400.0, width_mm=150.0, count=5),
        board("short", length_mm=600.0, width_mm=60.0, count=5),
    ]
    found = shopping(request([strip("s1")], []), offers)
    assert [(p.offer, p.count) for p in found.purchases] == [("short", 1)]
    feet = 21 * 60 * 600 / (144 * 25.4**3)
    assert abs(found.purchases[0].board_feet - feet) < 1e-9
    assert abs(found.purchases[0].money - feet * 6.5) < 1e-9


def test_money_follows_the_nominal_thickness() -> None:
    offers = [board("o", length_mm=600.0, width_mm=60.0, nominal_thickness_mm=25.4)]
    found = shopping(request([strip("s1")], []), offers)
    feet = 25.4 * 60 * 600 / (144 * 25.4**3)
    assert abs(found.purchases[0].money - feet * 6.5) < 1e-9


def test_own_wood_is_used_before_any_is_bought() -> None:
    strips = [strip("s1"), strip("s2", wood="walnut")]
    offers = [board("o", wood="walnut", length_mm=600.0, width_mm=60.0)]
    found = shopping(request(strips, [board("b1")]), offers)
    assert [p.wood for p in found.purchases] == ["walnut"]


def test_what_nobody_sells_stays_lacking() -> None:
    found = shopping(request([strip("s1", thickness_mm=40.0)], []), [board("o")])
    assert found == Shopping((), (("s1", 12),))


def test_the_urn_can_be_cut_once_the_list_is_bought() -> None:
    asked = instance("12_urn_shortage", time_limit_s=1)
    offers = [
        board(f"{wood}-{width}", wood=wood, thickness_mm=21.0, width_mm=width, length_mm=1800.0,
              count=40, price_per_board_foot=price)
        for wood, price in (("maple", 6.5), ("walnut", 11.0), ("wenge", 21.0))
        for width in (100.0, 150.0)
    ]  # fmt: skip
    found = shopping(asked, offers)
    assert not found.lacking
    assert {p.wood for p in found.purchases} == {"maple", "walnut"}
    bought = {p.offer: p.count for p in found.purchases}
    rack = [o | {"count": bought[o["id"]]} for o in offers if o["id"] in bought]
    # The bought boards are dear and the own ones cheap, so that a quick layout uses them too.
    asked["rack"] = asked["rack"] + rack
    asked["time_limit_s"] = 3
    again = cut_layout(CuttingRequest.model_validate(asked), time.monotonic)
    assert sum(row.pieces for row in again.short) <= 0.02 * 960
