"""What the layout of a piece says: boards, progress, what is short, what to buy, the money."""

from collections.abc import Sequence
from dataclasses import dataclass

from pydantic import ValidationError

from server.craft.document.words import plain_words
from server.craft.floor import clock
from server.craft.saw.buying import Shopping
from server.craft.saw.layout import Layout
from server.craft.saw.request import Board, CuttingRequest
from server.craft.saw.strips import sold_thickness
from server.craft.saw.yields import Yield, layout_yield
from server.craft.stock import Stock
from server.craft.units import format_length
from server.rooms.saw_bench.boards import BoardView, board_views
from server.rooms.saw_bench.laying import cutting_request, pieces_in
from server.rooms.saw_bench.says import as_json
from server.rooms.saw_bench.solver import LayoutDesk, Solving
from server.rooms.saw_bench.work import SawWork

_LEAST_MONEY = 0.005


@dataclass(frozen=True, slots=True)
class ShortView:
    """One wood of one thickness that the rack does not hold enough of."""

    wood: str
    thickness_mm: float
    sold_as: str
    rings: tuple[str, ...]
    board_feet: float


@dataclass(frozen=True, slots=True)
class SawnView:
    """A board that was sawn up for this piece, and the tap that puts it back."""

    name: str
    words: str
    undo: str
    mark: str


@dataclass(frozen=True, slots=True)
class LayoutView:
    """The layout as it stands. `percent` is how much of the search is done, 100 at its end."""

    boards: tuple[BoardView, ...]
    board_count: int
    done: bool
    percent: int
    state: str
    refused: str
    cost: float | None
    bound_words: str
    short: tuple[ShortView, ...]
    shopping: tuple[str, ...]
    shopping_cost: float | None
    money: tuple[tuple[str, str, float], ...]
    part_used: float
    sawn: tuple[SawnView, ...]
    nothing: bool


def ask_layout(
    work: SawWork,
    stock: Sequence[Stock],
    offers: Sequence[Board],
    desk: LayoutDesk,
    wait_s: float,
) -> Solving:
    """The layout so far for what is still to be cut."""
    try:
        request = cutting_request(work, stock)
    except ValidationError as wrong:
        nothing = CuttingRequest(strips=[], rack=[])
        now_s = desk.clock()
        words = f"This cannot be laid out: {plain_words(wrong.errors()[0])}"
        return Solving("", nothing, now_s, refused=words, ended_s=now_s)
    return desk.ask(work.piece_id, request, offers, wait_s)


def layout_view(
    work: SawWork,
    stock: Sequence[Stock],
    solving: Solving,
    now_s: float,
    offers: Sequence[Board],
    lit: frozenset[str] | None = None,
) -> LayoutView:
    """Everything about the layout; with `lit` only the boards that hold those strips."""
    layout, request = solving.layout, solving.request
    rows = {row.id: row for row in stock}
    boards = board_views(work, request, layout, rows, lit) if layout else ()
    account = layout_yield(request, layout) if layout and layout.boards else None
    return LayoutView(
        boards=boards,
        board_count=len(layout.boards) if layout else 0,
        done=solving.done,
        percent=round(100 * solving.share(now_s)),
        state=_state(solving),
        refused=solving.refused,
        cost=layout.cost if layout and layout.boards else None,
        bound_words=bound_words(layout) if layout and layout.boards else "",
        short=_short(work, request, layout) if layout else (),
        shopping=_bought(work, solving.shopping, offers) if solving.shopping else (),
        shopping_cost=_to_pay(solving.shopping) if solving.shopping else None,
        money=_money(account) if account else (),
        part_used=account.part if account else 0.0,
        sawn=_sawn(work, rows),
        nothing=not request.strips and not solving.refused,
    )


def bound_words(layout: Layout) -> str:
    """How far from the best possible, in money."""
    if layout.status == "short":
        return "as much as the rack gives"
    if layout.status == "proven" or layout.cost - layout.bound < _LEAST_MONEY:
        return "the best possible, proven"
    if layout.bound <= 0:
        return "how near the best is not known yet"
    return f"at most {layout.cost - layout.bound:.2f} above the best possible"


def _state(solving: Solving) -> str:
    if solving.refused:
        return "refused"
    if not solving.done:
        return "working"
    return "stopped" if solving.cancelled else "done"


def _short(work: SawWork, request: CuttingRequest, layout: Layout) -> tuple[ShortView, ...]:
    found: dict[tuple[str, float], list[tuple[str, float]]] = {}
    wanted = {strip.id: strip.count for strip in request.strips}
    for row in layout.short:
        words = f"{work.name_of(row.strip)} lacks {row.pieces} of {wanted[row.strip]}"
        key = (row.wood, round(row.thickness_mm, 3))
        found.setdefault(key, []).append((words, row.board_feet))
    return tuple(
        ShortView(
            wood=work.planned.woods[wood].name,
            thickness_mm=thickness_mm,
            sold_as=_sold_as(thickness_mm + request.saw.plane_mm),
            rings=tuple(words for words, _ in lines),
            board_feet=sum(feet for _, feet in lines),
        )
        for (wood, thickness_mm), lines in found.items()
    )


def _sold_as(needed_mm: float) -> str:
    sold = sold_thickness(needed_mm)
    return f"sold as {sold.name} rough" if sold else "thicker than it is usually sold"


def _bought(work: SawWork, found: Shopping, offers: Sequence[Board]) -> tuple[str, ...]:
    units = work.piece.display_units
    offered = {offer.id: offer for offer in offers}
    lines = []
    for bought in found.purchases:
        board = offered[bought.offer]
        sizes = (board.thickness_mm, board.width_mm, board.length_mm)
        words = " × ".join(format_length(size, units, 0) for size in sizes)
        name = work.planned.woods[bought.wood].name
        lines.append(
            f"{bought.count} × {name}, {words}: {bought.board_feet:.2f} board feet, "
            f"{bought.money:.2f}"
        )
    lines += [
        f"{work.name_of(strip)}: {count} fit on no board of the price list"
        for strip, count in found.lacking
    ]
    return tuple(lines)


def _to_pay(found: Shopping) -> float:
    return sum(bought.money for bought in found.purchases)


def _money(account: Yield) -> tuple[tuple[str, str, float], ...]:
    """Where the wood goes: words, board feet, and its share of what is opened."""
    rows = (
        ("in the segments", account.segments),
        ("back to the rack", account.offcuts),
        ("planed off", account.planing),
        ("ends and tails of strips", account.strip_ends),
        ("mitre cuts", account.mitre_kerf),
        ("rips and crosscuts", account.rip_kerf + account.cross_kerf),
        ("trims, knots, rests too small", account.other),
    )
    whole = account.opened or 1.0
    return tuple((words, f"{feet:.2f}", feet / whole) for words, feet in rows)


def _sawn(work: SawWork, rows: dict[str, Stock]) -> tuple[SawnView, ...]:
    views = []
    for item, entries in work.floor.used.items():
        for entry in entries:
            if entry.data.get("ring"):
                continue
            row = rows.get(item)
            name = str(row.document.get("name") or item) if row else item
            count = sum(number for _, number in pieces_in(entry.data))
            rests = entry.data.get("returns")
            back = len(rests) if isinstance(rests, list) else 0
            words = f"{clock(entry.at, work.now)}, {count} pieces"
            words += f", {back} back to the rack" if back else ""
            undo = {
                "kind": "undone",
                "subject": item,
                "undoes": entry.id,
                "words": f"{name} sawn, undone",
            }
            views.append(SawnView(name, words, as_json(undo), f"used:{entry.id}"))
    return tuple(views)
