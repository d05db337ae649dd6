"""From JSON to a piece, or to everything that is wrong with it, each with its place."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from server.craft.document.ordinary import pointer, unwritable
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
    bad = list(unwritable(document, DEEPEST))
    if bad:
        raise DocumentError(bad)
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
