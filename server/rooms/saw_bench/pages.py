"""The saw bench: read, work out, show. What is ticked goes through the ledger's own door."""

from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import RedirectResponse

from server.rooms.saw_bench import asking_pages, more_pages
from server.rooms.saw_bench.at_work import CARE, CARE_AT_BOARDS, AtWork, address_of, at_work
from server.rooms.saw_bench.layout_view import LayoutView, ask_layout, layout_view
from server.rooms.saw_bench.solver import desk_of
from server.rooms.saw_bench.spares import fitting, taken
from server.rooms.saw_bench.view import place_of, ring_view, steps
from server.rooms.saw_bench.work import Cut, Job
from server.store import pieces
from server.web.floors import floors_of
from server.web.frame import Cell, frame
from server.web.kept import kept
from server.web.templates import is_exchange, render

MOST_OFFERED = 24

router = APIRouter(include_in_schema=False)
router.include_router(more_pages.router)
router.include_router(asking_pages.router)


@router.get("/saw-bench")
def last_worked_on(request: Request) -> Response:
    """To the bench of the piece that the ledger names last, or else that was drawn last."""
    newest = floors_of(request).worked_on_last()
    return RedirectResponse(address_of(newest) if newest else "/pieces", 303)


@router.get("/pieces/{piece_id}/saw-bench")
def saw_bench(
    request: Request, piece_id: str, ring: str | None = None, strip: str | None = None
) -> Response:
    """One ring at the saw; only its sheet when the page itself asks again."""
    bench = at_work(request, piece_id)
    work, address = bench.work, address_of(piece_id)
    job = work.job(ring)
    cut = job.cut(strip) if job else None
    context: dict[str, Any] = {
        "ring": ring_view(work, job, cut, address) if job and cut else None,
        "spare": fitting(job, bench.stock) if job else None,
        "spare_taken": taken(work, job, bench.stock) if job else None,
        "steps": steps(work, job, address),
        "unmade": work.unmade,
        "care": CARE,
        "seq": bench.seq,
        "here": place_of(job, cut, address) if job else address,
        **_band(request, bench, job, cut, wait_s=0.05),
    }
    if is_exchange(request):
        return render(request, "saw_bench/_bench.html", context)
    done = sum(one.done for one in work.jobs)
    cells = (Cell("Sawn", f"{done} of {len(work.jobs)}"),)
    name = bench.record.name
    title = f"{name}, {job.title}" if job else name
    page = frame(request, place="saw-bench", piece=bench.record, cells=cells, subtitle=title)
    return render(request, "saw_bench/page.html", {**context, "frame": page})


@router.get("/pieces/{piece_id}/saw-bench/band")
def band(
    request: Request, piece_id: str, ring: str | None = None, strip: str | None = None
) -> Response:
    """The boards of one ring, asked for again while their layout is worked on."""
    bench = at_work(request, piece_id)
    job = bench.work.job(ring)
    cut = job.cut(strip) if job else None
    context = _band(request, bench, job, cut, wait_s=0.35)
    return render(request, "saw_bench/_band.html", context)


@router.get("/pieces/{piece_id}/saw-bench/boards")
def boards(request: Request, piece_id: str) -> Response:
    """The whole layout, board by board."""
    bench = at_work(request, piece_id)
    context = {**_layout(request, bench, 0.3), **_together(request, bench)}
    if is_exchange(request):
        return render(request, "saw_bench/_boards.html", context)
    title = f"{bench.record.name}, boards and cost"
    page = frame(request, place="saw-bench", piece=bench.record, subtitle=title)
    return render(request, "saw_bench/boards.html", {**context, "frame": page})


@router.post("/pieces/{piece_id}/saw-bench/boards/{act}")
def change_layout(request: Request, piece_id: str, act: str) -> Response:
    """End the search with the best so far, or work the layout out anew."""
    if act not in ("cancel", "again"):
        raise HTTPException(404, "There is no such thing to do with the boards.")
    desk, name = desk_of(request), at_work(request, piece_id).sawing.name
    if act == "cancel":
        desk.cancel(name)
    else:
        desk.again(name)
    if is_exchange(request):
        return boards(request, piece_id)
    return RedirectResponse(f"{address_of(piece_id)}/boards", 303)


def _together(request: Request, bench: AtWork) -> dict[str, Any]:
    """Which pieces share the layout, and which others could."""
    found = kept(request, pieces.list_pieces)
    sawn_with = {work.piece_id for work in bench.sawing.works}
    others = [(one.id, one.name, one.id in sawn_with) for one in found if one.id != bench.record.id]
    return {
        "units": bench.sawing.units,
        "sawing": bench.sawing,
        "others": sorted(others, key=lambda other: not other[2])[:MOST_OFFERED],
    }


def _band(
    request: Request, bench: AtWork, job: Job | None, cut: Cut | None, wait_s: float
) -> dict[str, Any]:
    strip = bench.sawing.key(bench.work, cut) if cut else ""
    lit = frozenset({strip} if cut else ())
    address = address_of(bench.work.piece_id)
    here = place_of(job, cut, "") if job else ""
    saw = bench.sawing.works[0].piece.saw
    return {
        "layout": _view(request, bench, wait_s, lit),
        "band_href": f"{address}/band{here}",
        "address": address,
        "strip_id": strip,
        "flip": saw.flip and cut is not None and cut.row.mitre_deg > 0,
        "kerf": saw.blade_kerf_mm,
    }


def _layout(request: Request, bench: AtWork, wait_s: float) -> dict[str, Any]:
    return {
        "layout": _view(request, bench, wait_s, None),
        "address": address_of(bench.work.piece_id),
        "seq": bench.seq,
        "care": CARE_AT_BOARDS,
    }


def _view(request: Request, bench: AtWork, wait_s: float, lit: frozenset[str] | None) -> LayoutView:
    desk = desk_of(request)
    solving = ask_layout(bench.sawing, bench.stock, bench.offers, desk, wait_s)
    return layout_view(bench.sawing, bench.stock, solving, desk.clock(), bench.offers, lit)
