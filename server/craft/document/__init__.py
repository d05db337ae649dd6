"""The piece document (`ringwright.piece`, version 1): what it may hold, read strictly."""

from server.craft.document.parse import DocumentError, parse_piece
from server.craft.document.piece import Piece

__all__ = ["DocumentError", "Piece", "parse_piece"]
