"""Changing rings at the board; every test is one user's action."""

import pytest

RING = {"at__show": "ring", "at__ring": "r1"}
FORM = {"thickness": "20", "kind": "flat", "segments": "12", "phase": "0.5", "joint": "closed"}


def ring(drawn, name="r1"):
    return next(r for p in drawn()["parts"] for r in p["rings"] if r["id"] == name)


def names(drawn):
    return [r["id"] for r in drawn()["parts"][0]["rings"]]


def test_the_form_sets_the_ring(change, drawn) -> None:
    wanted = FORM | {"segments": "18", "wood": ["sapele", "", "holly"]}
    reply = change("ring", **RING, **wanted)
    assert reply.status_code == 200
    assert ring(drawn)["segments"] == 18
    assert ring(drawn)["woods"] == ["sapele", "holly"]
    assert "drawing 2" in reply.text


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("thickness", "2/0", "0 below the line"),
        ("thickness", "-3", "Between 0.1 and 3000 mm"),
        ("thickness", "nan", "is no length"),
        ("segments", "2", "Between 3 and 360"),
        ("segments", "20000", "Between 3 and 360"),
        ("segments", "12.5", "whole number"),
        ("phase", "inf", "Between 0 and 1"),
        ("kind", "mosaic", "Choose one of these"),
        ("shares", "3 -1", "more than 0"),
        ("wood", "unobtainium", "not known here"),
    ],
)
def test_a_wrong_field_says_so_and_keeps_what_was_typed(
    change, drawn, field: str, typed: str, words: str
) -> None:
    before = drawn()
    reply = change("ring", **RING, **(FORM | {field: typed}))
    assert reply.status_code == 422
    assert words in reply.text
    if field not in ("kind", "wood"):
        assert f'value="{typed}"' in reply.text
    assert drawn() == before


def test_a_spacer_then_a_gap_then_closed(change, drawn) -> None:
    change("ring", **RING, **(FORM | {"joint": "spacer"}))
    assert ring(drawn)["spacer"]["thickness_mm"] == 1.5
    spaced = FORM | {"joint": "spacer", "joint_width": "2.5", "spacer_wood": "holly"}
    change("ring", **RING, **spaced)
    assert ring(drawn)["spacer"] == {"thickness_mm": 2.5, "wood": "holly"}
    change("ring", **RING, **(FORM | {"joint": "wedge", "joint_angle": "4"}))
    assert ring(drawn)["gap"] == {"angle_deg": 4.0}
    assert "spacer" not in ring(drawn)
    change("ring", **RING, **FORM)
    assert "gap" not in ring(drawn)


def test_shares_repeat_round_the_ring(change, drawn) -> None:
    change("ring", **RING, **(FORM | {"shares": "3 1"}))
    assert ring(drawn)["shares"] == [3.0, 1.0] * 6


def test_insert_split_join_move_and_take_out(change, drawn) -> None:
    assert names(drawn) == ["r0", "r1", "r2", "r3"]
    change("ring-insert", **RING, where="above")
    assert len(names(drawn)) == 5
    new = names(drawn)[2]
    assert drawn()["stacks"][0]["rings"] == ["r0", "r1", new, "r2", "r3"]
    change("ring-remove", at__show="ring", at__ring=new)
    assert names(drawn) == ["r0", "r1", "r2", "r3"]
    change("ring-split", **RING)
    assert [r["thickness_mm"] for r in drawn()["parts"][0]["rings"]] == [20, 10, 10, 20, 20]
    change("ring-merge", **RING)
    assert [r["thickness_mm"] for r in drawn()["parts"][0]["rings"]] == [20, 20, 20, 20]
    change("ring-move", **RING, where="above")
    assert names(drawn) == ["r0", "r2", "r1", "r3"]
    assert drawn()["stacks"][0]["rings"] == ["r0", "r2", "r1", "r3"]


def test_an_id_that_was_taken_out_never_comes_back(change, drawn) -> None:
    """The floor still speaks of a ring that was taken out of the drawing."""
    seen = set(names(drawn))
    for _ in range(3):
        change("ring-insert", **RING, where="below")
        new = next(n for n in names(drawn) if n not in {"r0", "r1", "r2", "r3"})
        assert new not in seen
        seen.add(new)
        change("ring-remove", at__show="ring", at__ring=new)


@pytest.mark.parametrize(
    ("act", "more", "words"),
    [
        ("ring-move", {"at__ring": "r3", "where": "above"}, "no ring beyond"),
        ("ring-merge", {"at__ring": "r3"}, "no ring over"),
        ("ring-split", {"at__ring": "gone"}, "no longer in the drawing"),
        ("ring", FORM, "Choose a ring first"),
        ("mend", {"code": "height-mismatch"}, "nothing to mend"),
    ],
)
def test_what_cannot_be_done_is_said(change, drawn, act: str, more: dict, words: str) -> None:
    before = drawn()
    reply = change(act, **more)
    assert reply.status_code == 422
    assert words in reply.text
    assert drawn() == before


def test_an_unknown_act_is_not_there(change) -> None:
    assert change("make-coffee").status_code == 404


def test_rings_are_stretched_to_the_profile(change, drawn) -> None:
    change("ring", **RING, **(FORM | {"thickness": "25"}))
    change("fit", of_part="body")
    assert sum(r["thickness_mm"] for r in drawn()["parts"][0]["rings"]) == pytest.approx(80)


def test_the_pattern_is_mirrored(change, drawn) -> None:
    change("ring", **(RING | {"at__ring": "r0"}), **(FORM | {"wood": ["wenge"]}))
    change("mirror", of_part="body")
    assert ring(drawn, "r3")["woods"] == ["wenge"]
    assert ring(drawn, "r3")["thickness_mm"] == 20


def test_a_mend_does_what_the_check_offers(client, change, drawn, board_id) -> None:
    change("ring", **RING, **(FORM | {"thickness": "25"}))
    checks = client.get(f"/api/pieces/{board_id}/plan").json()["checks"]
    found = next(c for c in checks if c["code"] == "height-mismatch")
    assert found["mend"]
    reply = change(
        "mend",
        code=found["code"],
        check_ring=found["ring"] or "",
        check_part=found["part"] or "",
    )
    assert reply.status_code == 200
    after = client.get(f"/api/pieces/{board_id}/plan").json()["checks"]
    assert "height-mismatch" not in [c["code"] for c in after]
