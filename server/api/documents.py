"""A piece document at the door: read strictly, kept as it was sent."""

from typing import Annotated, Any

from fastapi import Body, Depends, Header, HTTPException

from server.craft.document import Piece, parse_piece
from server.craft.errors import FieldError

Document = Annotated[dict[str, Any], Body()]


def sent_piece(document: Document) -> Piece:
    """The piece that was sent; read once for a request. Raises DocumentError."""
    return parse_piece(document)


SentPiece = Annotated[Piece, Depends(sent_piece)]


def checked_piece(document: Document, _piece: SentPiece) -> dict[str, Any]:
    """The document as it was sent, after it proved to be a piece. Raises DocumentError."""
    return document


PieceDocument = Annotated[dict[str, Any], Depends(checked_piece)]


def revision_named(
    if_match: Annotated[
        str | None, Header(description="The revision that this is based on", examples=["3"])
    ] = None,
) -> int | None:
    """The revision in `If-Match`, plain or as a quoted tag. Raises FieldError for anything else."""
    if if_match is None:
        return None
    text = if_match.strip().removeprefix("W/").strip('"')
    if not (text.isascii() and text.isdigit()) or len(text) > 12:
        raise FieldError("", "If-Match must be the number of a revision.")
    return int(text)


IfMatch = Annotated[int | None, Depends(revision_named)]


def revision_needed(if_match: IfMatch) -> int:
    """The revision in `If-Match`; 428 without it, so that nobody overwrites by oversight."""
    if if_match is None:
        raise HTTPException(428, "Send the revision that this is based on as If-Match.")
    return if_match


BasedOn = Annotated[int, Depends(revision_needed)]


def parsed(document: dict[str, Any]) -> Piece:
    """A kept document as a piece; it was checked when it was saved."""
    return parse_piece(document)
