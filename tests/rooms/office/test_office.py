"""The office by hand: fill in the shop, see it kept, and new pieces start from it."""

from typing import Any

from fastapi.testclient import TestClient

FORM = {
    "display_units": "mm",
    "saw-blade_kerf_mm": "2.2",
    "saw-rip_kerf_mm": '3/32"',
    "saw-cross_kerf_mm": "3",
    "saw-end_trim_mm": "12",
    "saw-plane_mm": "1.5",
    "saw-shortest_strip_mm": "150",
    "saw-hold_tail_mm": "80",
    "saw-spare_segments": "2",
    "saw-flip": "yes",
    "allowance-outside_mm": "3",
    "allowance-inside_mm": "2.5",
    "allowance-flatten_mm": "0.6",
    "lathe-swing_mm": "400",
    "lathe-between_centres_mm": "600",
    "lathe-press_force_n": "1800",
    "lathe-clamp_force_n": "700",
    "room-temperature_c": "17",
    "room-humidity_percent": "48",
    "faceplate-0-name": "Small",
    "faceplate-0-diameter_mm": "80",
    "faceplate-0-count": "3",
    "jaws-0-name": "Standard jaws",
    "jaws-0-closes_from_mm": "44",
    "jaws-0-closes_to_mm": "60",
    "jaws-0-opens_from_mm": "50",
    "jaws-0-opens_to_mm": "70",
    "clamp-0-name": "Bar clamps",
    "clamp-0-count": "4",
    "clamp-0-force_n": "",
    "glue-0-name": "Hide glue, warm",
    "glue-0-press_minutes": "45",
    "glue-0-rest_minutes": "60",
    "glue-0-cure_hours": "24",
    "glue-0-open_minutes": "3",
    "glue-0-least_temperature_c": "18",
    "revision": "0",
}


def kept(client: TestClient) -> dict[str, Any]:
    shop: dict[str, Any] = client.get("/api/shop").json()
    return shop


def test_the_shop_is_kept_as_it_was_filled_in(client: TestClient) -> None:
    reply = client.post("/office/shop", data=FORM, follow_redirects=True)

    assert reply.status_code == 200
    assert "Kept." in reply.text
    shop = kept(client)
    # 3/32 inch is 2.38125 mm exactly.
    assert shop["saw"]["rip_kerf_mm"] == 2.38125
    assert shop["faceplates"] == [{"name": "Small", "diameter_mm": 80, "count": 3}]
    assert shop["jaws"][0]["opens_to_mm"] == 70
    assert shop["clamps"] == [{"name": "Bar clamps", "count": 4}]
    assert shop["glues"][0]["id"] == "own-hide-glue-warm"
    assert shop["revision"] == 1


def test_new_pieces_start_from_the_shop(client: TestClient) -> None:
    client.post("/office/shop", data=FORM)
    start = {
        "form": "bowl",
        "name": "First bowl",
        "units": "mm",
        "height": "90",
        "diameter": "200",
        "wood": "cherry-black",
    }
    made = client.post("/pieces/new", data=start, follow_redirects=False)
    assert made.status_code == 303, made.text

    [item] = client.get("/api/pieces").json()["items"]
    piece = client.get(f"/api/pieces/{item['id']}").json()["piece"]
    assert piece["saw"]["spare_segments"] == 2
    assert piece["lathe"]["swing_mm"] == 400
    assert piece["allowance"]["inside_mm"] == 2.5
    assert piece["glues"][0]["name"] == "Hide glue, warm"


def test_what_is_wrong_stands_beside_its_field_and_nothing_is_kept(client: TestClient) -> None:
    wrong = FORM | {
        "lathe-swing_mm": "wide",
        "room-humidity_percent": "140",
        "jaws-0-opens_to_mm": "20",
    }
    reply = client.post("/office/shop", data=wrong)

    assert reply.status_code == 422
    assert "“wide” is no length" in reply.text
    assert 'value="wide"' in reply.text
    assert "Between 0 and 100" in reply.text
    assert "ends before it begins" in reply.text
    assert kept(client)["revision"] == 0


def test_somebody_elses_shop_is_not_overwritten_unseen(client: TestClient) -> None:
    client.post("/office/shop", data=FORM)
    late = client.post("/office/shop", data=FORM | {"lathe-swing_mm": "350"})

    assert late.status_code == 409
    assert 'value="350"' in late.text
    assert kept(client)["lathe"]["swing_mm"] == 400


def test_a_copy_is_made_on_demand_and_listed(client: TestClient) -> None:
    assert "None yet" in client.get("/office").text
    assert client.post("/office/backup", follow_redirects=True).status_code == 200
    assert "asked for" in client.get("/office").text


def test_the_office_says_how_the_database_is_kept(client: TestClient) -> None:
    page = client.get("/office").text
    assert "SQLite" in page
    assert "FULL" in page or "EXTRA" in page


def test_the_api_takes_a_shop_and_nothing_else(client: TestClient) -> None:
    wrong = client.put("/api/shop", json={"lathe": {"swing_mm": "300"}, "colour": "red"})
    assert wrong.status_code == 422
    assert {error["path"] for error in wrong.json()["errors"]} == {"/lathe/swing_mm", "/colour"}
    assert client.put("/api/shop", json={"saw": {"blade_kerf_mm": 2}}).status_code == 200
