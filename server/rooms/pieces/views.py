"""What the page of all pieces shows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from markupsafe import Markup

from server.craft.units import format_length
from server.exports.pictures.wash import wash_defs
from server.rooms.pieces.portraits import Portrait, portrait_of
from server.rooms.pieces.progress import Progress, progress
from server.store.pieces import PieceRecord
from server.web.floors import FloorBook
from server.web.frame import NAMES

_LONGEST_STORY = 400


@dataclass(frozen=True, slots=True)
class PieceCell:
    """One piece in the list."""

    id: str
    name: str
    revision: int
    picture: Portrait | None
    size: str
    progress: Progress
    changed: str
    story: str

    @property
    def place_name(self) -> str:
        """The place where work goes on."""
        return NAMES[self.progress.place]


@dataclass(frozen=True, slots=True)
class PiecesView:
    """The context of `pieces/page.html`."""

    cells: tuple[PieceCell, ...]
    washes: Markup
    archived: bool


def pieces_view(
    records: Sequence[PieceRecord], book: FloorBook, now: datetime, *, archived: bool
) -> PiecesView:
    """All pieces with pictures and progress."""
    alone = len(records) == 1
    cells = tuple(_cell(record, book, now, alone) for record in records)
    used = {name for cell in cells if cell.picture for name in cell.picture.washes}
    return PiecesView(cells, wash_defs(used), archived)


def _cell(record: PieceRecord, book: FloorBook, now: datetime, alone: bool) -> PieceCell:
    picture = portrait_of(record.document, alone=alone)
    rings = [
        ring["id"]
        for part in record.document.get("parts", ())
        for ring in part.get("rings", ())
        if "id" in ring
    ]
    done = progress(book.floor(record.id, now), book.orders(record), rings)
    changed = record.changed_at.astimezone()
    return PieceCell(
        id=record.id,
        name=record.name,
        revision=record.revision,
        picture=picture,
        size=_size(picture),
        progress=done,
        changed=f"{changed:%-d %B}",
        story=_story(record.document),
    )


def _story(document: Mapping[str, Any]) -> str:
    """What the piece is for, where somebody wrote it into its `extra`."""
    story = (document.get("extra") or {}).get("story", "")
    return story[:_LONGEST_STORY] if isinstance(story, str) else ""


def _size(picture: Portrait | None) -> str:
    if picture is None:
        return "cannot be drawn"
    if picture.units == "in":
        across, tall = (format_length(v, "in") for v in (picture.diameter_mm, picture.height_mm))
        return f"Ø {across} × {tall}"
    return f"Ø {picture.diameter_mm:.0f} × {picture.height_mm:.0f}"
