"""What the layout of a piece says: boards, progress, what is short, what to buy, the money."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pydantic import ValidationError

from server.craft.document.words import plain_words
from server.craft.errors import FieldError
from server.craft.floor import clock
from server.craft.ledger import Entry
from server.craft.saw.buying import Shopping
from server.craft.saw.layout import Layout
from server.craft.saw.request import Board, CuttingRequest
from server.craft.saw.strips import sold_thickness
from server.craft.saw.yields import Yield
from server.craft.stock import Stock
from server.craft.units import format_length
from server.rooms.saw_bench.boards import BoardView, board_views
from server.rooms.saw_bench.laying import cutting_request, parts_of, sawn_pieces
from server.rooms.saw_bench.sawing import Sawing
from server.rooms.saw_bench.says import as_json
from server.rooms.saw_bench.solver import LayoutDesk, Solving
from server.rooms.saw_bench.used import OTHER_WOOD, other_wood_line

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
class ToBuy:
    """Boards of one line of the price list; `offer` is that line, from 1."""

    words: str
    offer: int
    wood: str
    count: int


@dataclass(frozen=True, slots=True)
class UnsaidView:
    """Segments that were ticked although no board was said to be sawn for them."""

    strip: str
    title: str
    count: int
    words: str
    say: str


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
    shopping: tuple[ToBuy, ...]
    unsold: tuple[str, ...]
    shopping_cost: float | None
    money: tuple[tuple[str, str, float], ...]
    part_used: float
    sawn: tuple[SawnView, ...]
    unsaid: tuple[UnsaidView, ...]
    nothing: bool


def ask_layout(
    sawing: Sawing,
    stock: Sequence[Stock],
    offers: Sequence[Board],
    desk: LayoutDesk,
    wait_s: float,
) -> Solving:
    """The layout so far for what is still to be cut."""
    try:
        request = cutting_request(sawing, stock)
    except ValidationError as wrong:
        return _refused(desk, f"This cannot be laid out: {plain_words(wrong.errors()[0])}")
    except FieldError as wrong:
        return _refused(desk, wrong.message)
    return desk.ask(sawing.name, request, offers, wait_s)


def _refused(desk: LayoutDesk, words: str) -> Solving:
    nothing, now_s = CuttingRequest(strips=[], rack=[]), desk.clock()
    return Solving("", nothing, now_s, refused=words, ended_s=now_s)


def layout_view(
    sawing: Sawing,
    stock: Sequence[Stock],
    solving: Solving,
    now_s: float,
    offers: Sequence[Board],
    lit: frozenset[str] | None = None,
) -> LayoutView:
    """Everything about the layout; with `lit` only the boards that hold those strips, and no
    account of where the wood goes."""
    laid, request = solving.laid, solving.request
    layout = laid.layout if laid else None
    rows = {row.id: row for row in stock}
    boards = board_views(sawing, laid, rows, lit) if laid else ()
    account = laid.account if laid and laid.layout.boards and lit is None else None
    return LayoutView(
        boards=boards,
        board_count=len(layout.boards) if layout else 0,
        done=solving.done,
        percent=round(100 * solving.share(now_s)),
        state=_state(solving),
        refused=solving.refused,
        cost=layout.cost if layout and layout.boards else None,
        bound_words=bound_words(layout) if layout and layout.boards else "",
        short=_short(sawing, request, layout) if layout else (),
        shopping=_bought(sawing, solving.shopping, offers) if solving.shopping else (),
        unsold=_unsold(sawing, solving.shopping) if solving.shopping else (),
        shopping_cost=_to_pay(solving.shopping) if solving.shopping else None,
        money=_money(account) if account else (),
        part_used=account.part if account else 0.0,
        sawn=_sawn(sawing, rows),
        unsaid=_unsaid(sawing),
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


def _short(sawing: Sawing, request: CuttingRequest, layout: Layout) -> tuple[ShortView, ...]:
    found: dict[tuple[str, float], list[tuple[str, float]]] = {}
    wanted = {strip.id: strip.count for strip in request.strips}
    for row in layout.short:
        words = f"{sawing.title(row.strip)} lacks {row.pieces} of {wanted[row.strip]}"
        key = (row.wood, round(row.thickness_mm, 3))
        found.setdefault(key, []).append((words, row.board_feet))
    return tuple(
        ShortView(
            wood=sawing.wood(wood).name,
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


def _bought(sawing: Sawing, found: Shopping, offers: Sequence[Board]) -> tuple[ToBuy, ...]:
    places = {offer.id: place for place, offer in enumerate(offers, start=1)}
    lines = []
    for bought in found.purchases:
        place = places[bought.offer]
        board = offers[place - 1]
        sizes = (board.thickness_mm, board.width_mm, board.length_mm)
        size = " × ".join(format_length(size, sawing.units, 0) for size in sizes)
        name = sawing.wood(bought.wood).name
        words = f"{bought.count} × {name}, {size}: {bought.board_feet:.2f} board feet, "
        lines.append(ToBuy(f"{words}{bought.money:.2f}", place, bought.wood, bought.count))
    return tuple(lines)


def _unsold(sawing: Sawing, found: Shopping) -> tuple[str, ...]:
    return tuple(
        f"{sawing.title(strip)}: {count} fit on no board of the price list"
        for strip, count in found.lacking
    )


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


def _sawn(sawing: Sawing, rows: Mapping[str, Stock]) -> tuple[SawnView, ...]:
    pieces = {work.piece_id for work in sawing.works}
    uses = [use for use in sawing.works[0].uses if not use.data.get("ring")]
    about = [use for use in uses if pieces & {use.piece, *(part.piece for part in parts_of(use))}]
    return tuple(_sawn_view(sawing, use, rows.get(use.subject)) for use in about)


def _sawn_view(sawing: Sawing, use: Entry, row: Stock | None) -> SawnView:
    name = str(row.document.get("name") or use.subject) if row else use.subject
    name = "Other wood" if use.subject == OTHER_WOOD else name
    count = sum(part.count for part in parts_of(use))
    rests = use.data.get("returns")
    back = len(rests) if isinstance(rests, list) else 0
    words = f"{clock(use.at, sawing.works[0].now)}, "
    words += f"{count} pieces" if count else "resawn" if back else "used up"
    words += f", {back} back to the rack" if back else ""
    undo = {
        "kind": "undone",
        "piece": use.piece,
        "subject": use.subject,
        "undoes": use.id,
        "words": f"{name} sawn, undone",
    }
    return SawnView(name, words, as_json(undo), f"used:{use.id}")


def _unsaid(sawing: Sawing) -> tuple[UnsaidView, ...]:
    """Strips of which more was ticked than the boards said to be sawn can have given."""
    found = []
    for name, to_cut in sawing.strips.items():
        tally = to_cut.cut.tally
        more = tally.cut + tally.broken - sawn_pieces(to_cut.work)[to_cut.cut.row.id]
        if more > 0:
            say = as_json(other_wood_line(sawing, name, more))
            found.append(UnsaidView(name, sawing.title(name), more, to_cut.cut.noun(more), say))
    return tuple(found)
