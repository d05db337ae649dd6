"""Forms with a file take what the contract says, 20 MiB, though other bodies end at 1 MiB."""

import json
from importlib import import_module

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient
from shop_help import simple_piece

from server.app import API, API_AT_ONCE, ROOMS, ROOMS_AT_ONCE
from server.web.bodies import LARGEST_BODY, LARGEST_FILE


def test_a_piece_as_large_as_a_body_may_be_is_put_in_from_a_file(client: TestClient) -> None:
    """The form around it must not count against it."""
    content = json.dumps(simple_piece("Large")).ljust(LARGEST_BODY)
    reply = client.post("/pieces/import", files={"file": ("large.json", content)})
    assert reply.status_code == 200
    assert [item["name"] for item in client.get("/api/pieces").json()["items"]] == ["Large"]


@pytest.mark.parametrize(
    ("address", "name"), [("/pieces/import", "file"), ("/lumber-rack/table", "table")]
)
def test_a_file_over_20_mib_is_too_large(client: TestClient, address: str, name: str) -> None:
    content = b" " * (LARGEST_FILE + 2 * LARGEST_BODY)
    reply = client.post(address, files={name: ("big", content)}, headers={"accept": "text/html"})
    assert reply.status_code == 413
    assert "larger than is taken" in reply.text


def test_every_form_with_a_file_has_the_larger_limit(client: TestClient) -> None:
    """Found by their parameters, so that a new one cannot be forgotten."""
    modules = [f"server.api.{name}" for name in (*API_AT_ONCE, *API)]
    modules += [f"server.rooms.{room}.pages" for room in (*ROOMS_AT_ONCE, *ROOMS)]
    forms = [
        route
        for module in modules
        for route in _routes(import_module(module).router)
        if any("UploadFile" in str(field.field_info) for field in route.dependant.body_params)
    ]
    assert len(forms) >= 4
    assert {route.path: route.max_body_size for route in forms if route.max_body_size is None} == {}


def _routes(router: object) -> list[APIRoute]:
    return [route for route in router.routes if isinstance(route, APIRoute)]  # type: ignore[attr-defined]
