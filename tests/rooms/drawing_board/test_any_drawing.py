"""A drawing in the making is always shown, however little of it can be made."""

from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from random_pieces import pieces

from server.craft.document import DocumentError
from server.exports.svg import to_svg
from server.rooms.drawing_board.board import Board, open_board
from server.rooms.drawing_board.desk import Place
from server.rooms.drawing_board.look import look
from server.rooms.drawing_board.views import board_view, ring_to_paint, trial_view, wall_to_paint


@settings(
    max_examples=6,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
@given(pieces(), st.sampled_from(["checks", "ring", "rings"]))
def test_every_valid_document_can_be_drawn(document: dict[str, Any], show: str) -> None:
    try:
        board = open_board(document)
    except DocumentError:
        assume(False)
    rings = [ring.id for part in board.piece.parts for ring in part.rings]
    view = board_view(board, Place(show, rings[0] if rings else None), "/pieces/x/drawing-board")
    assert len(view.parts) == len(board.piece.parts)
    assert len(look(board)["parts"]) == len(board.piece.parts)
    assert trial_view(board).plan is board.plan
    for picture in (view.drawing, to_svg(board.still), *painted(board)):
        assert picture.startswith("<svg")
        assert "nan" not in picture
        assert "inf" not in picture


def painted(board: Board) -> list[str]:
    """What a finger can paint on: every wall, and every part's lowest ring from above."""
    found: list[str] = []
    for body in board.bodies:
        ring = body.slices[0].ring if body.slices else None
        if ring is not None:
            found += [wall_to_paint(board, body.part), ring_to_paint(board, ring)]
    return found
