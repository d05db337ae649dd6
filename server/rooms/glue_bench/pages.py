"""The glue bench: read, fold, show. What is ticked goes through the ledger's own door."""

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import RedirectResponse

from server.craft.document import DocumentError, parse_piece
from server.rooms.glue_bench.bench import Bench
from server.rooms.glue_bench.view import view
from server.store import pieces
from server.web.floors import floors_of, off_of
from server.web.frame import Cell, frame, server_now
from server.web.state import store_of
from server.web.templates import is_exchange, render

router = APIRouter(include_in_schema=False)


@router.get("/glue-bench")
def last_worked_on(request: Request) -> Response:
    """To the bench of the piece that the ledger names last, or else that was drawn last."""
    newest = floors_of(request).last_piece()
    with store_of(request).read() as session:
        kept = pieces.list_pieces(session)
    known = {record.id for record in kept}
    if newest not in known:
        newest = kept[0].id if kept else None
    return RedirectResponse(f"/pieces/{newest}/glue-bench" if newest else "/pieces", 303)


@router.get("/pieces/{piece_id}/glue-bench")
def glue_bench(request: Request, piece_id: str) -> Response:
    """The bench as it is now; only its sheet when the page itself asks again."""
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
    bench = Bench(piece_id, piece, floor, now, off_of(request))
    context = {"bench": view(bench, seq), "address": request.url.path}
    if is_exchange(request):
        return render(request, "glue_bench/_bench.html", context)
    on = sum(len(stack.on) for stack in floor.stacks.values())
    cells = (Cell("Rings on", f"{on} of {len(bench.labels)}"),)
    page = frame(request, place="glue-bench", piece=record, cells=cells)
    return render(request, "glue_bench/page.html", {**context, "frame": page})
