"""Letting devices in: a code good once, slowed down and never shut out, a list that revokes."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from http.cookies import SimpleCookie
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from shop_help import loopback_client, shop_app, simple_piece
from store_help import made_store

from server.access.pairing import (
    COOKIE,
    GOOD_FOR,
    LONGEST_WAIT,
    TRIES_PER_CODE,
    Pairing,
    TooSoon,
    WrongCode,
)
from server.store.database import Store

LAN = "http://192.168.1.20:8377"
PAGE = {"accept": "text/html"}


class Time:
    """A clock that the test moves."""

    def __init__(self) -> None:
        self.at = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    made = made_store(tmp_path / "pairing")
    yield made
    made.close()


def wrong(pairing: Pairing) -> str:
    return f"{(int(pairing.offer().code) + 1) % 1_000_000:06d}"


def assume_another(pairing: Pairing, code: str) -> None:
    """Once in a million the next code is the same by chance; then there is nothing to see."""
    if pairing.offer().code == code:
        pytest.skip("the next code is the same by chance")


def test_a_code_is_good_once(store: Store) -> None:
    pairing = Pairing(store, Time())
    code = pairing.offer().code
    assert re.fullmatch(r"\d{6}", code)
    device, secret = pairing.redeem(f" {code[:3]} {code[3:]} ", "tablet", "Tablet")
    assert pairing.device_of(secret) == device
    assume_another(pairing, code)
    with pytest.raises(WrongCode):
        pairing.redeem(code, "phone", "Phone")


def test_a_token_is_good_once(store: Store) -> None:
    pairing = Pairing(store, Time())
    token = pairing.offer().token
    pairing.redeem(token, "tablet", "Tablet")
    with pytest.raises(WrongCode):
        pairing.redeem(token, "phone", "Phone")


def test_both_are_good_for_ten_minutes(store: Store) -> None:
    time = Time()
    pairing = Pairing(store, time)
    offer = pairing.offer()
    time.at += GOOD_FOR - timedelta(seconds=1)
    assert pairing.offer() == offer
    time.at += timedelta(seconds=1)
    for said in (offer.code, offer.token):
        with pytest.raises(WrongCode):
            pairing.redeem(said, "tablet", "Tablet")
    assert pairing.offer().token != offer.token


@pytest.mark.parametrize("said", ["", " ", "0", "é", "x" * 200, "-", "１２３４５６"])
def test_what_is_no_code_is_wrong(store: Store, said: str) -> None:
    with pytest.raises(WrongCode):
        Pairing(store, Time()).redeem(said, "tablet", "Tablet")


def test_wrong_codes_slow_down_and_never_shut_out(store: Store) -> None:
    time = Time()
    pairing = Pairing(store, time)
    waits = []
    for _ in range(12):
        with pytest.raises(WrongCode):
            pairing.redeem(wrong(pairing), "tablet", "Tablet")
        try:
            pairing.redeem(wrong(pairing), "tablet", "Tablet")
        except TooSoon as soon:
            waits.append(soon.wait)
            time.at += soon.wait
        except WrongCode:
            waits.append(timedelta(0))
    assert waits == sorted(waits)
    assert timedelta(0) < waits[-1] <= LONGEST_WAIT
    other, _ = pairing.redeem(pairing.offer().code, "phone", "Phone")
    assert other.name == "Phone", "another device must not suffer"
    device, _ = pairing.redeem(pairing.offer().code, "tablet", "Tablet")
    assert device.name == "Tablet", "after the wait the right code must do"


def test_a_code_cannot_be_found_by_trying(store: Store) -> None:
    pairing = Pairing(store, Time())
    token = pairing.offer().token
    for caller in range(TRIES_PER_CODE):
        with pytest.raises(WrongCode):
            pairing.redeem("no code", f"device {caller}", "Guesser")
    assert pairing.offer().token != token


def test_devices_are_known_again_after_a_restart_until_revoked(store: Store) -> None:
    first = Pairing(store, Time())
    device, secret = first.redeem(first.offer().code, "tablet", "Tablet")
    second = Pairing(store, Time())
    assert second.device_of(secret) == device
    assert second.revoke(device.id)
    assert second.device_of(secret) is None
    assert not second.revoke(device.id)
    assert Pairing(store, Time()).devices() == []


def test_the_secret_is_not_in_the_database(store: Store) -> None:
    pairing = Pairing(store, Time())
    _, secret = pairing.redeem(pairing.offer().code, "tablet", "Tablet")
    assert secret.encode() not in store.path.read_bytes()
    assert pairing.device_of(secret[:-1]) is None
    assert pairing.device_of(None) is None
    assert pairing.device_of("") is None


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[FastAPI]:
    app = shop_app(tmp_path / "data", lan=True)
    with loopback_client(app):
        yield app


@pytest.fixture
def tablet(shop: FastAPI) -> TestClient:
    """A device on the LAN. It does not enter the app's lifespan: that is the shop's."""
    return TestClient(shop, base_url=LAN, client=("192.168.1.30", 50000), follow_redirects=False)


def let_in(tablet: TestClient, shop: FastAPI, **form: str) -> SimpleCookie:
    said = {"code": shop.state.pairing.offer().code, "name": "Bench tablet", **form}
    reply = tablet.post("/pair", data=said, headers={"origin": LAN})
    assert reply.status_code == 303, reply.text
    return SimpleCookie(reply.headers["set-cookie"])


def test_an_unpaired_device_sees_only_the_page_for_the_code(
    tablet: TestClient, shop: FastAPI
) -> None:
    for path in ("/", "/pieces", "/connect", "/office", "/states", "/parts/timers"):
        reply = tablet.get(path, headers=PAGE)
        assert (reply.status_code, reply.headers["location"]) == (303, "/pair"), path
    for path in shop.openapi()["paths"]:
        if path != "/api/health":
            assert tablet.get(path).status_code == 401, path
    assert tablet.post("/api/pieces", json={}, headers={"origin": LAN}).status_code == 401
    assert tablet.post("/api/pieces", json={}).status_code == 403
    page = tablet.get("/pair", headers=PAGE)
    assert page.status_code == 200
    for asset in re.findall(r'(?:href|src)="(/static/[^"]+)"', page.text):
        assert tablet.get(asset).status_code == 200, asset
    assert "/api/live" not in page.text
    assert "<script" not in page.text


@pytest.mark.parametrize(
    "path",
    ["/pair/../api/pieces", "//api/pieces", "/static/../api/pieces", "/static/..%2fapi%2fpieces",
     "/api/health/../pieces", "/API/pieces", "/api/pieces/", "/pair/", "/pairing"],
)  # fmt: skip
def test_no_way_round_the_page(tablet: TestClient, path: str) -> None:
    request = tablet.build_request("GET", LAN)
    request.url = request.url.copy_with(raw_path=path.encode())
    assert tablet.send(request).status_code in (401, 404)


def test_the_right_code_lets_a_device_in(tablet: TestClient, shop: FastAPI) -> None:
    cookie = let_in(tablet, shop)[COOKIE]
    assert cookie["httponly"] is True
    assert cookie["samesite"].lower() == "lax"
    assert cookie["path"] == "/"
    assert not cookie["secure"], "over plain http a secure cookie would not come back"
    made = tablet.post("/api/pieces", json=simple_piece(), headers={"origin": LAN})
    assert made.status_code == 201
    address = f"/api/pieces/{made.json()['id']}/revisions"
    assert tablet.get(address).json()["items"][0]["device"] == "Bench tablet"
    assert tablet.post("/api/pieces", json=simple_piece()).status_code == 403  # no Origin
    foreign = {"origin": "http://evil.example"}
    assert tablet.post("/api/pieces", json=simple_piece(), headers=foreign).status_code == 403
    assert tablet.get("/pair", headers=PAGE).headers["location"] == "/"


def test_what_the_picture_holds_lets_a_device_in(tablet: TestClient, shop: FastAPI) -> None:
    token = shop.state.pairing.offer().token
    page = tablet.get("/pair", params={"token": token}, headers=PAGE)
    assert f'name="token" value="{token}"' in page.text
    assert shop.state.pairing.offer().token == token, "opening the page must not use it up"
    let_in(tablet, shop, code="", token=token)
    assert tablet.get("/api/pieces").status_code == 200


def test_a_wrong_code_is_said_and_slows_down(tablet: TestClient) -> None:
    statuses = []
    for _ in range(4):
        reply = tablet.post("/pair", data={"code": "no code"}, headers={"origin": LAN, **PAGE})
        statuses.append(reply.status_code)
        assert 'role="alert"' in reply.text
    assert statuses == [422, 422, 422, 429]
    assert int(reply.headers["retry-after"]) >= 1


def test_a_revoked_device_is_out_at_once(tablet: TestClient, shop: FastAPI) -> None:
    let_in(tablet, shop)
    assert tablet.get("/api/pieces").status_code == 200
    device = shop.state.pairing.devices()[0]
    computer = TestClient(shop, base_url="http://127.0.0.1:8377", client=("127.0.0.1", 5))
    listed = computer.get("/connect", headers=PAGE).text
    assert "Bench tablet" in listed
    assert computer.post(f"/connect/devices/{device.id}/revoke").status_code == 200
    assert tablet.get("/api/pieces").status_code == 401


@pytest.mark.parametrize("cookie", ["", "x", "a=b; ringwright_device", '"', "\x7f", "=" * 500])
def test_odd_cookies_let_nobody_in(tablet: TestClient, cookie: str) -> None:
    assert tablet.get("/api/pieces", headers={"cookie": cookie}).status_code == 401
    named = {"cookie": f"{COOKIE}={cookie}"}
    assert tablet.get("/api/pieces", headers=named).status_code == 401


def test_names_are_shown_as_text(tablet: TestClient, shop: FastAPI) -> None:
    let_in(tablet, shop, name="<script>alert(1)</script>")
    assert "<script>alert" not in tablet.get("/connect", headers=PAGE).text


def test_the_page_shows_a_code_to_scan_for_each_address(shop: FastAPI) -> None:
    from server.access.addresses import private_addresses

    computer = TestClient(shop, base_url="http://127.0.0.1:8377", client=("127.0.0.1", 5))
    page = computer.get("/connect", headers=PAGE).text
    for address in private_addresses():
        assert f"http://{address}:8377/" in page
    pictures = re.findall(r'<svg[^>]*viewBox="0 0 (\d+) \1"[^>]*class="segno"', page)
    assert len(pictures) == len(private_addresses())
    assert all(320 / int(modules) >= 4 for modules in pictures), "a module under 4 px"
    code = shop.state.pairing.offer().code
    assert f"{code[:3]} {code[3:]}" in page
    assert 'style="' not in page
