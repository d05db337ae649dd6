"""Moments on the wire: RFC 3339 with an offset, strictly, in and out."""

import re
from datetime import datetime
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, WithJsonSchema

from server.craft.document.words import say

_RFC3339 = re.compile(
    r"\d{4}-\d{2}-\d{2}[Tt]\d{2}:\d{2}:\d{2}(?P<fraction>\.\d+)?(?:[Zz]|[+-]\d{2}:\d{2})"
)
_DIGITS_KEPT = 6


def read_moment(value: object) -> datetime:
    """An aware datetime from RFC 3339 text; parts of a microsecond are dropped."""
    if not isinstance(value, str):
        raise say("This must be a time, written as text like 2026-05-02T18:00:00+02:00.")
    found = _RFC3339.fullmatch(value)
    if not found or not value.isascii():
        raise say("Write the time with seconds and offset, like 2026-05-02T18:00:00+02:00.")
    text = value.upper()
    if found["fraction"]:
        kept = found["fraction"][: _DIGITS_KEPT + 1]
        text = text[: found.start("fraction")] + kept + text[found.end("fraction") :]
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise say("There is no such time.") from None


Moment = Annotated[
    datetime,
    BeforeValidator(read_moment),
    WithJsonSchema({"type": "string", "format": "date-time"}),
]
"""A moment in a request."""


def check_moment(text: str) -> str:
    """The text as it is, after it proved to be a moment."""
    read_moment(text)
    return text


MomentText = Annotated[
    str,
    AfterValidator(check_moment),
    WithJsonSchema({"type": "string", "format": "date-time"}),
]
"""A moment in a request that is kept as it was written."""


def write_moment(moment: datetime) -> str:
    """RFC 3339 text with the moment's own offset."""
    return moment.isoformat()
