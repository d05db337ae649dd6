"""A drawing that is looked at again is not worked out again, and never another one shown for it."""

from dataclasses import replace
from datetime import UTC, datetime

from piece_makers import beaker

from server.rooms.drawing_board.board import open_board, open_kept
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


def test_the_pictures_are_those_of_the_drawing() -> None:
    board = open_board(beaker(4, name="Beaker"))
    assert 'data-ring="r3"' in board.drawn_svg
    assert board.still_svg is board.still_svg
