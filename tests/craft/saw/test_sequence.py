"""The order of cuts must free exactly what the layout promises, and the yield must add up."""

import time
from typing import Any

import pytest
from cutting_cases import NAMES, instance, made_requests
from hypothesis import HealthCheck, given, settings

from server.craft.errors import CraftError
from server.craft.saw.layout import LaidBoard, Offcut, cut_layout
from server.craft.saw.request import Board, CuttingRequest, Saw
from server.craft.saw.sequence import Cut, cut_sequence
from server.craft.saw.yields import layout_yield

Box = tuple[float, float, float, float]


def sawn(board: Board, cuts: list[Cut]) -> list[Box]:
    """Saw a sheet by the cuts, one after the other, and return the parts that are left."""
    parts: list[Box] = [(0.0, board.length_mm, 0.0, board.width_mm)]
    for cut in cuts:
        wanted = (cut.part.x0_mm, cut.part.x1_mm, cut.part.y0_mm, cut.part.y1_mm)
        here = next(
            p for p in parts if all(abs(a - b) < 1e-3 for a, b in zip(p, wanted, strict=True))
        )
        parts.remove(here)
        near = cut.mark_mm if cut.kerf_beyond else cut.mark_mm - cut.kerf_mm
        far = near + cut.kerf_mm
        x0, x1, y0, y1 = here
        if cut.kind == "crosscut":
            assert x0 <= cut.mark_mm <= x1
            parts += [(x0, near, y0, y1), (far, x1, y0, y1)]
        else:
            assert y0 <= cut.mark_mm <= y1
            parts += [(x0, x1, y0, near), (x0, x1, far, y1)]
        parts = [p for p in parts if p[1] - p[0] > 1e-6 and p[3] - p[2] > 1e-6]
    return parts


def check(asked: dict[str, Any]) -> None:
    request = CuttingRequest.model_validate(asked)
    layout = cut_layout(request, time.monotonic)
    boards = {board.id: board for board in request.rack}
    for laid in layout.boards:
        parts = sawn(boards[laid.id], cut_sequence(boards[laid.id], laid, request.saw))
        for piece in (*laid.strips, *laid.offcuts):
            wanted = (
                piece.x_mm,
                piece.x_mm + piece.length_mm,
                piece.y_mm,
                piece.y_mm + piece.width_mm,
            )
            assert any(
                all(abs(a - b) < 1e-3 for a, b in zip(part, wanted, strict=True)) for part in parts
            ), (laid.id, wanted)
    found = layout_yield(request, layout)
    named = (
        found.segments, found.planing, found.mitre_kerf, found.strip_ends, found.rip_kerf,
        found.cross_kerf, found.offcuts, found.other,
    )  # fmt: skip
    assert sum(named) == pytest.approx(found.opened)
    assert all(feet >= -1e-9 for feet in named), named
    assert found.lumber_cost == layout.cost
    assert 0 <= found.part <= 1


@settings(
    max_examples=12, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
@given(made_requests())
def test_cuts_free_what_was_laid(asked: dict[str, Any]) -> None:
    check(asked)


@pytest.mark.parametrize("name", NAMES)
def test_kept_instances(name: str) -> None:
    check(instance(name, time_limit_s=0.1))


def test_first_cuts_are_measured_from_the_end() -> None:
    request = CuttingRequest.model_validate(instance("14_one_ring", time_limit_s=0.1))
    laid = cut_layout(request, time.monotonic).boards[0]
    board = next(board for board in request.rack if board.id == laid.id)
    cuts = cut_sequence(board, laid, request.saw)
    assert cuts[0].kind == "crosscut"
    assert cuts[0].length_mm == board.width_mm


def test_what_straight_cuts_cannot_free() -> None:
    board = Board(id="b", wood="maple", thickness_mm=20, width_mm=300, length_mm=300)
    places = [(0, 0, 200, 90), (0, 100, 90, 200), (100, 200, 200, 100), (210, 0, 90, 190)]
    pinwheel = LaidBoard("b", 1, (), tuple(Offcut(*map(float, place)) for place in places))
    with pytest.raises(CraftError):
        cut_sequence(board, pinwheel, Saw(rip_kerf_mm=3, cross_kerf_mm=3))
