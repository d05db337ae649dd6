"""The check values under tests/data/checks, row by row."""

import csv
import json
from pathlib import Path
from typing import Any

_FOLDER = Path(__file__).resolve().parents[1] / "data" / "checks"


def published(*topics: str) -> list[dict[str, str]]:
    """Rows of the printed values with one of these topics."""
    return [row for row in _rows("geometry_published") if row["topic"] in topics]


def printed_wrong() -> list[dict[str, str]]:
    """Values found printed that are wrong."""
    return _rows("geometry_printed_wrong")


def worked(kind: str) -> list[tuple[str, dict[str, Any], dict[str, Any]]]:
    """Id, inputs and results of the worked examples of one kind."""
    return [
        (row["id"], json.loads(row["inputs"]), json.loads(row["results_numeric"]))
        for row in _rows("geometry_worked")
        if row["kind"] == kind
    ]


def one_worked(key: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """Inputs and results of one worked example."""
    (row,) = [row for row in _rows("geometry_worked") if row["id"] == key]
    return json.loads(row["inputs"]), json.loads(row["results_numeric"])


def printed_agrees(row: dict[str, str], value: float) -> bool:
    """Whether a value agrees with a row as far as its source is exact.

    Where the source rounded on its way, the exact value beside it counts.
    """
    if row["agrees"] == "yes":
        half = 0.5 * float(row["printed_resolution"]) * (1 + 1e-6)
        return abs(value - float(row["published"])) <= half
    exact = float(row["computed"])
    return abs(value - exact) <= max(1e-8, 1e-9 * abs(exact))


def named(row: dict[str, str]) -> str:
    """A short name for a test."""
    return f"{row['id']}-{row['quantity']}-{row['inputs']}".replace(" ", "_")


def numbers(row: dict[str, str]) -> dict[str, float]:
    """The row's inputs, `n=5 R=2` as numbers by name; words and units are skipped."""
    pairs = [word.split("=") for word in row["inputs"].split() if "=" in word]
    return {name: float(value) for name, value in pairs}


def _rows(name: str) -> list[dict[str, str]]:
    with (_FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))
