"""The journal: the ledger read aloud, of one piece or of all, searched, printed, taken along."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response

from server.craft.document import DocumentError
from server.craft.planned import Planned
from server.rooms.journal.book import GROUP_NAMES, Line, Page, found, lines_of, page_of
from server.rooms.journal.names import Names, names_of, rack_names
from server.rooms.journal.table import journal_csv
from server.rooms.journal.turns import too_early
from server.store import pieces, rack
from server.store.pieces import PieceRecord
from server.web.floors import drawn_of, floors_of, piece_of
from server.web.frame import Cell, frame, server_now
from server.web.kept import kept
from server.web.templates import is_exchange, render

router = APIRouter(include_in_schema=False)
_LONGEST_QUERY = 200


@dataclass(frozen=True, slots=True)
class JournalView:
    """The context of `journal/_book.html`; `here` is the page shown, without what is searched."""

    page: Page
    query: str
    group: str
    groups: tuple[tuple[str, str], ...]
    of_all: bool
    path: str
    here: str
    older: str
    newer: str
    whole: str
    csv: str
    other: str
    seq: int
    subjects: tuple[tuple[str, str], ...]


@router.get("/journal")
def whole_journal(
    request: Request, q: str = "", group: str = "", page: int = 1, whole: bool = False
) -> Response:
    """What happened to every piece; the `whole` of it on one page, to print."""
    return _show(request, None, q, group, None if whole else page)


@router.get("/pieces/{piece_id}/journal")
def piece_journal(
    request: Request,
    piece_id: str,
    q: str = "",
    group: str = "",
    page: int = 1,
    whole: bool = False,
) -> Response:
    """What happened to one piece; the `whole` of it on one page, to print."""
    return _show(request, piece_id, q, group, None if whole else page)


@router.get("/journal.csv")
def whole_table(request: Request, q: str = "", group: str = "") -> Response:
    """The journal of all pieces as a table."""
    _record, _names, lines = _read(request, None)
    return _table(found(lines, q[:_LONGEST_QUERY], group), "journal")


@router.get("/pieces/{piece_id}/journal.csv")
def piece_table(request: Request, piece_id: str, q: str = "", group: str = "") -> Response:
    """The journal of one piece as a table."""
    _record, _names, lines = _read(request, piece_id)
    return _table(found(lines, q[:_LONGEST_QUERY], group), "journal")


def _read(
    request: Request, piece_id: str | None
) -> tuple[PieceRecord | None, Sequence[Names], list[Line]]:
    zone = server_now(request).tzinfo
    assert zone is not None
    if piece_id is None:
        records = [*kept(request, pieces.list_pieces), *kept(request, pieces.list_pieces, True)]
    else:
        records = [piece_of(request, piece_id)]
    entries = floors_of(request).lines(piece_id)
    things = rack_names(kept(request, rack.whole_rack))
    spoken_of = {entry.piece for entry in entries} | ({piece_id} if piece_id else set())
    spoken = [record for record in records if record.id in spoken_of]
    names, early = [], dict[str, str]()
    for record in spoken:
        planned = _drawn(request, record)
        called = names_of(record.id, record.name, planned, things)
        names.append(called)
        early |= _early(request, record, planned, called) if planned else {}
    lines = lines_of(entries, {one.piece: one for one in names}, zone, early)
    return (records[0] if piece_id else None), names, lines


def _drawn(request: Request, record: PieceRecord) -> Planned | None:
    try:
        return drawn_of(request).planned(record)
    except DocumentError:
        return None


def _early(
    request: Request, record: PieceRecord, planned: Planned, called: Names
) -> dict[str, str]:
    now = server_now(request)
    floor = floors_of(request).floor(record.id, now)
    steps_in = partial(drawn_of(request).steps, record)
    return too_early(planned.piece, steps_in, floor, called, now)


def _show(
    request: Request, piece_id: str | None, query: str, group: str, number: int | None
) -> Response:
    query, group = query.strip()[:_LONGEST_QUERY], group if group in GROUP_NAMES else ""
    record, names, lines = _read(request, piece_id)
    shown = page_of(found(lines, query, group), number)
    context = {"journal": _view(request, shown, query, group, piece_id, names)}
    if is_exchange(request):
        return render(request, "journal/_book.html", context)
    cells = (Cell("Lines", str(len(lines))),)
    subtitle = None if record else "All pieces"
    head = frame(request, place="journal", piece=record, subtitle=subtitle, cells=cells)
    return render(request, "journal/page.html", {**context, "frame": head})


def _view(
    request: Request,
    shown: Page,
    query: str,
    group: str,
    piece_id: str | None,
    names: Sequence[Names],
) -> JournalView:
    path = request.url.path
    asked = {key: value for key, value in (("q", query), ("group", group)) if value}

    def address(base: str, **more: int) -> str:
        full = {**asked, **more}
        return f"{base}?{urlencode(full)}" if full else base

    place = {"whole": 1} if shown.number is None else {"page": shown.number}
    here = path if shown.number == 1 else f"{path}?{urlencode(place)}"
    seq = floors_of(request).last_seq()
    own = names[0] if piece_id and names else None
    subjects = [*own.others.items(), *own.rings.items()] if own else []
    return JournalView(
        page=shown,
        query=query,
        group=group,
        groups=tuple(GROUP_NAMES.items()),
        of_all=piece_id is None,
        path=path,
        here=here,
        older=address(path, page=shown.older) if shown.older else "",
        newer=address(path, page=shown.newer) if shown.newer else "",
        whole=address(path, whole=1) if shown.older or shown.newer else "",
        csv=address(f"{path}.csv"),
        other=address("/journal") if piece_id else "",
        seq=seq,
        subjects=tuple(subjects),
    )


def _table(lines: Sequence[Line], name: str) -> Response:
    return Response(
        journal_csv(lines),
        media_type="text/csv; charset=utf-8",
        headers={"content-disposition": f'attachment; filename="{name}.csv"'},
    )
