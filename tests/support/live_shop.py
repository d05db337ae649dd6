"""A real server in a process of its own, spoken to as devices would."""

import json
import signal
import socket
import urllib.request
import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from page_wait import PATIENCE_S
from warm_program import WarmProgram, start_warm

TABLET = {"width": 1180, "height": 820}
PHONE = {"width": 390, "height": 844}


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class LiveShop:
    """The program over a data folder; it may be stopped, killed and started again."""

    def __init__(self, data: Path, *arguments: str) -> None:
        self.data, self.port, self.arguments = data, free_port(), arguments
        self.program: WarmProgram | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> "LiveShop":
        self.program = start_warm(self.data, *self.arguments, port=self.port)
        return self

    def stop(self, how: int = signal.SIGTERM) -> None:
        if self.program is not None:
            self.program.end(how)
            self.program = None

    def kill(self) -> None:
        self.stop(signal.SIGKILL)

    def get(self, path: str) -> Any:
        with urllib.request.urlopen(self.url + path, timeout=PATIENCE_S) as reply:
            return json.load(reply)

    def post(self, path: str, body: Any) -> Any:
        request = urllib.request.Request(
            self.url + path, json.dumps(body).encode(), {"content-type": "application/json"}
        )
        with urllib.request.urlopen(request, timeout=PATIENCE_S) as reply:
            return json.load(reply)

    def keep(self, piece: dict[str, Any]) -> str:
        return str(self.post("/api/pieces", piece)["id"])

    def put_away(self, piece: str) -> None:
        request = urllib.request.Request(f"{self.url}/api/pieces/{piece}", method="DELETE")
        urllib.request.urlopen(request, timeout=PATIENCE_S).close()

    def say(self, piece: str, kind: str, subject: str, **more: Any) -> dict[str, Any]:
        ago = more.pop("minutes_ago", 0.0)
        entry = {
            "id": str(uuid.uuid4()),
            "piece": piece,
            "kind": kind,
            "subject": subject,
            "at": (datetime.now(UTC) - timedelta(minutes=ago)).isoformat(),
            "device": "Bench test",
            "data": {},
        }
        reply: dict[str, Any] = self.post("/api/ledger", entry | more)
        return reply

    def ledger(self, piece: str) -> list[dict[str, Any]]:
        items: list[dict[str, Any]] = self.get(f"/api/ledger?piece={piece}")["items"]
        return items


def goblet() -> dict[str, Any]:
    """A small goblet on three faceplates: enough rings to be glued in turn."""

    def ring(name: str, segments: int = 8, wood: str = "sapele") -> dict[str, Any]:
        return {"id": name, "thickness_mm": 12.5, "segments": segments, "woods": [wood]}

    def curve(*points: tuple[float, float]) -> dict[str, Any]:
        return {"points": [{"r_mm": r, "z_mm": z, "corner": True} for r, z in points]}

    block = {"diameter_mm": 70, "thickness_mm": 25}
    return {
        "format": "ringwright.piece",
        "version": 1,
        "name": "Ferry cup",
        "display_units": "mm",
        "allowance": {"outside_mm": 3, "inside_mm": 3, "flatten_mm": 0.5},
        "room": {"temperature_c": 19, "humidity_percent": 50},
        "parts": [
            {
                "id": "cup",
                "name": "Cup",
                "kind": "ringed",
                "outside": curve((25, 0), (42, 50), (40, 75)),
                "inside": curve((0, 13), (20, 13), (36, 50), (35, 75)),
                "rings": [
                    ring("c1"),
                    ring("c2", wood="ash-white"),
                    ring("c3", 12),
                    ring("c4", 12, "ash-white"),
                    ring("c5", 12),
                    ring("c6", 12, "walnut-black"),
                ],
            },
            {
                "id": "foot",
                "name": "Foot",
                "kind": "ringed",
                "outside": curve((35, 0), (15, 25)),
                "rings": [ring("f1"), ring("f2")],
            },
        ],
        "stacks": [
            {
                "id": "low",
                "name": "Cup, lower",
                "part": "cup",
                "rings": ["c1", "c2", "c3"],
                "faceplate": "A",
                "waste_block": block,
                "glue": "pva-yellow",
            },
            {
                "id": "rim",
                "name": "Cup, rim down",
                "part": "cup",
                "rings": ["c6", "c5", "c4"],
                "mounted": "top",
                "faceplate": "B",
                "waste_block": block,
                "glue": "pva-yellow",
            },
            {
                "id": "base",
                "name": "Foot",
                "part": "foot",
                "rings": ["f1", "f2"],
                "faceplate": "C",
                "waste_block": block,
                "glue": "pva-yellow",
            },
        ],
    }
