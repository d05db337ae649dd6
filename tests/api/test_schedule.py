"""`POST /api/gluing-schedule` as the contract words it."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.api.schedule import router
from server.web import problems

ORDER: dict[str, Any] = {
    "stacks": [
        {
            "id": "low",
            "rings": [
                {"id": "b1", "press_minutes": 45, "rest_minutes": 30},
                {"id": "b2", "press_minutes": 45, "rest_minutes": 30},
            ],
            "cure_hours": 24,
        },
        {
            "id": "top",
            "rings": [{"id": "b3", "press_minutes": 40, "rest_minutes": 0}],
            "cure_hours": 12,
        },
    ],
    "presses": 1,
    "hours": None,
    "start": "2026-05-02T18:00:00+02:00",
}


@pytest.fixture(scope="module")
def client() -> TestClient:
    app = FastAPI()
    app.include_router(router)
    problems.install(app)
    return TestClient(app, raise_server_exceptions=False)


def answer(client: TestClient, **changes: Any) -> tuple[int, Any]:
    reply = client.post("/api/gluing-schedule", json={**ORDER, **changes})
    return reply.status_code, reply.json()


def test_the_answer_worked_out_by_hand(client: TestClient) -> None:
    # b1 18:00–18:45, its stack rests until 19:15; b3 18:45–19:25 holds the press until 19:25;
    # b2 19:25–20:10. Waiting with b3 instead: b2 19:15–20:00, ready a day later, b3 20:00–20:40.
    status, plan = answer(client)
    assert status == 200
    assert [(s["ring"], s["starts_at"], s["ends_at"], s["press"]) for s in plan["steps"]] == [
        ("b1", "2026-05-02T18:00:00+02:00", "2026-05-02T18:45:00+02:00", 0),
        ("b2", "2026-05-02T19:15:00+02:00", "2026-05-02T20:00:00+02:00", 0),
        ("b3", "2026-05-02T20:00:00+02:00", "2026-05-02T20:40:00+02:00", 0),
    ]
    assert plan["ready"] == {
        "low": "2026-05-03T20:00:00+02:00",
        "top": "2026-05-03T08:40:00+02:00",
    }
    assert plan["finish"] == plan["bound"] == "2026-05-03T20:00:00+02:00"
    assert plan["status"] == "proven"
    assert plan["at_most_later_minutes"] == 0


def test_each_step_lies_inside_one_stay(client: TestClient) -> None:
    stays = [
        {"starts_at": f"2026-05-{d:02}T19:00:00+02:00", "ends_at": f"2026-05-{d:02}T20:30:00+02:00"}
        for d in range(2, 9)
    ]
    status, plan = answer(client, hours=stays)
    assert status == 200
    for step in plan["steps"]:
        assert any(
            datetime.fromisoformat(stay["starts_at"]) <= datetime.fromisoformat(step["starts_at"])
            and datetime.fromisoformat(step["ends_at"]) <= datetime.fromisoformat(stay["ends_at"])
            for stay in stays
        )


def test_times_keep_their_seconds_and_come_back_in_the_offset_of_the_start(
    client: TestClient,
) -> None:
    stack = {**ORDER["stacks"][1], "rings": [{"id": "b3", "press_minutes": 0.5, "rest_minutes": 0}]}
    stays = [{"starts_at": "2026-05-02T16:00:07Z", "ends_at": "2026-05-02T17:00:00.250Z"}]
    status, plan = answer(client, stacks=[stack], hours=stays, start="2026-05-02T17:59:59.5+02:00")
    assert status == 200
    assert plan["steps"][0]["starts_at"] == "2026-05-02T18:00:07+02:00"
    assert plan["steps"][0]["ends_at"] == "2026-05-02T18:00:37+02:00"


def test_nothing_to_glue_is_finished_at_once(client: TestClient) -> None:
    status, plan = answer(client, stacks=[])
    assert status == 200
    assert plan["steps"] == []
    assert plan["ready"] == {}
    assert plan["finish"] == plan["bound"] == ORDER["start"]


def test_a_ring_without_press_time_takes_none(client: TestClient) -> None:
    stack = {**ORDER["stacks"][1], "rings": [{"id": "b3", "press_minutes": 0, "rest_minutes": 0}]}
    status, plan = answer(client, stacks=[stack])
    assert status == 200
    assert plan["steps"][0]["starts_at"] == plan["steps"][0]["ends_at"] == ORDER["start"]


def test_a_stay_that_is_too_short_names_the_step_and_what_helps(client: TestClient) -> None:
    stays = [{"starts_at": "2026-05-02T19:00:00+02:00", "ends_at": "2026-05-02T19:42:00+02:00"}]
    status, problem = answer(client, hours=stays)
    assert status == 422
    (error,) = problem["errors"]
    assert error["path"] == "/hours"
    assert "b1" in error["message"]
    assert "45 min" in error["message"]
    assert "42 min" in error["message"]


def test_hours_that_end_too_soon_say_so(client: TestClient) -> None:
    stays = [{"starts_at": "2026-05-02T19:00:00+02:00", "ends_at": "2026-05-02T20:30:00+02:00"}]
    status, problem = answer(client, hours=stays)
    assert status == 422
    assert problem["errors"][0]["path"] == "/hours"
    assert "Add later hours" in problem["errors"][0]["message"]


def test_hours_that_lie_before_the_start_are_no_hours(client: TestClient) -> None:
    stays = [{"starts_at": "2026-05-01T19:00:00+02:00", "ends_at": "2026-05-01T22:30:00+02:00"}]
    status, problem = answer(client, hours=stays)
    assert status == 422
    assert problem["errors"][0]["path"] == "/hours"


RING = ORDER["stacks"][0]["rings"][0]
STACK = ORDER["stacks"][0]
STAY = {"starts_at": "2026-05-02T19:00:00+02:00", "ends_at": "2026-05-02T22:00:00+02:00"}


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"hours": []}, "/hours"),
        ({"hours": [{**STAY, "ends_at": STAY["starts_at"]}]}, "/hours/0/ends_at"),
        ({"hours": [{**STAY, "ends_at": "2026-05-02T22:00:00"}]}, "/hours/0/ends_at"),
        ({"presses": 0}, "/presses"),
        ({"presses": -1}, "/presses"),
        ({"presses": True}, "/presses"),
        ({"presses": "2"}, "/presses"),
        ({"presses": 1.5}, "/presses"),
        ({"start": "2026-05-02T18:00:00"}, "/start"),
        ({"start": "2026-05-02 18:00"}, "/start"),
        ({"start": "2026-02-30T18:00:00Z"}, "/start"),
        ({"start": 1777737600}, "/start"),
        ({"start": "9999-12-31T23:59:59Z"}, "/start"),
        ({"stacks": None}, "/stacks"),
        ({"stacks": [STACK, STACK]}, "/stacks/1/id"),
        ({"stacks": [{**STACK, "rings": [RING, RING]}]}, "/stacks/0/rings/1/id"),
        ({"stacks": [{**STACK, "cure_hours": "24"}]}, "/stacks/0/cure_hours"),
        ({"stacks": [{**STACK, "cure_hours": -1}]}, "/stacks/0/cure_hours"),
        ({"stacks": [{**STACK, "cure_hours": True}]}, "/stacks/0/cure_hours"),
        ({"stacks": [{**STACK, "colour": "red"}]}, "/stacks/0/colour"),
        (
            {"stacks": [{**STACK, "rings": [{**RING, "press_minutes": -5}]}]},
            "/stacks/0/rings/0/press_minutes",
        ),
        (
            {"stacks": [{**STACK, "rings": [{"id": "b1", "press_minutes": 5}]}]},
            "/stacks/0/rings/0/rest_minutes",
        ),
        ({"stacks": [{**STACK, "after": ["nowhere"]}]}, "/stacks/0/after/0"),
        ({"stacks": [{**STACK, "after": ["low"]}]}, "/stacks/0/after"),
        ({"surprise": 1}, "/surprise"),
    ],
)
def test_what_is_wrong_is_named_where_it_stands(
    client: TestClient, changes: dict[str, Any], path: str
) -> None:
    status, problem = answer(client, **changes)
    assert status == 422
    assert path in [error["path"] for error in problem["errors"]]
    assert all(error["message"] for error in problem["errors"])


def test_numbers_that_json_does_not_know_are_refused(client: TestClient) -> None:
    text = (
        '{"stacks": [{"id": "a", "rings": [], "cure_hours": NaN}], "start": "2026-05-02T18:00:00Z"}'
    )
    reply = client.post(
        "/api/gluing-schedule", content=text, headers={"content-type": "application/json"}
    )
    assert reply.status_code == 422


def test_two_stacks_that_are_joined_wait_for_the_lathe(client: TestClient) -> None:
    join = {
        "id": "join",
        "rings": [{"id": "low-top", "press_minutes": 60, "rest_minutes": 0}],
        "cure_hours": 24,
        "after": ["low", "top"],
        "turning_minutes": 90,
    }
    status, plan = answer(client, stacks=[*ORDER["stacks"], join])
    assert status == 200
    joined = next(step for step in plan["steps"] if step["stack"] == "join")
    ready = max(datetime.fromisoformat(plan["ready"][stack]) for stack in ("low", "top"))
    assert datetime.fromisoformat(joined["starts_at"]) == ready + timedelta(minutes=90)
    assert plan["finish"] == plan["ready"]["join"]


def test_the_same_question_has_the_same_answer(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Limited by work; the clock is a guard for slow machines only, and this one may be slow.
    monkeypatch.setattr("server.api.schedule._GUARD_SECONDS", 600.0)
    stacks = [
        {
            "id": f"s{i}",
            "rings": [
                {"id": f"s{i}r{j}", "press_minutes": 20 + (7 * i + 3 * j) % 25, "rest_minutes": 45}
                for j in range(7)
            ],
            "cure_hours": 12 + i % 3,
        }
        for i in range(7)
    ]
    stays = [
        {"starts_at": f"2026-05-{d:02}T19:00:00+02:00", "ends_at": f"2026-05-{d:02}T21:40:00+02:00"}
        for d in range(2, 31)
    ]
    assert answer(client, stacks=stacks, hours=stays) == answer(client, stacks=stacks, hours=stays)
