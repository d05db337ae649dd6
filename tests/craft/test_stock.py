"""The rack after uses, against what a person with a pencil would write."""

from datetime import UTC, datetime
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from server.craft.ledger import Entry, Kind
from server.craft.stock import Stock, rest_id, stock_now

NOW = datetime(2026, 5, 2, tzinfo=UTC)
BOARD: dict[str, Any] = {
    "id": "b",
    "kind": "board",
    "wood": "ash-white",
    "name": "Ash",
    "thickness_mm": 25.4,
    "width_mm": 150.0,
    "length_mm": 900.0,
    "count": 3,
    "price_per_board_foot": 8.0,
    "place": "Wall",
}


def use(seq: int, subject: str = "b", **data: Any) -> Entry:
    return Entry(
        id=f"{seq:08x}-0000-4000-8000-000000000000",
        seq=seq,
        piece="p",
        kind=Kind.USED,
        subject=subject,
        at=NOW,
        received_at=NOW,
        data=data,
    )


def left(rows: tuple[Stock, ...]) -> dict[str, int]:
    return {row.id: row.left for row in rows}


def test_what_is_used_leaves_and_without_the_use_is_back() -> None:
    assert left(stock_now([BOARD], [use(1, count=2)])) == {"b": 1}
    assert left(stock_now([BOARD], [])) == {"b": 3}


def test_no_more_leaves_than_is_there() -> None:
    assert left(stock_now([BOARD], [use(1, count=2), use(2, count=2)])) == {"b": 0}


def test_rests_come_back_with_what_they_have_of_their_board() -> None:
    rests = [{"length_mm": 400.0, "width_mm": 150.0}, {"length_mm": 300.0, "width_mm": 60.0}]
    sawn = use(7, returns=rests)
    rows = {row.id: row for row in stock_now([BOARD], [sawn])}
    first = rows[rest_id(sawn.id, 1)]
    assert first.document == {
        "id": "00000007-1",
        "kind": "offcut",
        "offcut": True,
        "count": 1,
        "name": "Rest of Ash",
        "wood": "ash-white",
        "thickness_mm": 25.4,
        "price_per_board_foot": 8.0,
        "place": "Wall",
        "length_mm": 400.0,
        "width_mm": 150.0,
        "defects": [],
    }
    assert left(tuple(rows.values())) == {"b": 2, "00000007-1": 1, "00000007-2": 1}


def test_a_rest_can_be_sawn_again_and_goes_when_its_board_comes_back() -> None:
    first = use(1, returns=[{"length_mm": 400.0, "width_mm": 150.0}])
    second = use(2, subject=rest_id(first.id, 1), returns=[{"length_mm": 310.0, "width_mm": 50.0}])
    rows = left(stock_now([BOARD], [first, second]))
    assert rows == {"b": 2, "00000001-1": 0, "00000002-1": 1}
    assert left(stock_now([BOARD], [second])) == {"b": 3}


def test_a_board_that_is_not_there_gives_no_rests() -> None:
    """Two devices that say the same board is sawn do not make its rests twice."""
    rests = [{"length_mm": 400.0, "width_mm": 150.0}]
    rows = left(stock_now([BOARD | {"count": 1}], [use(1, returns=rests), use(2, returns=rests)]))
    assert rows == {"b": 0, "00000001-1": 1}


def test_leaves_come_back_thinner_with_their_own_price() -> None:
    leaf = {"length_mm": 900.0, "width_mm": 150.0, "thickness_mm": 11.5, "price_per_board_foot": 9}
    thick = BOARD | {"nominal_thickness_mm": 25.4}
    rows = {row.id: row for row in stock_now([thick], [use(1, returns=[leaf, leaf])])}
    document = rows["00000001-2"].document
    assert (document["kind"], document["name"]) == ("board", "Leaf of Ash")
    assert (document["thickness_mm"], document["price_per_board_foot"]) == (11.5, 9)
    assert "nominal_thickness_mm" not in document


def test_a_corrected_rest_goes_with_its_board_and_one_thrown_away_stays_away() -> None:
    sawn = use(
        1, returns=[{"length_mm": 400.0, "width_mm": 150.0}, {"length_mm": 99.0, "width_mm": 9.0}]
    )
    first, second = rest_id(sawn.id, 1), rest_id(sawn.id, 2)
    corrected = {first: {**BOARD, "id": first, "kind": "offcut", "count": 1, "place": "Floor"}}
    rows = {row.id: row for row in stock_now([BOARD], [sawn], corrected, {second})}
    assert set(rows) == {"b", first}
    assert rows[first].document["place"] == "Floor"
    assert rows[first].came_from == sawn
    assert left(stock_now([BOARD], [], corrected, {second})) == {"b": 3}


def test_a_length_cut_off_leaves_the_rest_of_it() -> None:
    rows = {row.id: row for row in stock_now([BOARD], [use(3, length_mm=250)])}
    assert rows["b"].left == 2
    assert rows["00000003-1"].document["length_mm"] == 650.0


def test_odd_figures_in_a_use_do_no_harm() -> None:
    odd = [
        use(1, count="two"),
        use(2, subject="nothing", count=1),
        use(3, returns=[{"length_mm": -5, "width_mm": 3}, "no rest", {}]),
        use(4, returns="none", length_mm="far"),
    ]
    assert left(stock_now([BOARD | {"count": 9}], odd)) == {"b": 6}


@settings(deadline=None)
@given(st.lists(st.integers(1, 4), max_size=6))
def test_what_is_left_and_what_was_used_is_what_was_there(counts: list[int]) -> None:
    uses = [use(number, count=count) for number, count in enumerate(counts, start=1)]
    (row,) = stock_now([BOARD | {"count": 8}], uses)
    assert row.left + row.used == 8
    assert row.left == max(0, 8 - sum(counts))
