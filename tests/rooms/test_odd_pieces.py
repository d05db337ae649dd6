"""A drawing in the making has every page, however little of it there is."""

from fastapi.testclient import TestClient
from piece_makers import curve, piece, ring

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
