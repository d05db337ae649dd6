"""What was used of the rack, through the ledger: written, shown, taken back."""

import uuid
from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request, Response

from server.craft.ledger import EntryDraft, Kind
from server.rooms.lumber_rack.rack import ADDRESS, rack_of
from server.store import ledger, pieces
from server.web.fields import Fields, FormText
from server.web.floors import floors_of
from server.web.frame import server_now
from server.web.replies import go_to
from server.web.state import device_of, hub_of, now_of, store_of
from server.web.stock import must_find, uses_of

router = APIRouter()


@dataclass(frozen=True, slots=True)
class UseView:
    """One use of a thing: for which piece, when, and the entry that is undone to take it back."""

    entry: str
    piece: str
    piece_id: str
    words: str


def uses_view(request: Request, item_id: str) -> tuple[UseView, ...]:
    """Uses of one thing that were not undone, newest first."""
    now = server_now(request)
    uses = [use for use in uses_of(request) if use.subject == item_id]
    with store_of(request).read() as session:
        names = {use.piece: pieces.get_piece(session, use.piece) for use in uses}
    found = []
    for use in reversed(uses):
        record = names[use.piece]
        when = use.at.astimezone(now.tzinfo)
        count = use.data.get("count", 1)
        words = f"{count} on {when:%d %b, %H:%M}"
        found.append(UseView(use.id, record.name if record else use.piece, use.piece, words))
    return tuple(found)


@router.post(ADDRESS + "/items/{item_id}/use")
def use(request: Request, item_id: str, form: FormText) -> Response:
    """Write down that some of a thing were used for a piece."""
    fields = Fields(form)
    row = must_find(rack_of(request).things, item_id)
    count = fields.whole("use_count", low=1, high=max(row.left, 1))
    piece = fields.text("piece")
    if not fields.ok or count is None or row.left < 1:
        words = next(iter(fields.errors.values()), "There is none left of it.")
        raise HTTPException(422, f"{words} There are {row.left} on the rack.")
    _write(request, piece, Kind.USED, item_id, {"count": count})
    return go_to(request, f"{ADDRESS}/items/{item_id}")


@router.post(ADDRESS + "/uses/{entry_id}/undo")
def undo(request: Request, entry_id: str, form: FormText) -> Response:
    """Take a use back: the thing is on the rack again, its rests are gone."""
    found = next((use for use in uses_of(request) if use.id == entry_id), None)
    if found is None:
        raise HTTPException(404, "There is no such use, or it was undone already.")
    _write(request, found.piece, Kind.UNDONE, found.subject, {}, undoes=found.id)
    back = Fields(form).text("back", required=False)
    return go_to(request, f"{ADDRESS}/items/{back}" if back else ADDRESS)


def _write(
    request: Request,
    piece: str,
    kind: Kind,
    subject: str,
    data: dict[str, int],
    undoes: str | None = None,
) -> None:
    now = now_of(request)
    draft = EntryDraft(
        id=str(uuid.uuid4()),
        piece=piece,
        kind=kind,
        subject=subject,
        at=now,
        device=device_of(request),
        undoes=undoes,
        seen_seq=floors_of(request).look(piece, now)[1],
        data=data,
    )
    with store_of(request).write() as session:
        entry, new = ledger.append(session, draft, now)
    if new:
        hub_of(request).publish(entry.seq)
