"""The saw bench: read, work out, show. What is ticked goes through the ledger's own door."""

from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import RedirectResponse

from server.craft.document import DocumentError, parse_piece
from server.rooms.saw_bench.view import place_of, ring_view, steps
from server.rooms.saw_bench.work import SawWork
from server.store import pieces
from server.store.pieces import PieceRecord
from server.web.floors import floors_of
from server.web.frame import Cell, frame, server_now
from server.web.state import store_of
from server.web.templates import is_exchange, render

router = APIRouter(include_in_schema=False)

CARE = (
    "Strip held down on the sled, hand off the line of the blade",
    "Stop swung clear before the cut: nothing caught between stop and blade",
    "The last piece stays in the strip",
)


@router.get("/saw-bench")
def last_worked_on(request: Request) -> Response:
    """To the bench of the piece that the ledger names last, or else that was drawn last."""
    newest = floors_of(request).last_piece()
    with store_of(request).read() as session:
        kept = pieces.list_pieces(session)
    if newest not in {record.id for record in kept}:
        newest = kept[0].id if kept else None
    return RedirectResponse(address_of(newest) if newest else "/pieces", 303)


@router.get("/pieces/{piece_id}/saw-bench")
def saw_bench(
    request: Request, piece_id: str, ring: str | None = None, strip: str | None = None
) -> Response:
    """One ring at the saw; only its sheet when the page itself asks again."""
    record, work, seq = at_work(request, piece_id)
    address = address_of(piece_id)
    job = work.job(ring)
    cut = job.cut(strip) if job else None
    context: dict[str, Any] = {
        "ring": ring_view(work, job, cut, address) if job and cut else None,
        "steps": steps(work, job, address),
        "unmade": work.unmade,
        "care": CARE,
        "seq": seq,
        "address": address,
        "here": place_of(job, cut, address) if job else address,
    }
    if is_exchange(request):
        return render(request, "saw_bench/_bench.html", context)
    done = sum(one.done for one in work.jobs)
    cells = (Cell("Sawn", f"{done} of {len(work.jobs)}"),)
    title = f"{record.name}, {job.title}" if job else record.name
    page = frame(request, place="saw-bench", piece=record, cells=cells, subtitle=title)
    return render(request, "saw_bench/page.html", {**context, "frame": page})


def address_of(piece_id: str) -> str:
    """The address of a piece's saw bench."""
    return f"/pieces/{piece_id}/saw-bench"


def at_work(request: Request, piece_id: str) -> tuple[PieceRecord, SawWork, int]:
    """A piece at the saw, and the newest line of the ledger in it."""
    now = server_now(request)
    with store_of(request).read() as session:
        record = pieces.get_piece(session, piece_id)
    if record is None:
        raise HTTPException(404, "There is no such piece.")
    try:
        piece = parse_piece(record.document)
    except DocumentError as error:
        raise HTTPException(409, f"This drawing cannot be read: {error}") from error
    floor, seq = floors_of(request).look(piece_id, now)
    return record, SawWork(piece_id, piece, floor, now), seq
