"""What is read after the program has begun to answer is there for whoever asks for it first."""

from concurrent.futures import ThreadPoolExecutor

from fastapi.testclient import TestClient

from server.app import Program

PAGE = {"accept": "text/html"}


def _asks_for(client: TestClient, address: str) -> int:
    return client.get(address, headers=PAGE).status_code


def test_the_home_page_needs_no_other_room(app: Program, client: TestClient) -> None:
    before = len(app.routes)
    assert _asks_for(client, "/pieces") == 200
    assert client.get("/api/health").json()["status"] == "ok"
    assert len(app.routes) == before


def test_many_who_ask_at_once_are_all_answered_and_the_rooms_are_read_once(
    app: Program, client: TestClient
) -> None:
    places = ["/lumber-rack", "/journal", "/office", "/api/rack", "/nowhere"] * 3
    with ThreadPoolExecutor(len(places)) as devices:
        replies = list(devices.map(lambda place: _asks_for(client, place), places))
    assert replies == [200, 200, 200, 200, 404] * 3
    after = len(app.routes)
    app.later.read()
    assert len(app.routes) == after


def test_the_description_of_the_interface_is_whole_from_the_start(app: Program) -> None:
    assert {"/api/plan", "/api/cutting", "/api/gluing-schedule"} <= set(app.openapi()["paths"])
