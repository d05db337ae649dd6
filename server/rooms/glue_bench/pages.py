"""The glue bench: read, fold, show. What is ticked goes through the ledger's own door."""

from datetime import datetime
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse

from server.rooms.glue_bench.bench import Bench
from server.rooms.glue_bench.sheets import Sheets
from server.rooms.glue_bench.view import view
from server.store import pieces
from server.web.floors import floors_of, off_of, piece_of, planned_of
from server.web.frame import Cell, frame, server_now
from server.web.state import hub_of, store_of
from server.web.templates import is_exchange, render

router = APIRouter(include_in_schema=False)
_SHEETS = Sheets()


@router.get("/glue-bench")
def last_worked_on(request: Request) -> Response:
    """To the bench of the piece that the ledger names last, or else that was drawn last."""
    newest = floors_of(request).worked_on_last()
    return RedirectResponse(f"/pieces/{newest}/glue-bench" if newest else "/pieces", 303)


@router.get("/pieces/{piece_id}/glue-bench")
async def glue_bench(request: Request, piece_id: str) -> Response:
    """The bench as it is now; only its sheet when the page itself asks again.

    Not a plain function like the others: every tick brings all devices here at once, and a sheet
    that is drawn already is answered without a thread.
    """
    if is_exchange(request):
        return HTMLResponse(await _kept_sheet(request, piece_id))
    return await run_in_threadpool(_page, request, piece_id)


def _page(request: Request, piece_id: str) -> Response:
    record = piece_of(request, piece_id)
    bench, context = _bench(request, record, server_now(request))
    on = sum(len(stack.on) for stack in bench.floor.stacks.values())
    cells = (Cell("Rings on", f"{on} of {len(bench.labels)}"),)
    page = frame(request, place="glue-bench", piece=record, cells=cells)
    return render(request, "glue_bench/page.html", {**context, "frame": page})


async def _kept_sheet(request: Request, piece_id: str) -> bytes:
    """The sheet as it is after what was saved last, in this second, drawn once for all who ask.

    Nothing is read from the disk for the others.
    """
    now = server_now(request)
    key = (piece_id, hub_of(request).seq, store_of(request).commits, int(now.timestamp()))

    def draw() -> bytes:
        _, context = _bench(request, piece_of(request, piece_id), now)
        return bytes(render(request, "glue_bench/_bench.html", context).body)

    return await _SHEETS.get(key, draw)


def _bench(
    request: Request, record: pieces.PieceRecord, now: datetime
) -> tuple[Bench, dict[str, Any]]:
    planned = planned_of(request, record)
    floor, seq = floors_of(request).look(record.id, now)
    bench = Bench(record.id, planned, floor, now, off_of(request))
    return bench, {"bench": view(bench, seq), "address": f"/pieces/{record.id}/glue-bench"}
