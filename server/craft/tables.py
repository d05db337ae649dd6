"""The tables of numbers that are packaged beside the code that reads them."""

import csv
from importlib import resources


def packaged_rows(package: str, name: str) -> list[dict[str, str]]:
    """The rows of `data/NAME` in that package, by the headings of the first line."""
    table = resources.files(package) / "data" / name
    return list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
