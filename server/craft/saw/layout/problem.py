"""One wood's cutting problem in whole micrometres, so that sums are exact.

Lengths needed are rounded up to the micrometre, lengths at hand down.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from server.craft.saw.request import Board, CuttingRequest, Strip
from server.craft.saw.strips import StripCut
from server.craft.units import MM3_PER_BOARD_FOOT

UM = 1000
KEEP_LENGTH_UM = 300 * UM
"""An offcut shorter than this is worth nothing (contract, Cutting)."""
KEEP_WIDTH_UM = 40 * UM
"""An offcut narrower than this is worth nothing unless it is as wide as its board."""
NARROW_WORTH = 0.9
"""What an offcut narrower than its board is worth, against the board's price."""
_ROUNDING = 1e-6
_MOST_COPIES = 1000

Rect = tuple[int, int, int, int]
"""x0, x1, y0, y1 in µm."""


def need_um(length_mm: float) -> int:
    """Micrometres that hold this length."""
    return math.ceil(length_mm * UM - _ROUNDING)


def have_um(length_mm: float) -> int:
    """Whole micrometres inside this length."""
    return math.floor(length_mm * UM + _ROUNDING)


@dataclass(frozen=True, slots=True)
class Item:
    """The segments of one STRIP; a strip grows by `pitch_um` with each."""

    strip: Strip
    kind: int
    pitch_um: int
    count: int


@dataclass(frozen=True, slots=True)
class Kind:
    """Strips of one width, thickness and mitre; they may share a laid strip."""

    width_um: int
    thickness_mm: float
    setup_um: int
    items: tuple[int, ...]
    total_um: int


@dataclass(frozen=True, slots=True, eq=False)
class Stock:
    """One board of the rack. `rate` is its price for each mm² of face.

    `returns` is the part of an offcut's worth that counts: 1, or 0 for a board still to be bought.
    Boards that are alike share `alike`.
    """

    board: Board
    copy: int
    length_um: int
    width_um: int
    trim_um: int
    rate: float
    returns: float
    defects: tuple[Rect, ...]
    fits: tuple[int, ...]
    alike: int
    narrowest_um: int

    @property
    def value(self) -> float:
        """What the board costs when it is opened."""
        return self.rate * self.board.length_mm * self.board.width_mm


@dataclass(frozen=True, slots=True, eq=False)
class Wood:
    """Everything needed to lay out one wood."""

    name: str
    items: tuple[Item, ...]
    kinds: tuple[Kind, ...]
    stocks: tuple[Stock, ...]
    rip_um: int
    cross_um: int
    shortest_um: int

    def strip_um(self, kind: int, contents: Iterable[tuple[int, int]]) -> int:
        """Length of a laid strip with these (item, count)."""
        pieces = sum(self.items[item].pitch_um * count for item, count in contents)
        return max(self.shortest_um, self.kinds[kind].setup_um + pieces)


@dataclass(frozen=True, slots=True)
class Terms:
    """How a board is priced: `factor` on its own price, `returns` on what goes back of it."""

    factor: float = 1.0
    returns: float = 1.0


AS_PRICED = Terms()


def woods_of(request: CuttingRequest) -> list[Wood]:
    """The independent problems of a request, one for each wood that is asked for."""
    names = sorted({strip.wood for strip in request.strips if strip.count})
    return [wood_of(request, name, {}) for name in names]


def wood_of(request: CuttingRequest, name: str, terms: Mapping[str, Terms]) -> Wood:
    """One wood's problem; `terms` of a board's id where it is not priced as it stands."""
    strips = [strip for strip in request.strips if strip.wood == name and strip.count]
    kinds, items = _kinds(strips, request)
    boards = [board for board in request.rack if board.wood == name]
    stocks = _stocks(boards, kinds, request, terms)
    saw = request.saw
    return Wood(
        name,
        tuple(items),
        tuple(kinds),
        tuple(stocks),
        need_um(saw.rip_kerf_mm),
        need_um(saw.cross_kerf_mm),
        need_um(saw.shortest_strip_mm),
    )


def _kinds(strips: list[Strip], request: CuttingRequest) -> tuple[list[Kind], list[Item]]:
    keys: dict[tuple[float, float, float], list[int]] = {}
    items, setups = [], []
    for index, strip in enumerate(strips):
        key = (strip.width_mm, strip.thickness_mm, strip.mitre_deg)
        keys.setdefault(key, []).append(index)
        cut = cut_of(strip, request)
        pitch_um = max(1, need_um(cut.pitch_mm(strip.outer_edge_mm)))
        items.append(Item(strip, list(keys).index(key), pitch_um, strip.count))
        setups.append(need_um(cut.setup_mm))
    kinds = [
        Kind(
            need_um(width_mm),
            thickness_mm,
            setups[members[0]],
            tuple(members),
            sum(items[i].pitch_um * items[i].count for i in members),
        )
        for (width_mm, thickness_mm, _), members in keys.items()
    ]
    return kinds, items


def cut_of(strip: Strip, request: CuttingRequest) -> StripCut:
    """How this STRIP's segments are cut with the request's saw."""
    saw = request.saw
    return StripCut(strip.width_mm, strip.mitre_deg, saw.blade_kerf_mm, saw.flip, saw.hold_tail_mm)


def _stocks(
    boards: list[Board],
    kinds: list[Kind],
    request: CuttingRequest,
    terms: Mapping[str, Terms],
) -> list[Stock]:
    alike: dict[tuple[object, ...], int] = {}
    stocks = []
    for board in boards:
        usable = board.thickness_mm - request.saw.plane_mm + _ROUNDING
        width_um, length_um = have_um(board.width_mm), have_um(board.length_mm)
        trim_mm = request.saw.end_trim_mm if board.end_trim_mm is None else board.end_trim_mm
        fits = tuple(
            index
            for index, kind in enumerate(kinds)
            if kind.thickness_mm <= usable and kind.width_um <= width_um
        )
        term = terms.get(board.id, AS_PRICED)
        price = board.price_per_board_foot * term.factor
        rate = price * board.thickness_mm / float(MM3_PER_BOARD_FOOT)
        defects = tuple(_disjoint(_defects_um(board, length_um, width_um)))
        trim_um = need_um(trim_mm)
        key = (length_um, width_um, trim_um, rate, term.returns, defects, fits)
        same = alike.setdefault(key, len(alike))
        narrowest = min((kinds[kind].width_um for kind in fits), default=0)
        stocks += [
            Stock(
                board,
                copy,
                length_um,
                width_um,
                trim_um,
                rate,
                term.returns,
                defects,
                fits,
                same,
                narrowest,
            )
            for copy in range(1, min(board.count, _MOST_COPIES) + 1)
            if fits and length_um - 2 * trim_um >= need_um(request.saw.shortest_strip_mm)
        ]
    return stocks


def _defects_um(board: Board, length_um: int, width_um: int) -> list[Rect]:
    rects = []
    for defect in board.defects:
        x0, y0 = have_um(defect.x_mm), have_um(defect.y_mm)
        x1 = min(need_um(defect.x_mm + defect.length_mm), length_um)
        y1 = min(need_um(defect.y_mm + defect.width_mm), width_um)
        if x0 < x1 and y0 < y1:
            rects.append((x0, x1, y0, y1))
    return sorted(rects)


def _disjoint(rects: list[Rect]) -> list[Rect]:
    """The same area without overlaps, so that areas may be added."""
    done: list[Rect] = []
    for rect in rects:
        parts = [rect]
        for other in done:
            parts = [piece for part in parts for piece in _minus(part, other)]
        done += parts
    return sorted(done)


def _minus(part: Rect, other: Rect) -> list[Rect]:
    x0, x1, y0, y1 = part
    a0, a1, b0, b1 = other
    if a1 <= x0 or x1 <= a0 or b1 <= y0 or y1 <= b0:
        return [part]
    left, right = max(x0, a0), min(x1, a1)
    pieces = [(x0, left, y0, y1), (right, x1, y0, y1), (left, right, y0, b0), (left, right, b1, y1)]
    return [piece for piece in pieces if piece[0] < piece[1] and piece[2] < piece[3]]
