"""The API does what it says of itself: made-up requests find no fault of ours and no surprise.

RINGWRIGHT_EXAMPLES sets how many requests are made up for each operation; more at night.
"""

import os
from datetime import UTC, datetime

import hypothesis
import pytest
import schemathesis
from fastapi import FastAPI
from schemathesis.specs.openapi.checks import positive_data_acceptance
from shop_help import shop_app, simple_piece
from starlette.types import ASGIApp, Receive, Scope, Send

from server.store import pieces

EXAMPLES = int(os.environ.get("RINGWRIGHT_EXAMPLES", "8"))
SEED = 20260502
# A document has rules that a JSON schema cannot say: ids that refer, curves that do not cross.
BEYOND_THE_SCHEMA = [positive_data_acceptance]


def from_this_computer(app: ASGIApp) -> ASGIApp:
    """The app as a program on the server's own computer meets it."""

    async def asked(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            kept = [pair for pair in scope["headers"] if pair[0] not in (b"host", b"origin")]
            scope = {
                **scope,
                "client": ("127.0.0.1", 50123),
                "server": ("127.0.0.1", 8377),
                "headers": [*kept, (b"host", b"127.0.0.1:8377")],
            }
        await app(scope, receive, send)

    return asked


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> FastAPI:
    return shop_app(tmp_path_factory.mktemp("schema") / "data")


@pytest.fixture(scope="module")
def api(shop: FastAPI) -> schemathesis.schemas.BaseSchema:
    with shop.state.store.write() as session:
        pieces.create_piece(session, simple_piece(), datetime.now(UTC))
    asked = from_this_computer(shop)
    # The stream never ends, and a copy of the database for each made-up request is too much.
    return schemathesis.openapi.from_asgi("/openapi.json", asked).exclude(
        path_regex="^/api/(live|backups)$"
    )


def test_no_request_finds_a_fault(api: schemathesis.schemas.BaseSchema) -> None:
    faults = []
    operations = [found.ok() for found in api.get_all_operations()]
    for operation in operations:
        try:
            _ask(operation)
        except BaseExceptionGroup as group:
            faults.append(f"{operation.label}: {group.exceptions[0]}")
        except Exception as fault:
            faults.append(f"{operation.label}: {fault}")
    assert len(operations) > 20
    assert not faults, "\n\n".join(faults)


def _ask(operation: schemathesis.schemas.APIOperation) -> None:
    @hypothesis.seed(SEED)
    @hypothesis.settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        suppress_health_check=list(hypothesis.HealthCheck),
    )
    @hypothesis.given(case=operation.as_strategy())
    def check(case: schemathesis.Case) -> None:
        case.call_and_validate(excluded_checks=BEYOND_THE_SCHEMA)

    check()


def test_every_refusal_is_documented(shop: FastAPI) -> None:
    for path, verbs in shop.openapi()["paths"].items():
        for verb, operation in verbs.items():
            assert operation["summary"], (path, verb)
            documented = set(operation["responses"])
            assert any(status.startswith("2") for status in documented), (path, verb)
            assert "500" not in documented
            if "{" in path:
                assert "404" in documented or path.startswith("/api/files/"), (path, verb)
