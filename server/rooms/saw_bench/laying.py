"""From pieces and the rack to the question that the cutting layout answers."""

import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.craft.ledger import Entry
from server.craft.saw.request import Board, CuttingRequest, Strip
from server.craft.saw.resaw import resawn
from server.craft.stock import Stock
from server.rooms.saw_bench.sawing import Sawing, ToCut
from server.rooms.saw_bench.work import Cut, SawWork

TIME_LIMIT_S = 5.0
OFFERED = 60
"""How many boards of one offer a dealer is taken to have."""
MOST_ALIKE = 10_000
_BOARD_FIELDS = frozenset(Board.model_fields) - {"extra"}


def cutting_request(sawing: Sawing, stock: Iterable[Stock]) -> CuttingRequest:
    """What is still to be laid out, from what is left on the rack.

    Boards that are to be resawn are offered as their leaves. Raises FieldError where those are
    all kerf.
    """
    strips = [
        strip_of(to_cut, name, count)
        for name, to_cut in sawing.strips.items()
        if to_cut.job.spare_ring is None and (count := to_lay(to_cut.work, to_cut.cut)) > 0
    ]
    boards = [board_of(row) for row in stock if row.left and is_lumber(row)]
    saw = sawing.works[0].piece.saw
    asked = CuttingRequest(strips=strips, rack=boards, saw=saw, time_limit_s=TIME_LIMIT_S)
    return resawn(asked)


def to_lay(work: SawWork, cut: Cut) -> int:
    """Segments that no sawn board has given yet; what broke is laid out again."""
    wanted = cut.wanted + cut.tally.broken
    return wanted - sawn_pieces(work).get(cut.row.id, 0)


def sawn_pieces(work: SawWork) -> Counter[str]:
    """Segments of each strip that come from boards already sawn up for this piece."""
    found = Counter[str]()
    for use in work.uses:
        for part in parts_of(use):
            if part.piece == work.piece_id:
                found[part.strip] += part.count
    return found


@dataclass(frozen=True, slots=True)
class SawnPart:
    """Segments of one strip of one piece that a sawn board gave."""

    piece: str
    strip: str
    count: int


def parts_of(use: Entry) -> list[SawnPart]:
    """What was cut from a board, out of a use's data; of the piece that it was written down for
    where no other is named."""
    listed = use.data.get("pieces")
    if not isinstance(listed, list):
        return []
    return [
        SawnPart(str(part.get("piece") or use.piece), str(part["strip"]), int(part["count"]))
        for part in listed
        if isinstance(part, Mapping) and isinstance(part.get("count"), int) and "strip" in part
    ]


def strip_of(to_cut: ToCut, name: str, count: int) -> Strip:
    """The plan's row as the layout takes it: staves as square blanks."""
    row, worked = to_cut.cut.row, to_cut.job.worked
    stave = worked.stave if worked and row.kind == "stave" else None
    return Strip(
        id=name,
        part=row.part,
        ring=row.ring,
        kind=row.kind,
        wood=row.wood,
        thickness_mm=row.thickness_mm,
        width_mm=row.width_mm,
        mitre_deg=0.0 if stave else row.mitre_deg,
        bevel_deg=0.0 if stave else row.bevel_deg,
        outer_edge_mm=stave.blank_length_mm if stave else row.outer_edge_mm,
        count=count,
    )


def is_lumber(row: Stock) -> bool:
    """Whether strips can be cut from it."""
    sizes = ("length_mm", "width_mm", "thickness_mm")
    return row.kind != "spare-ring" and all(row.document.get(size) for size in sizes)


def board_of(row: Stock) -> Board:
    """A rack row as the layout takes it."""
    given = {
        name: value
        for name, value in row.document.items()
        if name in _BOARD_FIELDS and value is not None
    }
    offcut = row.kind == "offcut" or bool(row.document.get("offcut"))
    return Board(**{**given, "id": row.id, "count": min(row.left, MOST_ALIKE), "offcut": offcut})


def offers_of(price_list: Iterable[Mapping[str, Any]]) -> tuple[Board, ...]:
    """The price list as boards of which there are plenty."""
    return tuple(
        Board(
            id=f"offer-{number}",
            wood=str(offer["wood"]),
            thickness_mm=float(offer["thickness_mm"]),
            width_mm=float(offer["width_mm"]),
            length_mm=float(offer["length_mm"]),
            price_per_board_foot=float(offer["price_per_board_foot"]),
            count=OFFERED,
        )
        for number, offer in enumerate(price_list, start=1)
    )


def key_of(request: CuttingRequest, offers: Sequence[Board] = ()) -> str:
    """The same question has the same key, and so the same answer."""
    text = request.model_dump_json() + "".join(offer.model_dump_json() for offer in offers)
    return hashlib.sha256(text.encode()).hexdigest()
