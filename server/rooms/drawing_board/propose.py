"""Proposing rings from the board: the form of wishes, what the rack has, the new ring list."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from server.craft.document import parse_piece
from server.craft.errors import CraftError
from server.craft.planned import work_out
from server.craft.rings.patterns import mixed, shortest
from server.craft.rings.propose import Form, Kept, Proposed, Wish, propose_rings
from server.craft.units import PLANED_MM
from server.rooms.drawing_board.edits import Document, new_id, part_of, sort_stacks
from server.web.fields import Fields

USUAL_BOARD_MM = 25.4


@dataclass(frozen=True, slots=True)
class Stock:
    """What the rack has of one wood: its thickest board and the widest of those, in mm."""

    wood: str
    thickness_mm: float
    width_mm: float


def stock_of(boards: Iterable[Mapping[str, Any]]) -> dict[str, Stock]:
    """The most useful board of every wood: the thickest, and of those the widest."""
    found: dict[str, Stock] = {}
    for board in boards:
        try:
            one = Stock(board["wood"], float(board["thickness_mm"]), float(board["width_mm"]))
        except (KeyError, TypeError, ValueError):
            continue
        best = found.get(one.wood)
        if best is None or (one.thickness_mm, one.width_mm) > (best.thickness_mm, best.width_mm):
            found[one.wood] = one
    return found


def thickest_ring_mm(document: Mapping[str, Any], stock: Stock | None) -> float:
    """The thickest finished ring that a board gives, planed and flattened."""
    board = stock.thickness_mm if stock else USUAL_BOARD_MM
    spent = _spent(document)
    return max(3.0, board - spent)


def _spent(document: Mapping[str, Any]) -> float:
    planed = document.get("saw", {}).get("plane_mm", 1.5)
    return float(planed + document.get("allowance", {}).get("flatten_mm", 0.0))


def propose(
    document: Document,
    part_id: str,
    fields: Fields,
    woods: tuple[str, ...],
    stock: dict[str, Stock],
) -> None:
    """Replace a part's rings by a proposal; the ticked ones stay. Raises CraftError."""
    part = part_of(document, part_id)
    wood = fields.choice("wood", woods)
    second = fields.choice("second", woods) if fields.has("second") else None
    wish = _wish(document, fields, stock.get(wood))
    if not fields.ok or wish is None:
        return
    kept = _kept(document, part_id, set(fields.all("keep")))
    work = next(p for p in work_out(parse_piece(document)).work.parts if p.id == part_id)
    form = Form(work.outside, work.inside, part.get("floor_mm"))
    proposed = propose_rings(form, wish, [one for _, one in kept])
    old = {ring["id"]: ring for ring in part.get("rings", ())}
    part["rings"] = [
        old[kept[ring.kept][0]] if ring.kept is not None else _ring(ring, wood) for ring in proposed
    ]
    for ring in part["rings"]:
        ring.setdefault("id", new_id(document, part_id))
    if fields.has("feature"):
        _feature(part["rings"], fields, wood, second)
    _stack_again(document, part)


def _wish(document: Document, fields: Fields, stock: Stock | None) -> Wish | None:
    thickest = fields.length("thickest", low=3)
    edge = fields.length("edge", low=5)
    segments = fields.whole("segments", low=3, high=360, required=False)
    allowance = document.get("allowance", {})
    if thickest is None or edge is None:
        return None
    return Wish(
        thickest_mm=thickest,
        widest_mm=stock.width_mm if stock and fields.flag("from_rack") else None,
        edge_mm=edge,
        segments=segments,
        spent_mm=_spent(document),
        kerf_mm=float(document.get("saw", {}).get("blade_kerf_mm", 2.4)),
        outside_mm=float(allowance.get("outside_mm", 0.0)),
        inside_mm=float(allowance.get("inside_mm", 0.0)),
        mark_mm=PLANED_MM[document.get("display_units", "mm")],
    )


def _kept(document: Document, part_id: str, keep: set[str]) -> list[tuple[str, Kept]]:
    part = part_of(document, part_id)
    at = min(point["z_mm"] for point in part["outside"]["points"])
    found = []
    for ring in part.get("rings", ()):
        top = at + ring["thickness_mm"]
        if ring["id"] in keep:
            found.append((ring["id"], Kept(at, top)))
        at = top
    return found


def _ring(proposed: Proposed, wood: str) -> Document:
    return {
        "thickness_mm": proposed.thickness_mm,
        "segments": proposed.segments,
        "phase": proposed.phase,
        "woods": [wood],
    }


def _feature(rings: list[Document], fields: Fields, wood: str, second: str | None) -> None:
    """The ring at a share of the height becomes the feature, two woods in turn."""
    share = fields.number("feature", low=0, high=100)
    if share is None or second is None:
        if second is None:
            fields.wrong("second", "A feature ring needs a second wood.")
        return
    total = sum(ring["thickness_mm"] for ring in rings)
    at = 0.0
    for ring in rings:
        at += ring["thickness_mm"]
        if at >= total * share / 100 - 1e-9:
            ring["woods"] = list(shortest(mixed(ring.get("segments", 12), wood, second, 0.5)))
            return


def _stack_again(document: Document, part: Document) -> None:
    """Every ring on a stack: those mounted at the rim take the upper half, the others the rest."""
    stacks = [s for s in document.get("stacks", ()) if s["part"] == part["id"]]
    names = [ring["id"] for ring in part["rings"]]
    if not stacks:
        document.setdefault("stacks", []).append(
            {"id": new_id(document, "s"), "part": part["id"], "rings": names}
        )
        return
    low = [s for s in stacks if s.get("mounted", "bottom") == "bottom"]
    high = [s for s in stacks if s.get("mounted", "bottom") == "top"]
    cut = len(names) // 2 if low and high else (len(names) if low else 0)
    for stack in stacks:
        stack["rings"] = []
    if low:
        low[0]["rings"] = names[:cut]
    if high:
        high[0]["rings"] = names[cut:]
    sort_stacks(document)


def refuse_unringed(part: Mapping[str, Any]) -> None:
    """Only a part of rings can have rings proposed."""
    if part["kind"] != "ringed":
        raise CraftError("This part is turned from one piece; it has no rings.")
