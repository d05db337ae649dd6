"""Drawings and their steps at the lathe, worked out once for each drawing and shop."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from live_shop import goblet

from server.craft.lathe.holds import Jaws
from server.craft.lathe.steps import LatheShop
from server.craft.lathe.steps_piece import lathe_steps
from server.store.pieces import PieceRecord
from server.web.drawn import DrawnPieces

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
CUP = PieceRecord("cup", 1, goblet(), "Ferry cup", False, NOON, NOON)
TALLER = goblet() | {"stacks": goblet()["stacks"][:1]}
JAWS = (Jaws("small", 20.0, 60.0, 15.0, 70.0),)


@pytest.mark.parametrize(
    ("record", "shop"),
    [
        (CUP, LatheShop(JAWS)),
        (CUP, LatheShop((), {"low": 6.0})),
        (replace(CUP, revision=2, document=TALLER), LatheShop()),
        (replace(CUP, id="other", document=TALLER), LatheShop()),
    ],
)
def test_another_drawing_or_shop_has_steps_of_its_own(record: PieceRecord, shop: LatheShop) -> None:
    drawn = DrawnPieces()
    first = drawn.steps(CUP, LatheShop())
    found = drawn.steps(record, shop)
    assert found == lathe_steps(drawn.planned(record).work, shop)
    assert found is not first
    assert drawn.steps(CUP, LatheShop()) is first
