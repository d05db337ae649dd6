"""What is worked out of a layout goes with it: a better one has its own."""

from dataclasses import replace

from saw_pieces import boards_for

from server.craft.saw.layout import cut_layout
from server.craft.saw.request import Board, CuttingRequest, Strip
from server.craft.saw.sequence import cut_sequence
from server.craft.saw.yields import layout_yield
from server.rooms.saw_bench.solver import Solving

WOOD = "ash-white"
STRIP = Strip(
    id="r1",
    kind="segment",
    wood=WOOD,
    thickness_mm=12.0,
    width_mm=30.0,
    mitre_deg=15.0,
    outer_edge_mm=40.0,
    count=12,
)


def asked() -> CuttingRequest:
    sizes = ("length_mm", "width_mm", "thickness_mm", "count")
    boards = [
        Board(id=f"b{k}", wood=WOOD, **{name: row[name] for name in sizes if name in row})
        for k, row in enumerate(boards_for(WOOD))
    ]
    return CuttingRequest(strips=[STRIP], rack=boards, time_limit_s=0.5)


def test_a_better_layout_has_its_own_cuts_and_account() -> None:
    request = asked()
    solving = Solving("key", request, 0.0)
    assert solving.laid is None
    whole = cut_layout(request, lambda: 0.0)
    solving.layout = replace(whole, boards=(), short=())
    nothing = solving.laid
    assert nothing is not None
    assert nothing.cuts == ()
    assert nothing.account.segments == 0
    solving.layout = whole
    laid = solving.laid
    assert laid is not None
    assert laid is solving.laid
    assert laid.account == layout_yield(request, whole)
    assert laid.account.segments > 0
    boards = {board.id: board for board in request.rack}
    for board, cuts in zip(whole.boards, laid.cuts, strict=True):
        known = cut_sequence(boards[board.id], board, request.saw)
        assert set(cuts) <= set(known)
        assert [cut for cut in known if cut.kind == "rip"] == [c for c in cuts if c.kind == "rip"]
