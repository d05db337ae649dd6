"""What is asked of the layout: with which other pieces, which boards resawn, and what was
bought for it."""

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response

from server.craft.saw.request import MOST_LEAVES
from server.rooms.saw_bench.at_work import address_of
from server.store import pieces, prices, rack, together
from server.web.fields import Fields, FormText
from server.web.replies import go_to
from server.web.state import device_of, now_of, store_of
from server.web.stock import must_find, save_thing, things_of

router = APIRouter(include_in_schema=False)
MOST_OFFERS, MOST_BOUGHT = 1_000, 1_000
MOST_TOGETHER = 12
"""More pieces at once than this are more than one day at the saw."""


@router.post("/pieces/{piece_id}/saw-bench/together")
def saw_together(request: Request, piece_id: str, form: FormText) -> Response:
    """Lay this piece out with one more, or without one that was laid out with it."""
    other = Fields(form).text("other")
    with store_of(request).write() as session:
        listed = together.sawn_together(session)
        group = listed if piece_id in listed else [piece_id]
        if other in group:
            group = [one for one in group if one != other]
        elif pieces.get_piece(session, other) and len(group) < MOST_TOGETHER:
            group = [*group, other]
        listed = group if len(group) > 1 else []
        together.saw_together(session, listed, now_of(request), device_of(request))
    return go_to(request, f"{address_of(piece_id)}/boards")


@router.post("/pieces/{piece_id}/saw-bench/resaw")
def ask_to_resaw(request: Request, piece_id: str, form: FormText) -> Response:
    """Offer a board of the rack to every layout in leaves, or whole again."""
    fields = Fields(form)
    leaves = fields.whole("leaves", low=1, high=MOST_LEAVES)
    thing = must_find(things_of(request), fields.text("board"))
    if leaves is None:
        raise HTTPException(422, next(iter(fields.errors.values())))
    document = {**thing.document, "leaves": leaves}
    with store_of(request).write() as session:
        save_thing(session, thing, document, None, now_of(request), device_of(request))
    return go_to(request, f"{address_of(piece_id)}/boards")


@router.post("/pieces/{piece_id}/saw-bench/bought")
def bought(request: Request, piece_id: str, form: FormText) -> Response:
    """What the price list offers lies on the rack now."""
    fields = Fields(form)
    place = fields.whole("offer", low=1, high=MOST_OFFERS)
    count = fields.whole("count", low=1, high=MOST_BOUGHT)
    wood = fields.text("wood")
    with store_of(request).write() as session:
        offers = prices.price_list(session)
        if place is None or count is None or place > len(offers):
            raise HTTPException(422, "There is no such line on the price list.")
        offer = offers[place - 1]
        if offer.get("wood") != wood:
            raise HTTPException(409, "The price list has changed. Look at the boards again.")
        rack.create_item(session, _board(offer, count), now_of(request), device_of(request))
    return go_to(request, f"{address_of(piece_id)}/boards")


def _board(offer: Mapping[str, Any], count: int) -> dict[str, Any]:
    sizes = ("wood", "thickness_mm", "width_mm", "length_mm", "price_per_board_foot")
    dealer = str(offer.get("dealer") or "")
    name = f"Bought of {dealer}" if dealer else "Bought"
    return {**{size: offer[size] for size in sizes}, "kind": "board", "name": name, "count": count}
