"""From micrometres back to the answer: boards as laid, their cost, what is lacking."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from server.craft.saw.layout.answer import LaidBoard, LaidStrip, Offcut, Pieces
from server.craft.saw.layout.problem import (
    KEEP_LENGTH_UM,
    KEEP_WIDTH_UM,
    NARROW_WORTH,
    UM,
    Rect,
    Stock,
    Wood,
)
from server.craft.saw.layout.sawn import Placed, Sawn, worth
from server.craft.saw.request import Board
from server.craft.units import board_feet


def laid_boards(wood: Wood, boards: Sequence[Sawn]) -> list[LaidBoard]:
    """The opened boards of a plan; copies of one id are numbered 1, 2, … as they are opened."""
    copies: dict[str, int] = {}
    laid = []
    for sawn in boards:
        if sawn.strips:
            name = sawn.stock.board.id
            copies[name] = copies.get(name, 0) + 1
            laid.append(_laid(wood, sawn, copies[name]))
    return laid


def _laid(wood: Wood, sawn: Sawn, copy: int) -> LaidBoard:
    strips = sorted(sawn.strips, key=lambda s: (s.x_um, s.y_um))
    keep = sorted(rest for rest in sawn.rests if worth(sawn.stock, rest) > 0 or _free(sawn, rest))
    return LaidBoard(
        sawn.stock.board.id,
        copy,
        tuple(_strip(wood, strip) for strip in strips),
        tuple(_offcut(sawn.stock, rest) for rest in keep),
    )


def _free(sawn: Sawn, rest: Rect) -> bool:
    """Worth keeping by its size although its board cost nothing."""
    x0, x1, y0, y1 = rest
    wide = y1 - y0 >= min(KEEP_WIDTH_UM, sawn.stock.width_um)
    return sawn.stock.rate == 0 and x1 - x0 >= KEEP_LENGTH_UM and wide


def _strip(wood: Wood, strip: Placed) -> LaidStrip:
    pieces = tuple(
        Pieces(wood.items[item].strip.id, count) for item, count in strip.contents if count
    )
    return LaidStrip(
        strip.x_um / UM, strip.y_um / UM, strip.length_um / UM, strip.width_um / UM, pieces
    )


def _offcut(stock: Stock, rest: Rect) -> Offcut:
    """A rest in mm; where it reaches the board's own end or edge it takes the true measure."""
    x0, x1, y0, y1 = rest
    board = stock.board
    x_mm, y_mm = x0 / UM, y0 / UM
    length_mm = board.length_mm - x_mm if x1 == stock.length_um else (x1 - x0) / UM
    width_mm = board.width_mm - y_mm if y1 == stock.width_um else (y1 - y0) / UM
    return Offcut(x_mm, y_mm, length_mm, width_mm)


def price_of(board: Board) -> float:
    """What the board costs: actual thickness, price × board feet."""
    feet = board_feet(board.thickness_mm, board.width_mm, board.length_mm)
    return board.price_per_board_foot * feet


def layout_cost(rack: Iterable[Board], laid: Iterable[LaidBoard]) -> float:
    """Value of the boards opened less the value of the offcuts, from the answer itself."""
    known = {board.id: board for board in rack}
    return sum(
        price_of(known[board.id]) - sum(offcut_worth(known[board.id], o) for o in board.offcuts)
        for board in laid
    )


def offcut_worth(board: Board, offcut: Offcut) -> float:
    """Money for an offcut: full price if as wide as its board, 0.9 if 300 × 40 mm, else nothing."""
    if offcut.length_mm * UM < KEEP_LENGTH_UM:
        return 0.0
    if offcut.width_mm >= board.width_mm:
        part = 1.0
    elif offcut.width_mm * UM >= KEEP_WIDTH_UM:
        part = NARROW_WORTH
    else:
        return 0.0
    area_mm2 = offcut.length_mm * offcut.width_mm - spoilt_mm2(board, offcut)
    return part * board.price_per_board_foot * board_feet(board.thickness_mm, area_mm2, 1.0)


def spoilt_mm2(board: Board, offcut: Offcut) -> float:
    """Area of the board's defects inside an offcut, overlapping defects counted once."""
    spans = []
    for defect in board.defects:
        x0 = max(defect.x_mm, offcut.x_mm)
        x1 = min(defect.x_mm + defect.length_mm, offcut.x_mm + offcut.length_mm)
        y0 = max(defect.y_mm, offcut.y_mm)
        y1 = min(defect.y_mm + defect.width_mm, offcut.y_mm + offcut.width_mm)
        if x0 < x1 and y0 < y1:
            spans.append((x0, x1, y0, y1))
    edges = sorted({x for span in spans for x in span[:2]})
    return sum(
        (right - left) * _covered([s[2:] for s in spans if s[0] <= left and right <= s[1]])
        for left, right in pairwise(edges)
    )


def _covered(spans: Iterable[tuple[float, float]]) -> float:
    total, reached = 0.0, float("-inf")
    for low, high in sorted(spans):
        total += max(0.0, high - max(low, reached))
        reached = max(reached, high)
    return total
