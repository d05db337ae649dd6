"""Walking the saw bench over HTTP: until the layout is there, what its buttons say, the ledger."""

import html
import json
import re
import time
from typing import Any

from fastapi.testclient import TestClient
from shop_help import ledger_line


def laid_out(client: TestClient, bench: str, tries: int = 400) -> str:
    """The boards' page once the layout has come to its end; it is taken as soon as it is there."""
    for _ in range(tries):
        page = client.get(f"{bench}/boards").text
        if "Take the best so far" not in page:
            return page
        client.post(f"{bench}/boards/cancel", headers={"HX-Request": "true"})
        time.sleep(0.05)
    raise AssertionError("the layout came to no end")


def say(client: TestClient, bench: str, kind: str, subject: str, **more: Any) -> dict[str, Any]:
    """One line of the ledger about the piece at this bench."""
    piece = more.pop("piece", None) or bench.split("/")[2]
    reply = client.post("/api/ledger", json=ledger_line(piece, kind, subject, **more))
    assert reply.status_code == 200, reply.text
    said: dict[str, Any] = reply.json()
    return said


def button(page: str, button_id: str) -> dict[str, Any]:
    """What a button would write down."""
    tag = re.search(rf'<button[^>]*id="{button_id}"[^>]*>', page)
    words = tag and re.search(r'data-say="([^"]*)"', tag[0])
    assert words, f"there is no button {button_id}"
    said: dict[str, Any] = json.loads(html.unescape(words[1]))
    return said


def tap(client: TestClient, bench: str, page: str, button_id: str) -> dict[str, Any]:
    """Write down what a button says, as the page's script does."""
    said = button(page, button_id)
    known = {name: said[name] for name in ("data", "undoes", "part", "piece") if name in said}
    return say(client, bench, said["kind"], said["subject"], **known)


def rack_id(client: TestClient, name: str) -> str:
    """The id of the thing of that name."""
    items = client.get("/api/rack").json()["items"]
    return next(str(item["id"]) for item in items if item["item"].get("name") == name)
