"""Woods, moisture, movement and glues over the API: values, strictness, words for what is wrong."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.api.wood import router
from server.craft.glue.adhesives import all_glues
from server.craft.wood.movement import movement_mm
from server.craft.wood.properties import Direction, numbers_of
from server.craft.wood.species import all_species, species
from server.web import problems

KINDS = {"read", "remembered", "common practice", "user's"}
ASKED: dict[str, Any] = {
    "wood": "maple-sugar",
    "width_mm": 100,
    "from_percent": 8,
    "to_percent": 11,
    "direction": "tangential",
}


@pytest.fixture(scope="module")
def wood_client() -> Iterator[TestClient]:
    app = FastAPI()
    problems.install(app)
    app.include_router(router)
    with TestClient(app) as speaking:
        yield speaking


def paths(reply: Any) -> list[str]:
    assert reply.status_code == 422, reply.text
    assert reply.headers["content-type"] == "application/problem+json"
    return [error["path"] for error in reply.json()["errors"]]


def test_every_wood_is_there_with_the_source_of_each_number(wood_client: TestClient) -> None:
    items = wood_client.get("/api/wood/species").json()["items"]
    assert [item["id"] for item in items] == [wood.id for wood in all_species()]
    for item in items:
        known = numbers_of(species(item["id"]))
        assert {name: item[name] for name in known} == known
        assert set(item["source"]) == set(known)
        assert {source["kind"] for source in item["source"].values()} <= KINDS
        assert all(source["text"] for source in item["source"].values())


def test_sugar_maple_is_the_printed_one(wood_client: TestClient) -> None:
    # Table 4-3: 4.8 and 9.9 %; Table 5-3b: gravity 0.63, times 1,120 kg/m³.
    items = wood_client.get("/api/wood/species").json()["items"]
    maple = next(item for item in items if item["id"] == "maple-sugar")
    assert maple["name"] == "sugar maple"
    assert maple["shrinkage_radial_percent"] == 4.8
    assert maple["shrinkage_tangential_percent"] == 9.9
    assert maple["density_kg_m3"] == pytest.approx(705.6)
    assert maple["source"]["density_kg_m3"]["kind"] == "read"


def test_moisture_of_a_printed_cell(wood_client: TestClient) -> None:
    # Table 4-2, 70 °F and 50 %: 9.2; the equation gives 9.2426.
    reply = wood_client.get(
        "/api/wood/moisture", params={"temperature_c": 21.1, "humidity_percent": 50}
    )
    assert reply.json()["moisture_percent"] == pytest.approx(9.2426, abs=5e-5)
    assert reply.json()["extrapolated"] is False


@pytest.mark.parametrize(
    ("query", "path"),
    [
        ("temperature_c=20", "/query/humidity_percent"),
        ("humidity_percent=20", "/query/temperature_c"),
        ("temperature_c=20&humidity_percent=100.1", "/query/humidity_percent"),
        ("temperature_c=20&humidity_percent=-1", "/query/humidity_percent"),
        ("temperature_c=20&humidity_percent=nan", "/query/humidity_percent"),
        ("temperature_c=inf&humidity_percent=50", "/query/temperature_c"),
        ("temperature_c=151&humidity_percent=50", "/query/temperature_c"),
        ("temperature_c=-61&humidity_percent=50", "/query/temperature_c"),
        ("temperature_c=warm&humidity_percent=50", "/query/temperature_c"),
        ("temperature_c=&humidity_percent=50", "/query/temperature_c"),
    ],
)
def test_air_that_cannot_be(wood_client: TestClient, query: str, path: str) -> None:
    assert paths(wood_client.get(f"/api/wood/moisture?{query}")) == [path]


def test_movement_by_the_coefficient(wood_client: TestClient) -> None:
    # Table 13-5: 0.00353 per 1 %, three of them on 100 mm.
    reply = wood_client.post("/api/wood/movement", json=ASKED)
    assert reply.status_code == 200
    assert reply.json()["change_mm"] == pytest.approx(1.059)
    assert reply.json()["equation"] == "13-2"


def test_drying_is_negative(wood_client: TestClient) -> None:
    drying = ASKED | {"from_percent": 11.0, "to_percent": 8.0}
    reply = wood_client.post("/api/wood/movement", json=drying)
    assert reply.json()["change_mm"] == pytest.approx(-1.059)


def test_green_to_dry_by_the_shrinkage(wood_client: TestClient) -> None:
    # Eq. 4-9: 9.9 % times 22/30.
    drying = ASKED | {"from_percent": 80, "to_percent": 8}
    reply = wood_client.post("/api/wood/movement", json=drying)
    assert reply.json()["change_mm"] == pytest.approx(-9.9 * 22 / 30)
    assert reply.json()["equation"] == "13-3"


@pytest.mark.parametrize("wood", [wood.id for wood in all_species()])
def test_every_wood_moves_both_ways(wood_client: TestClient, wood: str) -> None:
    directions: tuple[Direction, ...] = ("radial", "tangential")
    for direction in directions:
        asked = ASKED | {"wood": wood, "direction": direction}
        reply = wood_client.post("/api/wood/movement", json=asked)
        expected = movement_mm(species(wood), 100.0, 8.0, 11.0, direction)
        assert reply.json()["change_mm"] == expected > 0


def test_a_users_own_wood_may_come_along(wood_client: TestClient) -> None:
    own = {"id": "yew", "shrinkage_radial_percent": 3.0, "shrinkage_tangential_percent": 6.0}
    asked = ASKED | {"wood": "yew", "woods": [own], "from_percent": 30, "to_percent": 0}
    reply = wood_client.post("/api/wood/movement", json=asked)
    assert reply.json()["change_mm"] == pytest.approx(-6.0)


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"wood": "unobtainium"}, "/wood"),
        ({"wood": ""}, "/wood"),
        ({"wood": 3}, "/wood"),
        ({"wood": None}, "/wood"),
        ({"width_mm": "100"}, "/width_mm"),
        ({"width_mm": True}, "/width_mm"),
        ({"width_mm": 0}, "/width_mm"),
        ({"width_mm": -5}, "/width_mm"),
        ({"width_mm": 3000.1}, "/width_mm"),
        ({"width_mm": None}, "/width_mm"),
        ({"from_percent": -1}, "/from_percent"),
        ({"to_percent": "8"}, "/to_percent"),
        ({"to_percent": 301}, "/to_percent"),
        ({"direction": "along"}, "/direction"),
        ({"direction": "Radial"}, "/direction"),
        ({"colour": "red"}, "/colour"),
        ({"woods": [{"id": "yew"}], "wood": "yew"}, "/wood"),
        ({"woods": [{"id": "yew"}, {"id": "yew"}]}, "/woods/1/id"),
        ({"woods": [{"id": "yew", "density_kg_m3": "1"}]}, "/woods/0/density_kg_m3"),
    ],
)
def test_what_is_wrong_is_named(wood_client: TestClient, change: dict[str, Any], path: str) -> None:
    assert paths(wood_client.post("/api/wood/movement", json=ASKED | change)) == [path]


@pytest.mark.parametrize("missing", sorted(ASKED))
def test_what_is_missing_is_named(wood_client: TestClient, missing: str) -> None:
    asked = {name: value for name, value in ASKED.items() if name != missing}
    assert paths(wood_client.post("/api/wood/movement", json=asked)) == [f"/{missing}"]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_numbers_that_are_none(wood_client: TestClient, number: str) -> None:
    body = json.dumps(ASKED).replace(": 100,", f": {number},")
    reply = wood_client.post(
        "/api/wood/movement", content=body, headers={"content-type": "application/json"}
    )
    assert paths(reply) == ["/width_mm"]


@pytest.mark.parametrize("body", ["", "{", "[]", "null", '"maple"', "3"])
def test_bodies_that_are_no_question(wood_client: TestClient, body: str) -> None:
    reply = wood_client.post(
        "/api/wood/movement", content=body, headers={"content-type": "application/json"}
    )
    assert reply.status_code in {400, 422}
    assert reply.headers["content-type"] == "application/problem+json"


def test_every_glue_is_there_with_its_sources(wood_client: TestClient) -> None:
    items = wood_client.get("/api/glues").json()["items"]
    assert [item["id"] for item in items] == [one.id for one in all_glues()]
    yellow = items[0]
    assert yellow["id"] == "pva-yellow"
    times = {
        name: yellow[name]
        for name in (
            "press_minutes",
            "rest_minutes",
            "cure_hours",
            "least_temperature_c",
            "open_minutes",
        )
    }
    assert times == {
        "press_minutes": 30,
        "rest_minutes": 30,
        "cure_hours": 24,
        "least_temperature_c": 10,
        "open_minutes": 5,
    }
    for item in items:
        assert {source["kind"] for source in item["source"].values()} <= KINDS
        assert set(item["source"]) == set(times)
