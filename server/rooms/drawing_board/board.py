"""A drawing worked out for the board, and the pictures of it that are the same in every panel."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from markupsafe import Markup

from server.craft.document import Piece, parse_piece
from server.craft.plan import plan_of
from server.craft.planned import Planned, work_out
from server.craft.results import Plan
from server.craft.units import Units
from server.exports.drawing import Drawing
from server.exports.pictures.bodies import Body, bodies
from server.exports.pictures.portrait import portrait_of
from server.exports.pictures.section import Drawn, draw_piece
from server.exports.pictures.wash import wash_defs, wash_names
from server.exports.svg import fragment, to_svg
from server.store.pieces import PieceRecord
from server.web.last_used import LastUsed

_SHEET_HEIGHT = 600.0
_LEAST_PORTRAIT = 180.0
_MOST_OPEN = 12
_MOST_PICTURES = 24


@dataclass(frozen=True, eq=False)
class Board:
    """The drawing and everything computed from it; what is asked for is computed once."""

    piece: Piece
    _pictures: LastUsed[tuple[str, str], Markup] = field(
        default_factory=lambda: LastUsed(_MOST_PICTURES), repr=False
    )

    def picture(self, kind: str, of: str, draw: Callable[[], Markup]) -> Markup:
        """A picture of a part or a ring that is the same wherever it is shown, drawn once."""
        return self._pictures.get((kind, of), draw)

    @cached_property
    def washes(self) -> Markup:
        """The gradients of the drawing and of the portrait beside it."""
        pictures = [self.drawn.drawing, *([self.portrait] if self.portrait else [])]
        return wash_defs(wash_names(pictures))

    @property
    def units(self) -> Units:
        """What lengths are shown in."""
        return self.piece.display_units

    @cached_property
    def planned(self) -> Planned:
        """The piece worked out."""
        return work_out(self.piece)

    @cached_property
    def plan(self) -> Plan:
        """What a turner must know of it."""
        return plan_of(self.planned)

    @cached_property
    def bodies(self) -> tuple[Body, ...]:
        """The parts where they stand."""
        return bodies(self.planned)

    @cached_property
    def drawn(self) -> Drawn:
        """Section and elevation, without numbers and marks."""
        return draw_piece(self.planned, self.bodies)

    @cached_property
    def drawn_svg(self) -> Markup:
        """The same for a page, to lie under what is written on it."""
        return fragment(self.drawn.drawing.items)

    @cached_property
    def portrait(self) -> Drawing | None:
        """How a low piece will stand; a tall one leaves no room on the sheet for it."""
        spare = _SHEET_HEIGHT - self.drawn.drawing.height
        if spare <= _LEAST_PORTRAIT:
            return None
        return portrait_of(self.bodies, self.piece.name, 440, spare)

    @cached_property
    def portrait_svg(self) -> Markup | None:
        """The same for a page."""
        return to_svg(self.portrait, "board-portrait") if self.portrait else None

    @cached_property
    def still(self) -> Drawing:
        """The picture to show somebody."""
        return portrait_of(self.bodies, self.piece.name, 720.0, 560.0)

    @cached_property
    def still_svg(self) -> Markup:
        """The same for a page."""
        return to_svg(self.still, "still")

    @cached_property
    def beside(self) -> Drawing:
        """The picture that stands beside another drawing's."""
        return portrait_of(self.bodies, self.piece.name, 340.0, 330.0)

    @cached_property
    def beside_svg(self) -> Markup:
        """The same for a page."""
        return to_svg(self.beside)


def open_board(document: Mapping[str, Any]) -> Board:
    """A document on the board. Raises DocumentError for one that can no longer be read."""
    return Board(parse_piece(document))


_OPEN = LastUsed[tuple[str, int], tuple[Mapping[str, Any], Board]](_MOST_OPEN)
"""The boards that were last looked at: a drawing never changes, its next one is another."""


def open_kept(record: PieceRecord) -> Board:
    """A kept drawing on the board, as `open_board`; from panel to panel it stays open."""
    return open_revision(record.id, record.revision, record.document)


def open_revision(piece_id: str, revision: int, document: Mapping[str, Any]) -> Board:
    """The same for any drawing of a piece by its number."""
    _, board = _OPEN.get(
        (piece_id, revision),
        lambda: (document, open_board(document)),
        lambda found: found[0] == document,
    )
    return board
