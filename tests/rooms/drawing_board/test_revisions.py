"""Nothing is overwritten: two people, undo, going back, comparing."""

RING = {"at__show": "ring", "at__ring": "r1"}
FORM = {"thickness": "20", "kind": "flat", "segments": "12", "phase": "0.5", "joint": "closed"}


def test_somebody_was_faster(client, board_id, drawn) -> None:
    def post(segments: str):
        data = {k.replace("__", "-"): v for k, v in (RING | FORM).items()}
        return client.post(
            f"/pieces/{board_id}/drawing-board/ring",
            data=data | {"revision": "1", "segments": segments},
            headers={"HX-Request": "true"},
        )

    assert post("14").status_code == 200
    late = post("16")
    assert late.status_code == 409
    assert "in the meantime" in late.text
    assert drawn()["parts"][0]["rings"][1]["segments"] == 14


def test_a_change_that_changes_nothing_makes_no_drawing(change, client, board_id) -> None:
    change("ring", **RING, **(FORM | {"wood": ["maple-sugar"]}))
    first = client.get(f"/api/pieces/{board_id}").json()["revision"]
    change("ring", **RING, **(FORM | {"wood": ["maple-sugar"]}))
    assert client.get(f"/api/pieces/{board_id}").json()["revision"] == first


def test_undo_twice_and_redo(change, drawn) -> None:
    for segments in ("14", "16"):
        change("ring", **RING, **(FORM | {"segments": segments}))
    count = lambda: drawn()["parts"][0]["rings"][1]["segments"]  # noqa: E731
    undone = change("undo/2", **RING)
    assert count() == 14
    assert "undo/1" in undone.text  # the next undo goes further back, not to and fro
    assert "undo/3" in undone.text  # and redo comes forward again
    change("undo/1", **RING, at__base="2")
    assert count() == 12
    change("undo/2", **RING, at__base="1")
    assert count() == 14


def test_every_drawing_is_listed_and_can_be_compared(change, client, board_id) -> None:
    change("ring", **RING, **(FORM | {"segments": "16", "wood": ["wenge"]}))
    page = client.get(f"/pieces/{board_id}/drawing-board?show=drawings&against=1").text
    assert "Back to this" in page
    assert "Drawing 1" in page
    assert "16 segments" in page
    assert "12 segments" in page


def test_a_plain_form_without_script_is_answered_by_a_redirect(client, board_id) -> None:
    data = {k.replace("__", "-"): v for k, v in (RING | FORM).items()} | {"revision": "1"}
    reply = client.post(
        f"/pieces/{board_id}/drawing-board/ring",
        data=data | {"segments": "18"},
        follow_redirects=False,
    )
    assert reply.status_code == 303
    assert reply.headers["location"] == f"/pieces/{board_id}/drawing-board?show=ring&ring=r1"


def test_an_old_drawing_that_is_not_there(change) -> None:
    assert change("undo/99").status_code == 404
