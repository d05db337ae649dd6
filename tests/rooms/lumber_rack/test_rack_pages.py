"""The rack over HTTP: put there, corrected, used, undone, tables out and in, prices, own woods."""

import csv
import io
import json
from typing import Any

import pytest
from fastapi.testclient import TestClient
from saw_pieces import band_ring, boards_for

from server.api.rack_item import RackItemIn

BOARD = {
    "kind": "board",
    "wood": "ash-white",
    "name": "Ash",
    "count": "2",
    "thickness_mm": "1",
    "width_mm": "6 in",
    "length_mm": "3'",
    "price_per_board_foot": "8",
    "nominal_thickness_mm": "25.4 mm",
    "moisture_percent": "8,5",
    "grain": "quarter",
    "place": "Wall",
}


def put(client: TestClient, **more: str | list[str]) -> Any:
    return client.post("/lumber-rack/items", data=BOARD | {"thickness_mm": "25.4 mm"} | more)


def only_item(client: TestClient) -> dict[str, Any]:
    (item,) = client.get("/api/rack").json()["items"]
    found: dict[str, Any] = item
    return found


def test_a_board_is_kept_as_the_api_knows_it(client: TestClient) -> None:
    reply = put(client, d_x="1 in", d_y="0", d_long="2 in", d_wide='1/2"')
    assert reply.status_code == 200
    item = only_item(client)
    RackItemIn.model_validate(item["item"])
    assert item["item"]["width_mm"] == pytest.approx(152.4)
    assert item["item"]["length_mm"] == pytest.approx(914.4)
    assert item["item"]["defects"] == [
        {"x_mm": 25.4, "y_mm": 0.0, "length_mm": 50.8, "width_mm": 12.7}
    ]
    # 1 × 6 × 36 in is 216 in³, 1.5 board feet a board.
    assert "3.00" in reply.text


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("thickness_mm", "", "Please fill this in."),
        ("thickness_mm", "0 mm", "Between 0.1 and"),
        ("width_mm", "wide", "is no length"),
        ("length_mm", "-3", "Between 0.1 and"),
        ("count", "1.5", "A whole number"),
        ("count", "-1", "Between 0 and"),
        ("price_per_board_foot", "nan", "Between 0"),
        ("moisture_percent", "inf", "Between 0"),
        ("wood", "unobtainium", "There is no wood"),
        ("kind", "tree", "Choose one of these."),
        ("name", "x" * 300, "At most 200"),
    ],
)
def test_what_is_wrong_is_said_beside_the_field_and_stays(
    client: TestClient, field: str, typed: str, words: str
) -> None:
    reply = put(client, **{field: typed})
    assert reply.status_code == 422
    assert words in reply.text
    assert client.get("/api/rack").json()["items"] == []


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (("", "5", "5", "5"), "Please fill this in."),
        (("5000", "5", "5", "5"), "beside the board"),
        (("5", "5", "0", "5"), "Between 0.1"),
        (("knot", "5", "5", "5"), "is no length"),
    ],
)
def test_a_wrong_defect_is_said_in_its_row(
    client: TestClient, row: tuple[str, ...], words: str
) -> None:
    reply = put(client, **dict(zip(("d_x", "d_y", "d_long", "d_wide"), row, strict=True)))
    assert reply.status_code == 422
    assert words in reply.text


def test_a_spare_ring_needs_a_hole_smaller_than_itself(client: TestClient) -> None:
    ring = {
        "kind": "spare-ring",
        "segments": "12",
        "outside_diameter_mm": "90",
        "inside_diameter_mm": "95",
    }
    assert "The hole is wider than the ring." in put(client, **ring).text
    assert put(client, **ring | {"inside_diameter_mm": "60"}).status_code == 200
    RackItemIn.model_validate(only_item(client)["item"])


def test_a_ring_of_a_piece_fills_the_form_of_a_spare_ring(client: TestClient) -> None:
    piece = client.post("/api/pieces", json=band_ring("Band", "wenge")).json()["id"]
    page = client.get(f"/lumber-rack/new?piece={piece}&ring=r1").text
    assert 'value="120"' in page
    assert 'value="96"' in page
    assert client.get("/lumber-rack/new?piece=none&ring=r1").status_code == 200


def test_used_leaves_and_undone_comes_back_and_correcting_keeps_what_was_used(
    client: TestClient,
) -> None:
    piece = client.post("/api/pieces", json=band_ring("Band", "ash-white")).json()["id"]
    put(client)
    item = only_item(client)
    address = f"/lumber-rack/items/{item['id']}"
    client.post(f"{address}/use", data={"piece": piece, "use_count": "1"})
    assert _rows(client)[0]["count"] == "1"
    # Now one is left; the form says one, and saving it unchanged must not lose the used one.
    client.post(address, data=BOARD | {"thickness_mm": "25.4 mm", "count": "1", "revision": "1"})
    assert only_item(client)["item"]["count"] == 2
    assert _rows(client)[0]["count"] == "1"
    use = client.get(f"/api/ledger?piece={piece}").json()["items"][0]["id"]
    client.post(f"/lumber-rack/uses/{use}/undo", data={})
    assert _rows(client)[0]["count"] == "2"
    assert client.post(f"/lumber-rack/uses/{use}/undo", data={}).status_code == 404


def test_no_more_can_be_used_than_is_there(client: TestClient) -> None:
    piece = client.post("/api/pieces", json=band_ring("Band", "ash-white")).json()["id"]
    put(client)
    address = f"/lumber-rack/items/{only_item(client)['id']}/use"
    assert client.post(address, data={"piece": piece, "use_count": "3"}).status_code == 422
    assert client.post(address, data={"piece": "none", "use_count": "1"}).status_code == 422


def test_somebody_who_saved_first_is_not_overwritten(client: TestClient) -> None:
    put(client)
    item = only_item(client)
    form = BOARD | {"thickness_mm": "25.4 mm", "revision": "1"}
    assert client.post(f"/lumber-rack/items/{item['id']}", data=form).status_code == 200
    late = client.post(f"/lumber-rack/items/{item['id']}", data=form | {"name": "Late"})
    assert late.status_code == 409
    assert "Late" in late.text
    assert only_item(client)["item"]["name"] == "Ash"


def test_taken_off_and_put_back(client: TestClient) -> None:
    put(client)
    item = only_item(client)["id"]
    client.post(f"/lumber-rack/items/{item}/archive")
    assert client.get("/api/rack").json()["items"] == []
    assert "Put back" in client.get("/lumber-rack?archived=true").text
    client.post(f"/lumber-rack/items/{item}/restore")
    assert only_item(client)["id"] == item
    assert client.get("/lumber-rack/items/none").status_code == 404


def test_a_table_out_and_in_changes_nothing(client: TestClient) -> None:
    for board in boards_for("ash-white"):
        client.post("/api/rack", json=board | {"note": '=cmd|"x"', "place": "Shelf, low; left"})
    table = client.get("/lumber-rack/rack.csv").text
    before = client.get("/api/rack").json()
    assert "'=cmd" in table
    look = _look(client, table)
    assert look.status_code == 200
    assert look.text.count("is there already") == 2
    assert client.post("/lumber-rack/table/keep", data={"text": table}).status_code == 200
    assert client.get("/api/rack").json() == before


def test_a_table_puts_new_things_there_and_changes_known_ones(client: TestClient) -> None:
    client.post("/api/rack", json=boards_for("ash-white")[0] | {"id": "a"})
    table = (
        "id,wood,thickness_mm,width_mm,length_mm,count,defects\n"
        "a,ash-white,20,150,900,1,\n"
        ",wenge,25.4,100,500,3,10 20 30 40; 100 0 50 100\n"
    )
    assert _look(client, table).status_code == 200
    client.post("/lumber-rack/table/keep", data={"text": table})
    items = {i["item"]["wood"]: i["item"] for i in client.get("/api/rack").json()["items"]}
    assert items["ash-white"]["thickness_mm"] == 20
    assert [d["x_mm"] for d in items["wenge"]["defects"]] == [10, 100]
    for item in items.values():
        RackItemIn.model_validate(item)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("", "must name the columns"),
        ("wood,thickness_mm\n", "no row"),
        ("wood,thickness_mm,colour\nash-white,20,red\n", "no column “colour”"),
        ("wood,thickness_mm,width_mm,length_mm\nash-white,x,5,5\n", "is no length"),
        ("wood,thickness_mm,width_mm,length_mm\noakum,5,5,5\n", "There is no wood"),
        ("wood,thickness_mm,width_mm,length_mm\nash-white,5,5,5,9\n", "more cells"),
        (
            "id,wood,thickness_mm,width_mm,length_mm\nx,ash-white,5,5,5\nx,ash-white,5,5,5\n",
            "twice",
        ),
    ],
)
def test_a_wrong_table_keeps_nothing(client: TestClient, table: str, words: str) -> None:
    good = "wood,thickness_mm,width_mm,length_mm\nash-white,20,100,500\n"
    assert _look(client, good).status_code == 200
    reply = _look(client, table)
    assert reply.status_code == 422
    assert words in reply.text
    assert client.post("/lumber-rack/table/keep", data={"text": table}).status_code == 422
    assert client.get("/api/rack").json()["items"] == []


def test_one_wrong_row_keeps_the_right_ones_out_too(client: TestClient) -> None:
    table = "wood,thickness_mm,width_mm,length_mm\nash-white,20,100,500\nash-white,20,100,nothing\n"
    client.post("/lumber-rack/table/keep", data={"text": table})
    assert client.get("/api/rack").json()["items"] == []


def test_bytes_that_are_no_text_are_refused(client: TestClient) -> None:
    reply = client.post(
        "/lumber-rack/table", files={"table": ("rack.csv", b"\xff\xfe\x00w", "text/csv")}
    )
    assert reply.status_code == 422


def test_the_price_list_is_kept(client: TestClient) -> None:
    offer = {
        "wood": "wenge",
        "thickness_mm": "25.4 mm",
        "width_mm": "100 mm",
        "length_mm": "900 mm",
        "price_per_board_foot": "20",
    }
    assert client.post("/lumber-rack/prices", data=offer).status_code == 200
    assert "20.00 a board foot" in client.get("/lumber-rack/prices").text
    assert client.post("/lumber-rack/prices", data=offer | {"width_mm": "0"}).status_code == 422
    client.post("/lumber-rack/prices/0/remove")
    assert "20.00 a board foot" not in client.get("/lumber-rack/prices").text


def test_an_own_wood_can_lie_on_the_rack_and_go_into_a_drawing(client: TestClient) -> None:
    piece = client.post("/api/pieces", json=band_ring("Band", "ash-white")).json()["id"]
    wood = {"name": "Teal laminate", "group": "laminate", "colour_hex": "#2f6f6a"}
    assert client.post("/lumber-rack/woods", data=wood).status_code == 200
    assert put(client, wood="teal-laminate").status_code == 200
    client.post("/lumber-rack/woods/teal-laminate/draw", data={"piece": piece})
    document = client.get(f"/api/pieces/{piece}").json()["piece"]
    assert [one["id"] for one in document["woods"]] == ["teal-laminate"]
    assert client.post("/api/plan", json=document).status_code == 200


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("name", ""),
        ("name", "123"),
        ("colour_hex", "red"),
        ("density_kg_m3", "-4"),
        ("density_kg_m3", "1e9"),
        ("group", "stone"),
        ("shrinkage_radial_percent", "90"),
    ],
)
def test_a_wrong_own_wood_is_refused(client: TestClient, field: str, typed: str) -> None:
    wood = {"name": "Teal laminate", "group": "laminate", "colour_hex": "#2f6f6a"}
    reply = client.post("/lumber-rack/woods", data=wood | {field: typed})
    assert reply.status_code == 422
    assert "error" in reply.text


def test_units_are_kept_on_the_device(client: TestClient) -> None:
    put(client)
    item = only_item(client)["id"]
    client.post("/lumber-rack/units", data={"units": "in"})
    assert 'name="width_mm" type="text" value="6"' in client.get(f"/lumber-rack/items/{item}").text


def test_names_are_shown_as_text(client: TestClient) -> None:
    put(client, name="<script>alert(1)</script>", place='"><img src=x>')
    page = client.get("/lumber-rack").text
    assert "<script>alert" not in page
    assert "<img src=x" not in page


def _rows(client: TestClient) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(client.get("/lumber-rack/rack.csv").text)))


def _look(client: TestClient, table: str) -> Any:
    return client.post(
        "/lumber-rack/table", files={"table": ("rack.csv", table.encode(), "text/csv")}
    )


def test_the_tables_columns_are_the_items_fields(client: TestClient) -> None:
    put(client)
    (row,) = _rows(client)
    known = {*RackItemIn.model_fields, "id"}
    assert set(row) <= known
    assert json.loads(row["width_mm"]) == pytest.approx(152.4)
