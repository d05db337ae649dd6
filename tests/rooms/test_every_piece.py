"""A drawing in the making has every page, however little of it there is."""

from fastapi.testclient import TestClient
from piece_makers import curve, piece, ring

from server.exports.files import FILES

PAGES = ("drawing-board", "saw-bench", "glue-bench", "lathe", "journal", "gluing-schedule")


def test_a_form_on_the_axis_alone_is_shown(client: TestClient) -> None:
    line = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((0, 0), (0, 50)),
        "rings": [ring("r1", 50)],
    }
    made = client.post("/api/pieces", json=piece([line])).json()["id"]
    html = {"accept": "text/html"}
    assert client.get("/pieces", headers=html).status_code == 200
    for page in PAGES:
        assert client.get(f"/pieces/{made}/{page}", headers=html).status_code == 200, page


def test_every_file_is_linked_from_the_drawings(client: TestClient, piece_id: str) -> None:
    page = client.get(f"/pieces/{piece_id}/drawing-board?show=drawings").text
    elsewhere = {"labels.pdf", "gluing.ics"}  # at the saw bench; with the schedule, by its hours
    assert f"/pieces/{piece_id}/gluing-schedule" in page
    for name in (*FILES, "piece.zip"):
        if name not in elsewhere:
            assert f"/api/pieces/{piece_id}/files/{name}" in page, name
