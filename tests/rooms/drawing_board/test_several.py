"""Several rings at once, and what stays because somebody set it."""

import pytest


def rings(drawn):
    return drawn()["parts"][0]["rings"]


def each(drawn, key, default=None):
    return [ring.get(key, default) for ring in rings(drawn)]


def by_hand(drawn):
    return [ring["id"] for ring in rings(drawn) if (ring.get("extra") or {}).get("by_hand")]


def test_what_is_left_empty_stays_as_it_is(change, drawn) -> None:
    before = rings(drawn)
    reply = change("rings", pick=["r1", "r3"], segments="18", wood=["sapele", "", "holly", ""])
    assert reply.status_code == 200
    assert each(drawn, "segments", 12) == [12, 18, 12, 18]
    assert rings(drawn)[1]["woods"] == ["sapele", "holly"]
    assert each(drawn, "thickness_mm") == [ring["thickness_mm"] for ring in before]
    assert rings(drawn)[0] == before[0]
    assert by_hand(drawn) == ["r1", "r3"]
    assert "rings=r1%2Cr3" in reply.headers["HX-Push-Url"]
    assert reply.text.count('value="r1" form="rings-form" checked') == 1


def test_they_are_turned_each_further_than_the_one_below(change, drawn) -> None:
    change("rings", pick=["r3", "r0", "r1"], phase="0.5", step="0.25")
    assert each(drawn, "phase") == [0.5, 0.75, 0.0, 0.0]


def test_joints_and_shares_follow_the_count(change, drawn) -> None:
    at = {"at__show": "ring", "at__ring": "r1"}
    form = {"thickness": "20", "kind": "flat", "segments": "12", "phase": "0.5"}
    change("ring", **at, **form, joint="closed", shares="3 1")
    change("rings", pick=["r0", "r1"], segments="16", joint="spacer")
    assert rings(drawn)[1]["shares"] == [3.0, 1.0] * 8
    assert [bool(ring.get("spacer")) for ring in rings(drawn)] == [True, True, False, False]


def test_split_join_and_level_out(change, drawn) -> None:
    change("rings-split", pick=["r0", "r2"])
    assert each(drawn, "thickness_mm") == [10, 10, 20, 10, 10, 20]
    names = each(drawn, "id")
    change("rings-merge", pick=[names[0], names[1], names[2], names[4]])
    assert each(drawn, "thickness_mm") == [40, 10, 10, 20]
    change("rings-even", pick=each(drawn, "id"))
    assert each(drawn, "thickness_mm") == [20, 20, 20, 20]
    assert sorted(drawn()["stacks"][0]["rings"]) == sorted(each(drawn, "id"))


def test_the_ticked_are_mirrored_and_taken_out(change, drawn) -> None:
    change("rings", pick=["r1"], segments="24", wood=["wenge"])
    change("rings-mirror", pick=["r1", "r2", "r3"])
    assert each(drawn, "segments", 12) == [12, 24, 12, 24]
    assert rings(drawn)[3]["woods"] == ["wenge"]
    reply = change("rings-remove", pick=["r1", "r3"])
    assert each(drawn, "id") == ["r0", "r2"]
    assert "rings=" not in reply.headers["HX-Push-Url"]


@pytest.mark.parametrize(
    ("act", "fields", "words"),
    [
        ("rings", {}, "Tick the rings"),
        ("rings-merge", {"pick": ["r0", "r2"]}, "lie one on another"),
        ("rings", {"pick": ["r0"], "segments": "2"}, "Between 3 and 360"),
        ("rings", {"pick": ["r0"], "wood": ["unobtainium"]}, "not known here"),
        ("rings", {"pick": ["r0"], "thickness": "0/0"}, "below the line"),
        ("rings-split", {"pick": ["gone"]}, "Tick the rings"),
    ],
)
def test_what_cannot_be_done_to_several_is_said(change, drawn, act, fields, words) -> None:
    before = drawn()
    reply = change(act, at__show="rings", **fields)
    assert reply.status_code == 422
    assert words in reply.text
    assert drawn() == before


def test_a_ring_that_was_set_by_hand_is_ticked_to_stay(change, drawn, client, board_id) -> None:
    at = {"at__show": "ring", "at__ring": "r1"}
    form = {"thickness": "20", "kind": "flat", "phase": "0.5", "joint": "closed"}
    change("ring", **at, **form, segments="18")
    assert by_hand(drawn) == ["r1"]
    board = f"/pieces/{board_id}/drawing-board?show=propose"
    assert 'name="keep" value="r1" checked' in client.get(board).text
    change("ring", **at, **form, segments="18")  # the tick “stays” was taken away
    assert by_hand(drawn) == []
    change("ring", **at, **form, segments="18", wood=["sapele"], stays="yes")
    assert by_hand(drawn) == ["r1"]
    assert 'name="keep" value="r0">' in client.get(board).text
