"""What the API documents of its refusals, so that a program knows what may come back."""

from typing import Any

from pydantic import BaseModel


class FieldFault(BaseModel):
    """One thing that is wrong: where (JSON pointer) and what."""

    path: str
    message: str


class Problem(BaseModel):
    """A refusal, RFC 9457."""

    type: str = "about:blank"
    title: str
    status: int
    detail: str
    errors: list[FieldFault] = []


_MEANINGS = {
    400: "Not readable as JSON, or not addressed to this server",
    401: "This device is not paired",
    403: "Not from this server's own pages",
    404: "Nothing there",
    409: "Somebody was faster; both are in the reply",
    413: "Larger than is taken",
    422: "Wrong in itself; `errors` says where",
    428: "The revision that this is based on is missing",
    503: "Not saved; nothing was changed",
}


def refusals(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The `responses` of an operation that may refuse in these ways, beyond the general ones."""
    return {
        status: {
            "model": Problem,
            "description": _MEANINGS[status],
            "content": {"application/problem+json": {}},
        }
        for status in sorted({400, 401, 403, 413, 422, 503, *statuses})
    }
