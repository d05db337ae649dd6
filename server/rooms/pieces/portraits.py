"""Pictures of pieces for lists, drawn once for each document."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from markupsafe import Markup

from server.craft.document import DocumentError, Piece, parse_piece
from server.craft.planned import work_out
from server.exports.pictures.portrait import portrait
from server.exports.pictures.wash import wash_names
from server.exports.svg import to_svg


@dataclass(frozen=True, slots=True)
class Portrait:
    """A picture, the washes that it needs on its page, and the piece's size in mm."""

    svg: Markup
    washes: frozenset[str]
    height_mm: float
    diameter_mm: float
    units: str


_AMONG_OTHERS = (360.0, 214.0)
_ALONE = (420.0, 470.0)
"""Width and height of a picture in sheet units: one piece alone has the page to itself."""


def portrait_of(document: Mapping[str, Any], *, alone: bool = False) -> Portrait | None:
    """The picture of a kept document; None where it can no longer be read."""
    return _drawn(json.dumps(document, sort_keys=True), _ALONE if alone else _AMONG_OTHERS)


@lru_cache(maxsize=256)
def _drawn(text: str, sheet: tuple[float, float]) -> Portrait | None:
    try:
        piece = parse_piece(json.loads(text))
    except DocumentError:
        return None
    return _draw(piece, sheet)


def _draw(piece: Piece, sheet: tuple[float, float]) -> Portrait:
    planned = work_out(piece)
    drawing = portrait(planned, *sheet)
    work = planned.work
    widest = max(part.outside.bounds[2] for part in work.parts)
    return Portrait(
        to_svg(drawing),
        frozenset(wash_names([drawing])),
        work.top_mm - work.bottom_mm,
        2 * widest,
        piece.display_units,
    )
