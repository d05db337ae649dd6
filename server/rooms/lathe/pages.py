"""The lathe: read, fold, show. What is ticked goes through the ledger's own door."""

from collections.abc import Callable
from functools import partial

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import RedirectResponse

from server.craft.document import DocumentError
from server.craft.lathe.steps import LatheShop, Step
from server.craft.lathe.steps_gates import Gate
from server.exports.templates.pdf import stem_pdf
from server.exports.typeset.paper import paper_for
from server.rooms.lathe.bench import LatheBench, jaws_of
from server.rooms.lathe.stems import as_long_as, stem_of
from server.rooms.lathe.view import view
from server.rooms.lathe.words import short_hold
from server.store import pieces, shop
from server.web.floors import drawn_of, floors_of, piece_of, planned_of
from server.web.frame import Cell, frame, server_now
from server.web.kept import kept
from server.web.templates import is_exchange, render

router = APIRouter(include_in_schema=False)


@router.get("/lathe")
def last_worked_on(request: Request) -> Response:
    """To the lathe of the piece that the ledger names last, or else that was drawn last."""
    newest = floors_of(request).worked_on_last()
    return RedirectResponse(f"/pieces/{newest}/lathe" if newest else "/pieces", 303)


@router.get("/pieces/{piece_id}/lathe/stem.pdf")
def stem(request: Request, piece_id: str, part: str) -> Response:
    """A spindle's full outline to print, as long as its measured neighbours leave room for."""
    now = server_now(request)
    record = piece_of(request, piece_id)
    floor = floors_of(request).floor(piece_id, now)
    bench = LatheBench(
        piece_id, planned_of(request, record), _steps_in(request, record), floor, now
    )
    worked = bench.planned.work.by_part.get(part)
    if worked is None or worked.part.kind != "spindle":
        raise HTTPException(404, "There is no such stem.")
    length = stem_of(bench, worked).visible_mm
    if length <= 0:
        raise HTTPException(409, "Its neighbours are as high as the whole: no stem is left.")
    try:
        drawn = as_long_as(record.document, part, length)
    except DocumentError as error:
        raise HTTPException(409, f"A stem of that length cannot be drawn: {error}") from error
    content = stem_pdf(drawn, part, paper_for(bench.piece.display_units), now)
    headers = {"content-disposition": 'inline; filename="stem.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


def _steps_in(
    request: Request, record: pieces.PieceRecord
) -> Callable[[LatheShop], tuple[Step, ...]]:
    return partial(drawn_of(request).steps, record)


@router.get("/pieces/{piece_id}/lathe")
def lathe(request: Request, piece_id: str, step: str = "", was: str = "") -> Response:
    """The step that is next, or the one asked for; only its sheet when the page asks again.

    `was` is how the step stood on the page that asks: one that has been done since gives way to
    the next.
    """
    now = server_now(request)
    record = piece_of(request, piece_id)
    jaws = jaws_of(kept(request, shop.shop_document))
    planned = planned_of(request, record)
    steps_in = _steps_in(request, record)
    floor, seq = floors_of(request).look(piece_id, now)
    bench = LatheBench(piece_id, planned, steps_in, floor, now, jaws, step)
    shown = bench.current
    if was == Gate.OPEN and shown is not None and shown.gate is Gate.DONE:
        step = ""
        bench = LatheBench(piece_id, planned, steps_in, floor, now, jaws, step)
    context = {"lathe": view(bench, seq), "address": request.url.path, "asked": step}
    if is_exchange(request):
        return render(request, "lathe/_bench.html", context)
    done = sum(state.gate is Gate.DONE for state in bench.states)
    hold = bench.current.step.hold if bench.current else None
    cells = (Cell("Hold", short_hold(hold)), Cell("Steps", f"{done} of {len(bench.states)}"))
    page = frame(request, place="lathe", piece=record, cells=cells)
    return render(request, "lathe/page.html", {**context, "frame": page})
