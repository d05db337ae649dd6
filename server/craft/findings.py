"""Checks: what a plan has to say before glue is opened, each with its number and its limit.

The default limits are common practice, without a source, and the piece's `limits` may change
them; those fixed by geometry have none to change.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

from server.craft.records import record


class Severity(StrEnum):
    """How bad it is: do not glue, think again, or good to know."""

    STOP = "stop"
    WARN = "warn"
    NOTE = "note"


@record
class Check:
    """A finding on a plan. `value` passes `limit` at equality; both are in `unit`.

    `mend` is what one tap would change, or None: `{"title", "changes": [{"op", "path", "value"}]}`
    with operations of JSON Patch (RFC 6902) on the piece document.
    """

    code: str
    severity: Severity
    message: str
    part: str | None = None
    ring: str | None = None
    value: float | None = None
    limit: float | None = None
    unit: str | None = None
    mend: Mapping[str, Any] | None = None


_ROUNDING = 1e-9


def reaches(value: float, least: float) -> bool:
    """Whether a value is at least the limit. Equality passes, rounding in the last digits too."""
    return value >= least - _ROUNDING * max(1.0, abs(least))


def within(value: float, most: float) -> bool:
    """Whether a value is at most the limit. Equality passes, rounding in the last digits too."""
    return value <= most + _ROUNDING * max(1.0, abs(most))


def is_nothing(value: float) -> bool:
    """Whether nothing is left, or less."""
    return value <= _ROUNDING


LIMITS: Mapping[str, float] = {
    "wall-thin": 3.0,
    "floor-thin": 5.0,
    "joints-aligned": 0.125,
    "gap-not-bridged": 0.0,
    "glue-face-small": 4.0,
    "segment-small": 10.0,
    "strip-short": 150.0,
    "press-force-exceeded": 0.15,
    "plate-needed": 1.5,
    "moisture-mismatch": 2.0,
    "season-gap": 0.1,
    "stem-weak": 3.0,
    "tips-easily": 10.0,
    "height-mismatch": 0.01,
}
"""Default limits by code, in the unit of each; `joints-aligned` is a share of the pitch.

For `strip-short` the saw's own shortest strip goes before the default.
"""
