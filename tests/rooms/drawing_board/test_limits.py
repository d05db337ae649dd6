"""The limits of the checks are the user's to change on the shop's page."""

import re
from html import unescape
from typing import Any

import pytest
from fastapi.testclient import TestClient

from server.craft.findings import LIMITS
from server.rooms.drawing_board.limits import NAMES


@pytest.fixture
def sent(client: TestClient, board_id: str) -> dict[str, str]:
    """The shop's form as the page has it, ready to be sent again."""
    page = client.get(f"/pieces/{board_id}/drawing-board?show=shop").text
    form = page[page.index('id="shop-form"') :]
    form = form[: form.index("</form>")]
    fields = re.findall(r'<input id="[^"]*" name="([^"]+)" type="text" value="([^"]*)"', form)
    values = {name: unescape(value) for name, value in fields}
    return values | {"display_units": "mm", "saw-flip": "on"}


def _codes(client: TestClient, piece: str) -> dict[str, dict[str, Any]]:
    checks = client.get(f"/api/pieces/{piece}/plan").json()["checks"]
    return {check["code"]: check for check in checks}


def test_every_limit_has_a_field() -> None:
    assert set(NAMES) | {"strip-short"} == set(LIMITS)


def test_sent_as_it_is_nothing_changes(sent, change, drawn) -> None:
    assert len([name for name in sent if name.startswith("limit-")]) == len(NAMES)
    before = drawn().get("limits")
    assert change("shop", **sent).status_code == 200
    assert drawn().get("limits") == before


def test_a_limit_is_changed_and_the_check_goes_by_it(sent, change, drawn, client, board_id) -> None:
    # The beaker's wall is 12 mm.
    assert "wall-thin" not in _codes(client, board_id)
    reply = change("shop", **sent | {"limit-wall-thin": "12,5"})
    assert reply.status_code == 200
    assert drawn()["limits"] == {"wall-thin": 12.5}
    assert _codes(client, board_id)["wall-thin"]["limit"] == 12.5
    page = client.get(f"/pieces/{board_id}/drawing-board?show=shop").text
    assert "As it comes: 3 mm" in page

    # Equality passes; an empty field is as it comes.
    change("shop", **sent | {"limit-wall-thin": "12"})
    assert "wall-thin" not in _codes(client, board_id)
    change("shop", **sent | {"limit-wall-thin": ""})
    assert "limits" not in drawn()


@pytest.mark.parametrize("typed", ["-1", "thick", "1e9"])
def test_what_is_no_limit_is_said_beside_its_field(typed, sent, change, drawn) -> None:
    reply = change("shop", at__show="shop", **sent | {"limit-tips-easily": typed})
    assert 'id="f-limit-tips-easily-e"' in reply.text
    assert "limits" not in drawn()


def test_inches_are_read_as_inches(sent, change, drawn) -> None:
    change("shop", **sent | {"display_units": "mm", "limit-segment-small": '1/2"'})
    assert drawn()["limits"] == {"segment-small": 12.7}
