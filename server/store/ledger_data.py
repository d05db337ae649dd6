"""What the `data` of a ledger line may hold: known figures are checked, the rest is kept."""

import math
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from server.craft.errors import FieldError

LONGEST_WORD = 200
LARGEST_DATA_KEYS = 100
_LARGEST = 1_000_000_000
_SHA256 = re.compile(r"[0-9a-f]{64}")


def _number(value: Any) -> bool:
    ordinary = isinstance(value, int | float) and not isinstance(value, bool)
    return ordinary and math.isfinite(value) and abs(value) <= _LARGEST


def _amount(value: Any) -> bool:
    return _number(value) and value >= 0


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= _LARGEST


def _some(value: Any) -> bool:
    return _whole(value) and value > 0


def _percent(value: Any) -> bool:
    return _number(value) and 0 <= value <= 100


def _word(value: Any) -> bool:
    return isinstance(value, str) and 0 < len(value) <= LONGEST_WORD


def _digest(value: Any) -> bool:
    return isinstance(value, str) and _SHA256.fullmatch(value) is not None


_RULES: dict[str, tuple[Callable[[Any], bool], str]] = {
    "count": (_some, "This must be a whole number of 1 or more."),
    "broken": (_whole, "This must be a whole number of 0 or more."),
    "bytes": (_whole, "This must be a whole number of 0 or more."),
    "minutes": (_amount, "This must be a number of minutes, 0 or more."),
    "rest_minutes": (_amount, "This must be a number of minutes, 0 or more."),
    "add_minutes": (_number, "This must be a number of minutes."),
    "cure_hours": (_amount, "This must be a number of hours, 0 or more."),
    "temperature_c": (_number, "This must be a temperature in °C."),
    "humidity_percent": (_percent, "This must be from 0 to 100."),
    "length_mm": (_amount, "This must be a length in mm, 0 or more."),
    "width_mm": (_amount, "This must be a width in mm, 0 or more."),
    "value_mm": (_number, "This must be a measured number of mm."),
    "wood": (_word, "This must name a wood."),
    "glue": (_word, "This must name a glue."),
    "faceplate": (_word, "This must name a faceplate."),
    "stack": (_word, "This must name a stack."),
    "quantity": (_word, "This must say what was measured."),
    "type": (_word, "This must name a kind of picture."),
    "sha256": (_digest, "This must be a SHA-256 digest, 64 figures in lower case."),
}


def data_faults(data: Mapping[str, Any]) -> Iterator[FieldError]:
    """What is wrong in the data of a line. A figure given as null counts as not given."""
    if len(data) > LARGEST_DATA_KEYS:
        yield FieldError("/data", f"At most {LARGEST_DATA_KEYS} fields are kept here.")
    for key, (is_right, message) in _RULES.items():
        value = data.get(key)
        if value is not None and not is_right(value):
            yield FieldError(f"/data/{key}", message)
