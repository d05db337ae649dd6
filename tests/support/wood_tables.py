"""The printed wood tables under tests/data/wood, row by row."""

import csv
from pathlib import Path

_FOLDER = Path(__file__).resolve().parents[1] / "data" / "wood"


def wood_rows(name: str) -> list[dict[str, str]]:
    """The rows of that table by its headings."""
    with (_FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def worked_example(equation: str, case: str, quantity: str) -> float:
    """The `computed` value of one row of the worked examples."""
    (row,) = [
        row
        for row in wood_rows("worked_examples")
        if (row["equation"], row["case"], row["quantity"]) == (equation, case, quantity)
    ]
    return float(row["computed"])
