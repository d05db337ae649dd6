"""The piece that a new shop starts with: an invented goblet, its story and its rack."""

import json
from importlib.resources import files
from typing import Any

_HERE = files("server.demo")


def demo_piece() -> dict[str, Any]:
    """The piece document of the demo."""
    piece: dict[str, Any] = json.loads(_HERE.joinpath("piece.json").read_text("utf-8"))
    return piece


def demo_rack() -> list[dict[str, Any]]:
    """What lies on the demo's rack: boards, strips, offcuts and spare rings."""
    rack: list[dict[str, Any]] = json.loads(_HERE.joinpath("rack.json").read_text("utf-8"))
    return rack
