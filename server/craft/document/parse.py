"""From JSON to a piece, or to everything that is wrong with it, each with its place."""

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from server.craft.document.piece import Piece
from server.craft.document.references import reference_faults
from server.craft.document.words import plain_words
from server.craft.errors import CraftError, FieldError

DEEPEST = 60


class DocumentError(CraftError):
    """A document that cannot be taken, with every fault found in it."""

    def __init__(self, faults: Sequence[FieldError]) -> None:
        super().__init__("; ".join(f"{fault.path}: {fault.message}" for fault in faults))
        self.faults = tuple(faults)


def parse_piece(document: Mapping[str, Any]) -> Piece:
    """The piece that a JSON object describes.

    Raises `DocumentError` with JSON pointers: wrong types (nothing is coerced), unknown
    fields, unknown or doubled ids, values outside their limits, curves that cross themselves.
    """
    unwritable = list(_unwritable(document, "", 0))
    if unwritable:
        raise DocumentError(unwritable)
    try:
        piece = Piece.model_validate_json(json.dumps(document))
    except ValidationError as error:
        raise DocumentError(field_faults(error)) from error
    faults = list(reference_faults(piece))
    if faults:
        raise DocumentError(faults)
    return piece


def field_faults(error: ValidationError) -> list[FieldError]:
    """What a validation found, as JSON pointers and plain words."""
    details = error.errors(include_url=False, include_input=False)
    faults = [FieldError(_place(detail), plain_words(detail)) for detail in details]
    # A list whose members are wrong also counts as too short: only the members are to blame.
    return [
        fault
        for detail, fault in zip(details, faults, strict=True)
        if detail["type"] != "too_short"
        or not any(other.path.startswith(fault.path + "/") for other in faults)
    ]


def _place(detail: ErrorDetails) -> str:
    steps = [step for step in detail["loc"] if step != "[key]"]
    return pointer(*steps, *(detail.get("ctx") or {}).get("where", ()))


def pointer(*steps: str | int) -> str:
    """A JSON pointer (RFC 6901) to the end of these steps."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in steps)


def _unwritable(value: Any, path: str, depth: int) -> Iterator[FieldError]:
    """Values that Python's JSON reader lets through but that are no JSON or cannot be kept."""
    if depth > DEEPEST:
        yield FieldError(path, f"This is nested more than {DEEPEST} deep.")
    elif isinstance(value, Mapping):
        for key, below in value.items():
            if not _encodable(key):
                yield FieldError(path, "A field's name holds characters that cannot be written.")
                continue
            yield from _unwritable(below, path + pointer(key), depth + 1)
    elif isinstance(value, list | tuple):
        for index, below in enumerate(value):
            yield from _unwritable(below, f"{path}/{index}", depth + 1)
    elif isinstance(value, float) and not math.isfinite(value):
        yield FieldError(path, "This must be an ordinary number.")
    elif isinstance(value, str) and not _encodable(value):
        yield FieldError(path, "This text holds characters that cannot be written.")


def _encodable(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
