"""A drawing that is looked at again is not worked out again, and never another one shown for it."""

from dataclasses import replace
from datetime import UTC, datetime

from piece_makers import beaker

from server.craft.document.ring_labels import ring_labels
from server.craft.findings import Severity
from server.exports.pictures.wall import unrolled_wall
from server.exports.svg import to_svg
from server.rooms.drawing_board.board import open_board, open_kept
from server.rooms.drawing_board.desk import Place
from server.rooms.drawing_board.views import board_view, ring_alone, ring_to_paint, wall_to_paint
from server.store.pieces import PieceRecord

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def kept(revision: int, rings: int) -> PieceRecord:
    document = beaker(rings, name="Beaker")
    return PieceRecord("open-boards", revision, document, "Beaker", False, NOON, NOON)


def test_from_panel_to_panel_a_drawing_stays_open() -> None:
    assert open_kept(kept(1, 4)) is open_kept(kept(1, 4))


def test_another_drawing_is_another_board() -> None:
    first, second = open_kept(kept(1, 4)), open_kept(kept(2, 5))
    assert [len(board.plan.parts[0].rings) for board in (first, second)] == [4, 5]
    # Not even where number and name are the same, as in a shop restored from its backup.
    other = replace(kept(1, 4), document=beaker(6, name="Beaker"))
    assert len(open_kept(other).plan.parts[0].rings) == 6


def test_many_boards_do_not_stay_open_for_ever() -> None:
    first = open_kept(kept(100, 3))
    for revision in range(101, 125):
        open_kept(kept(revision, 3))
    assert open_kept(kept(100, 3)) is not first


def test_numbers_marks_and_places_to_touch_lie_on_the_drawing(client, board_id) -> None:
    page = client.get(f"/pieces/{board_id}/drawing-board").text
    sheet = page[page.index('class="dwg board-drawing"') :].split("</svg>")[0]
    assert "&lt;" not in sheet
    assert sheet.index('data-ring="r3"') < sheet.index('class="hit"')
    assert sheet.count('class="hit"') == 4
    assert ">Ø 120</text>" in sheet


def test_the_wall_kept_is_the_wall_and_only_its_marks_are_drawn_anew() -> None:
    board = open_board(beaker(4, name="Beaker"))
    part = board.piece.parts[0]
    body = board.bodies[0]
    for ring in (None, "r2", "r3"):
        shown = board_view(board, Place("checks", ring), "/pieces/x/drawing-board").wall
        stops = [c.ring for c in board.plan.checks if c.ring and c.severity is Severity.STOP]
        anew = unrolled_wall(
            body,
            part.title,
            labels=ring_labels(board.piece),
            chosen=ring,
            faulty=frozenset(stops),
        )
        assert shown == to_svg(anew)


def test_each_ring_and_part_has_its_own_picture() -> None:
    board = open_board(beaker(4, name="Beaker"))
    pictures = [picture(board, f"r{k}") for k in (1, 2) for picture in (ring_alone, ring_to_paint)]
    assert len(set(pictures)) == 4
    assert ring_alone(board, "r1") is pictures[0]
    assert "r1:0" in wall_to_paint(board, board.piece.parts[0].id)


def test_the_pictures_are_those_of_the_drawing() -> None:
    board = open_board(beaker(4, name="Beaker"))
    assert 'data-ring="r3"' in board.drawn_svg
    assert board.still_svg is board.still_svg
