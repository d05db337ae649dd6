"""A kept goblet at the glue bench, seen through the server's own replies."""

import html
import json
import re
import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient
from live_shop import goblet


class BenchClient:
    """The page of one piece, and a finger that taps its buttons."""

    def __init__(self, client: TestClient, piece: str) -> None:
        self.client, self.piece = client, piece
        self.address = f"/pieces/{piece}/glue-bench"

    def page(self, *, exchange: bool = False) -> str:
        reply = self.client.get(self.address, headers={"HX-Request": "true"} if exchange else {})
        assert reply.status_code == 200, reply.text
        return reply.text

    def panel(self) -> str:
        """The lit panel as plain words."""
        found = re.search(r'<section class="now.*?</section>', self.page(), re.S)
        assert found is not None
        return words(found.group())

    def button(self, element_id: str) -> list[dict[str, Any]]:
        """What the button with that id would write."""
        found = re.search(
            rf'<button[^>]*id="{element_id}"[^>]*data-say="([^"]*)"', self.page(), re.S
        )
        assert found is not None, f"no button {element_id}"
        said = json.loads(html.unescape(found.group(1)))
        return said if isinstance(said, list) else [said]

    def tap(self, element_id: str, minutes_ago: float = 0.0) -> None:
        for said in self.button(element_id):
            self.write(said, minutes_ago)

    def write(self, said: dict[str, Any], minutes_ago: float = 0.0) -> dict[str, Any]:
        sent = {k: v for k, v in said.items() if k not in ("words", "mark")}
        sent |= {
            "id": str(uuid.uuid4()),
            "piece": self.piece,
            "at": (datetime.now(UTC) - timedelta(minutes=minutes_ago)).isoformat(),
        }
        reply = self.client.post("/api/ledger", json=sent)
        assert reply.status_code == 200, reply.text
        answer: dict[str, Any] = reply.json()
        return answer

    def say(self, kind: str, subject: str, minutes_ago: float = 0.0, **more: Any) -> dict[str, Any]:
        return self.write({"kind": kind, "subject": subject} | more, minutes_ago)

    def ready(self, *rings: str) -> None:
        for ring in rings:
            for kind in ("dry-fitted", "halves-glued", "trued", "closed", "flattened"):
                self.say(kind, ring, 200)


def words(markup: str) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", markup))).strip()


@pytest.fixture
def bench(client: TestClient) -> BenchClient:
    piece = client.post("/api/pieces", json=goblet()).json()["id"]
    return BenchClient(client, piece)


@pytest.fixture
def bench_of(client: TestClient) -> Callable[[dict[str, Any]], BenchClient]:
    def make(document: dict[str, Any]) -> BenchClient:
        reply = client.post("/api/pieces", json=document)
        assert reply.status_code == 201, reply.text
        return BenchClient(client, reply.json()["id"])

    return make
