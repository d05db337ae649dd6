"""The demo with one thing wrong: the page says what, one tap mends it, undo takes that back."""

import json
from collections.abc import Callable
from importlib.resources import files
from typing import Any

import httpx
import pytest
from fastapi.testclient import TestClient

Document = dict[str, Any]
Tap = Callable[..., httpx.Response]


def demo() -> Document:
    """The demo piece as it is shipped."""
    document: Document = json.loads(files("server.demo").joinpath("piece.json").read_text("utf-8"))
    return document


@pytest.fixture
def demo_id(client: TestClient) -> str:
    reply = client.post("/api/pieces", json=demo())
    assert reply.status_code == 201, reply.text
    return str(reply.json()["id"])


@pytest.fixture
def tap(client: TestClient, demo_id: str) -> Tap:
    """An act on the demo's board, with the newest revision, as a form sends it."""

    def post(act: str, **fields: str) -> httpx.Response:
        revision = client.get(f"/api/pieces/{demo_id}").json()["revision"]
        reply = client.post(
            f"/pieces/{demo_id}/drawing-board/{act}",
            data={"revision": str(revision), **fields},
            headers={"HX-Request": "true"},
        )
        assert reply.status_code == 200, reply.text
        return reply

    return post


def codes(client: TestClient, demo_id: str) -> set[tuple[str, str]]:
    """Code and severity of all that is found, but for the rack's notes."""
    checks = client.get(f"/api/pieces/{demo_id}/plan").json()["checks"]
    return {(check["code"], check["severity"]) for check in checks if check["severity"] != "note"}


def drawn(client: TestClient, demo_id: str) -> Document:
    document: Document = client.get(f"/api/pieces/{demo_id}").json()["piece"]
    return document


def _mend_and_undo(
    client: TestClient, demo_id: str, tap: Tap, finding: tuple[str, str], words: str, **where: str
) -> None:
    """The finding is on the page with its button; the tap ends it; undo has it back."""
    wrong = drawn(client, demo_id)
    page = client.get(f"/pieces/{demo_id}/drawing-board").text
    assert codes(client, demo_id) == {finding}
    assert words in page
    mended = tap("mend", code=finding[0], **where)
    assert codes(client, demo_id) == set()
    assert words not in mended.text
    revision = client.get(f"/api/pieces/{demo_id}").json()["revision"]
    tap(f"undo/{revision - 1}")
    assert drawn(client, demo_id) == wrong
    assert codes(client, demo_id) == {finding}


def test_nothing_is_wrong_with_the_demo(client, demo_id) -> None:
    assert codes(client, demo_id) == set()


def test_its_stem_lengthened(client, demo_id, tap) -> None:
    tap("part-height", of_part="stem", height="200 mm")
    _mend_and_undo(
        client,
        demo_id,
        tap,
        ("stem-weak", "warn"),
        "Thicken Stem where it is weak",
        check_part="stem",
        check_ring="",
    )


def test_its_base_joint_deepened(client, demo_id, tap) -> None:
    tap(
        "joint",
        id="j-foot",
        diameter="5/8",
        depth="40 mm",
        clearance="0.006",
        end="0.06",
        web="0.2",
    )
    _mend_and_undo(
        client,
        demo_id,
        tap,
        ("joint-shallow", "stop"),
        "Add 2 rings at the top",
        check_part="foot",
        check_ring="f4",
    )


def test_its_stack_turned_round(client, demo_id, tap) -> None:
    document = drawn(client, demo_id)
    document["stacks"][0]["mounted"] = "top"
    revision = client.get(f"/api/pieces/{demo_id}").json()["revision"]
    reply = client.put(f"/api/pieces/{demo_id}", json=document, headers={"If-Match": str(revision)})
    assert reply.status_code == 200, reply.text
    page = client.get(f"/pieces/{demo_id}/drawing-board").text
    # Three rings are said in one entry with one button.
    assert page.count("Glue from the top on") == 1
    assert "Bowl rings 2 to 4" in page
    _mend_and_undo(
        client,
        demo_id,
        tap,
        ("stack-order", "stop"),
        "Glue from the top on",
        check_part="bowl",
        check_ring="b2",
    )


def test_turned_round_in_its_form_a_stack_is_put_in_order(client, demo_id, tap) -> None:
    tap(
        "stack",
        id="s-foot",
        name="Foot",
        mounted="top",
        faceplate="C",
        glue="pva-yellow",
        block_diameter="75 mm",
        block_thickness="25 mm",
        stack_ring=["f1", "f2", "f3", "f4"],
    )
    assert drawn(client, demo_id)["stacks"][2]["rings"] == ["f4", "f3", "f2", "f1"]
    assert codes(client, demo_id) == set()
