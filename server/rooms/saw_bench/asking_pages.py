"""What is asked of the layout: with which other pieces, and which boards resawn."""

from fastapi import APIRouter, HTTPException, Request, Response

from server.craft.saw.request import MOST_LEAVES
from server.rooms.saw_bench.at_work import address_of
from server.store import pieces, together
from server.web.fields import Fields, FormText
from server.web.replies import go_to
from server.web.state import device_of, now_of, store_of
from server.web.stock import must_find, save_thing, things_of

router = APIRouter(include_in_schema=False)
MOST_TOGETHER = 12
"""More pieces at once than this are more than one day at the saw."""


@router.post("/pieces/{piece_id}/saw-bench/together")
def saw_together(request: Request, piece_id: str, form: FormText) -> Response:
    """Lay this piece out with others, or alone again where none is named."""
    with store_of(request).read() as session:
        kept = [record.id for record in pieces.list_pieces(session)]
    chosen = set(Fields(form).all("with"))
    others = [one for one in kept if one in chosen and one != piece_id][: MOST_TOGETHER - 1]
    with store_of(request).write() as session:
        listed = [piece_id, *others] if others else []
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
