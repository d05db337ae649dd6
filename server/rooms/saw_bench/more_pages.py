"""Beside the rings: sled and stop, and labels to print."""

from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response

from server.rooms.saw_bench.at_work import CARE, AtWork, address_of, at_work
from server.rooms.saw_bench.sled import HOWS, history, wanted_sizes, worked_out
from server.rooms.saw_bench.work import Job
from server.web.fields import Fields, FormText
from server.web.frame import frame
from server.web.templates import render

router = APIRouter(include_in_schema=False)


@router.get("/pieces/{piece_id}/saw-bench/sled")
def sled(request: Request, piece_id: str, ring: str | None = None) -> Response:
    """The forms, for the test ring that was chosen."""
    return _sled(request, at_work(request, piece_id), ring, None, (), 200)


@router.post("/pieces/{piece_id}/saw-bench/sled")
def work_out_sled(request: Request, piece_id: str, form: FormText) -> Response:
    """What the measured ring says; nothing is kept before it is written down."""
    bench = at_work(request, piece_id)
    fields = Fields(form, bench.work.piece.display_units)
    how = fields.choice("how", HOWS)
    ring = fields.text("ring")
    job = _test_ring(bench, ring)
    if job is None:
        raise HTTPException(409, "This piece has no ring of segments to test the saw with.")
    answers = worked_out(job, job.cuts[0], how, fields) if fields.ok else ()
    return _sled(request, bench, job.id, fields, answers, 200 if fields.ok else 422)


@router.get("/pieces/{piece_id}/saw-bench/labels")
def labels(request: Request, piece_id: str) -> Response:
    """A label for every strip, and for every rest that came back, to print."""
    bench = at_work(request, piece_id)
    title = f"{bench.record.name}, labels"
    rests = [
        row
        for row in bench.stock
        if row.left and row.came_from is not None and row.came_from.piece == piece_id
    ]
    context = {
        "jobs": bench.work.jobs,
        "rests": rests,
        "woods": bench.work.planned.woods,
        "units": bench.work.piece.display_units,
        "name": bench.record.name,
        "address": address_of(piece_id),
        "frame": frame(request, place="saw-bench", piece=bench.record, subtitle=title),
    }
    return render(request, "saw_bench/labels.html", context)


def _test_ring(bench: AtWork, ring: str | None) -> Job | None:
    """The ring that was named, else the first one of segments."""
    able = [job for job in bench.work.jobs if job.worked and job.worked.flat]
    return next((job for job in able if job.id == ring), able[0] if able else None)


def _sled(
    request: Request,
    bench: AtWork,
    ring: str | None,
    fields: Fields | None,
    answers: tuple[Any, ...],
    status: int,
) -> Response:
    job = _test_ring(bench, ring)
    title = f"{bench.record.name}, sled and stop"
    context = {
        "job": job,
        "cut": job.cuts[0] if job else None,
        "rings": [one for one in bench.work.jobs if one.worked and one.worked.flat],
        "sizes": wanted_sizes(job, job.cuts[0]) if job else (),
        "form": fields,
        "answers": answers,
        "history": history(bench.work),
        "units": bench.work.piece.display_units,
        "unit": "″" if bench.work.piece.display_units == "in" else "mm",
        "address": address_of(bench.work.piece_id),
        "care": CARE,
        "seq": bench.seq,
        "frame": frame(request, place="saw-bench", piece=bench.record, subtitle=title),
    }
    return render(request, "saw_bench/sled.html", context, status)
