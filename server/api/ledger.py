"""The ledger over the API: write a line, read on, listen."""

from typing import Annotated, Any

from fastapi import APIRouter, Header, Query, Request
from fastapi.responses import StreamingResponse

from server.api.entries import EntryIn, draft_of
from server.api.replies import refusals
from server.live.entries import entry_json
from server.live.stream import events
from server.store import ledger
from server.web.state import device_of, hub_of, now_of, settings_of, store_of

router = APIRouter(prefix="/api", tags=["ledger"])

Seq = Annotated[int, Query(ge=0, le=2**53)]


@router.post("/ledger", responses=refusals(409))
def append(request: Request, sent: EntryIn) -> dict[str, Any]:
    """Write one line. The reply comes once it is on disk; the same line again is the same reply."""
    draft = draft_of(sent, device_of(request))
    with store_of(request).write() as session:
        entry, new = ledger.append(session, draft, now_of(request))
    if new:
        hub_of(request).publish(entry.seq)
    return entry_json(entry)


@router.get("/ledger", responses=refusals())
def read_on(
    request: Request,
    after: Seq = 0,
    piece: str | None = None,
    limit: Annotated[int | None, Query(ge=1, le=100_000)] = None,
) -> dict[str, Any]:
    """The lines after a number, in order; of one piece or of all."""
    with store_of(request).read() as session:
        entries = ledger.entries_after(session, after, piece, limit)
    return {"items": [entry_json(entry) for entry in entries]}


@router.get("/live", response_class=StreamingResponse, responses=refusals())
def live(
    request: Request,
    last_event_id: Annotated[str | None, Header()] = None,
    after: Annotated[int | None, Query(ge=0, le=2**53)] = None,
) -> StreamingResponse:
    """Server-sent events of what is written from now on, or since Last-Event-ID."""
    known = last_event_id.strip() if last_event_id else ""
    since = int(known) if known.isascii() and known.isdigit() and len(known) < 16 else after
    stream = events(store_of(request), hub_of(request), since, settings_of(request).ping_seconds)
    return StreamingResponse(
        stream, media_type="text/event-stream", headers={"cache-control": "no-store"}
    )
