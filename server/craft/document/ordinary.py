"""What can be kept and answered as JSON: ordinary numbers, writable text, no bottomless nesting.

Python's reader takes NaN, Infinity, lone surrogates and figures of any length.
"""

import math
from collections.abc import Iterator, Mapping
from typing import Any

from server.craft.errors import FieldError

LARGEST_INTEGER = 2**63 - 1


def pointer(*steps: str | int) -> str:
    """A JSON pointer (RFC 6901) to the end of these steps."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in steps)


def unwritable(value: Any, deepest: int) -> Iterator[FieldError]:
    """Every value that cannot be kept, with its place, in the order of the document."""
    if _is_ordinary(value, deepest):
        return
    waiting: list[tuple[Any, tuple[str | int, ...]]] = [(value, ())]
    while waiting:
        item, steps = waiting.pop()
        if len(steps) > deepest:
            yield FieldError("", f"This is nested more than {deepest} deep.")
            return
        if isinstance(item, Mapping):
            bad = [key for key in item if not _encodable(key)]
            if bad:
                yield FieldError(
                    pointer(*steps), "A field's name holds characters that cannot be written."
                )
            below = [(item[key], (*steps, key)) for key in item if key not in bad]
            waiting.extend(reversed(below))
        elif isinstance(item, list | tuple):
            waiting.extend(reversed([(part, (*steps, at)) for at, part in enumerate(item)]))
        elif (words := _wrong(item)) is not None:
            yield FieldError(pointer(*steps), words)


def _is_ordinary(value: Any, deepest: int) -> bool:
    """Nearly every document is, which is seen much sooner without minding the places."""
    level, below = [value], []
    for _ in range(deepest + 1):
        for item in level:
            kind = type(item)
            if kind is dict:
                if not "".join(item).isascii():
                    return False
                below += item.values()
            elif kind is list:
                below += item
            elif not (kind is str and item.isascii()) and _wrong(item) is not None:
                return False
        if not below:
            return True
        level, below = below, []
    return False


def _wrong(value: Any) -> str | None:
    if isinstance(value, float) and not math.isfinite(value):
        return "This must be an ordinary number."
    if isinstance(value, int) and abs(value) > LARGEST_INTEGER:
        return "This number is larger than can be reckoned with."
    if isinstance(value, str) and not _encodable(value):
        return "This text holds characters that cannot be written."
    return None


def _encodable(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
