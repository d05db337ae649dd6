"""The sheet that every page is drawn on."""

import json
import re
from datetime import UTC, datetime, timedelta

from fastapi import FastAPI
from starlette.testclient import TestClient

from server.web.frame import HeadTimer

NOW = datetime(2026, 3, 4, 16, 28, 18, tzinfo=UTC)


def timer(letter: str, left: timedelta) -> HeadTimer:
    return HeadTimer(letter, letter, f"Plate {letter}", NOW + left, "press", "/glue-bench", NOW)


def test_what_is_left_and_what_is_over() -> None:
    assert timer("B", timedelta(minutes=11, seconds=42)).left == "11:42"
    assert timer("B", -timedelta(minutes=3, seconds=12)).left == "+3:12"
    assert timer("C", timedelta(hours=17)).left == "17 h"
    assert timer("B", timedelta(minutes=11, seconds=42)).until == "until 16:40"
    assert timer("B", -timedelta(seconds=1)).until == "since 16:28"
    assert timer("C", timedelta(hours=17)).until == "until Thu 09:28"


def test_timers_stand_soonest_first(frame_app: FastAPI, frame_client: TestClient) -> None:
    frame_app.state.head_timers = lambda _now: [
        timer("C", timedelta(hours=17)),
        timer("B", timedelta(minutes=4)),
    ]
    html = frame_client.get("/parts/timers").text
    assert re.findall(r'data-timer="(\w)"', html) == ["B", "C"]
    assert 'data-deadline="2026-03-04T16:32:18+00:00"' in html


def test_every_place_is_one_tap_away(frame_client: TestClient) -> None:
    html = frame_client.get("/states").text
    for href in ("/pieces", "/drawing-board", "/lumber-rack", "/saw-bench", "/glue-bench"):
        assert f'href="{href}"' in html
    assert html.count("<h1>") == 1


def test_pages_hold_nothing_that_the_content_policy_refuses(frame_client: TestClient) -> None:
    html = frame_client.get("/states").text
    assert " style=" not in html
    assert "<style" not in html
    assert not re.search(r"<script(?![^>]*\bsrc=)", html)
    assert not re.search(r"\son[a-z]+=", html)
    assert "//" not in re.sub(r"<!doctype[^>]*>", "", html).replace("http://www.w3.org/2000", "")


def test_htmx_is_told_to_stay_safe(frame_client: TestClient) -> None:
    html = frame_client.get("/states").text
    found = re.search(r"name=\"htmx-config\" content='([^']+)'", html)
    assert found
    config = json.loads(found[1].replace("&#34;", '"'))
    assert config["allowEval"] is False
    assert config["allowScriptTags"] is False
    assert config["includeIndicatorStyles"] is False
    assert config["historyCacheSize"] == 0


def test_a_device_keeps_its_paper_and_size(frame_client: TestClient) -> None:
    assert "data-theme" not in frame_client.get("/states").text
    frame_client.post("/look", data={"theme": "sun", "size": "150"})
    html = frame_client.get("/states").text
    assert 'data-theme="sun"' in html
    assert 'data-size="150"' in html
    frame_client.post("/look", data={"theme": "device"})
    assert "data-theme" not in frame_client.get("/states").text


def test_a_look_that_we_do_not_know_changes_nothing(frame_client: TestClient) -> None:
    frame_client.post("/look", data={"theme": "<b>"})
    frame_client.cookies.set("ringwright_theme", '"><script>')
    assert "data-theme" not in frame_client.get("/states").text


def test_after_a_form_one_is_back_on_the_page_of_ours(frame_client: TestClient) -> None:
    def sent_from(referer: str) -> str:
        reply = frame_client.post(
            "/look", data={"size": "100"}, headers={"referer": referer}, follow_redirects=False
        )
        assert reply.status_code == 303
        return reply.headers["location"]

    assert sent_from("http://testserver/states") == "/states"
    assert sent_from("http://elsewhere.test/states") == "/"
    assert sent_from("http://testserver//elsewhere.test/") == "/"
