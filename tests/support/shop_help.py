"""For tests of anything that needs the app: a fresh shop in a folder, spoken to from loopback."""

import uuid
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.app import Program, create_app
from server.settings import Settings
from server.store.database import DATABASE_NAME
from server.store.migrate import migrate

ADDRESS = "http://127.0.0.1:8377"
LOOPBACK_CLIENT = ("127.0.0.1", 50123)


@cache
def _migrated() -> bytes:
    """A database as the real migrations make it; made once, because they take their time."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / DATABASE_NAME
        migrate(path)
        return path.read_bytes()


def shop_app(data_dir: Path, **settings: Any) -> Program:
    """The app over an empty database in the folder, or over the one that is there."""
    data_dir.mkdir(parents=True, exist_ok=True)
    path = data_dir / DATABASE_NAME
    if not path.exists():
        path.write_bytes(_migrated())
    return create_app(Settings(data_dir=data_dir, **{"empty": True, **settings}))


def loopback_client(app: FastAPI, **more: Any) -> TestClient:
    """A client on the server's own computer; use it as a context manager."""
    return TestClient(app, base_url=ADDRESS, client=LOOPBACK_CLIENT, **more)


def simple_piece(name: str = "Test bowl") -> dict[str, Any]:
    """The smallest piece with a ring."""
    return {
        "format": "ringwright.piece",
        "version": 1,
        "name": name,
        "parts": [
            {
                "id": "bowl",
                "kind": "ringed",
                "outside": {
                    "points": [
                        {"r_mm": 60, "z_mm": 0, "corner": True},
                        {"r_mm": 80, "z_mm": 20, "corner": True},
                    ]
                },
                "rings": [{"id": "r1", "thickness_mm": 20, "segments": 12}],
            }
        ],
    }


def ledger_line(piece: str, kind: str = "cut", subject: str = "r1", **more: Any) -> dict[str, Any]:
    """A ledger line as a device sends it, with an id of its own."""
    return {
        "id": str(uuid.uuid4()),
        "piece": piece,
        "kind": kind,
        "subject": subject,
        "at": datetime.now(UTC).isoformat(),
        "data": {},
        **more,
    }
