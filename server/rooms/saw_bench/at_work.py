"""A piece at the saw with the rack beside it, as every page of the saw bench begins."""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import HTTPException, Request

from server.craft.document import DocumentError
from server.craft.ledger import Entry
from server.craft.saw.request import Board
from server.craft.stock import Stock
from server.rooms.saw_bench.laying import offers_of
from server.rooms.saw_bench.sawing import Sawing
from server.rooms.saw_bench.work import SawWork
from server.store import pieces, prices, together
from server.store.pieces import PieceRecord
from server.web.floors import drawn_of, floors_of, piece_of
from server.web.frame import server_now
from server.web.kept import kept
from server.web.stock import stock_of, uses_of

CARE = (
    "Strip held down on the sled, hand off the line of the blade",
    "Stop swung clear before the cut: nothing caught between stop and blade",
    "The last piece stays in the strip",
)
CARE_AT_BOARDS = (
    "Nothing shorter than 300 mm is ripped, nothing shorter than 150 mm goes on the sled",
    "Riving knife and guard on for rips; push stick at hand, nobody behind the board",
    "Crosscut with the mitre sled, never with the fence as a stop",
)


@dataclass(frozen=True, slots=True)
class AtWork:
    """A piece at the saw with the rack beside it; `seq` is the newest line of the ledger in it.

    `sawing` are the pieces laid out at once, this one among them.
    """

    record: PieceRecord
    work: SawWork
    sawing: Sawing
    stock: tuple[Stock, ...]
    offers: tuple[Board, ...]
    seq: int


def address_of(piece_id: str) -> str:
    """The address of a piece's saw bench."""
    return f"/pieces/{piece_id}/saw-bench"


def at_work(request: Request, piece_id: str) -> AtWork:
    """A piece at the saw. Raises 404 for an unknown piece, 409 for one that cannot be read."""
    record = piece_of(request, piece_id)
    offers = offers_of(kept(request, prices.price_list))
    others = _others(request, piece_id)
    seq = floors_of(request).last_seq()
    uses = tuple(uses_of(request))
    try:
        work = _work(request, record, uses)
    except DocumentError as error:
        raise HTTPException(409, f"This drawing cannot be read: {error}") from error
    sawing = Sawing((work,)) if not others else _sawing(request, work, others, uses)
    return AtWork(record, work, sawing, stock_of(request), offers, seq)


def _others(request: Request, piece_id: str) -> list[PieceRecord | None]:
    """The pieces sawn together in their order, None in the place of this one; none where alone."""
    listed = kept(request, together.sawn_together)
    if piece_id not in listed:
        return []
    found = [kept(request, pieces.get_piece, one) if one != piece_id else None for one in listed]
    return [
        record
        for one, record in zip(listed, found, strict=True)
        if one == piece_id or (record is not None and not record.archived)
    ]


def _sawing(
    request: Request,
    work: SawWork,
    others: Sequence[PieceRecord | None],
    uses: tuple[Entry, ...],
) -> Sawing:
    works = []
    for record in others:
        try:
            works.append(_work(request, record, uses) if record else work)
        except DocumentError:
            continue  # its own page says so
    return Sawing(tuple(works))


def _work(request: Request, record: PieceRecord, uses: tuple[Entry, ...]) -> SawWork:
    now = server_now(request)
    floor = floors_of(request).floor(record.id, now)
    planned = drawn_of(request).planned(record)
    return SawWork(record.id, planned.piece, floor, now, planned, uses)
