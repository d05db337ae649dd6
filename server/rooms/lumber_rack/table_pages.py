"""The rack as a table: out, and in again, looked at first and then all of it or nothing."""

from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, File, Request, Response, UploadFile
from sqlmodel import Session

from server.rooms.lumber_rack.item import kept_as
from server.rooms.lumber_rack.rack import ADDRESS, Rack, rack_of, show
from server.rooms.lumber_rack.table import COLUMNS, TableRow, read, reread, written
from server.store import rack
from server.web.bodies import LARGEST_FILE, LARGEST_FILE_BODY
from server.web.fields import Fields, FormText
from server.web.replies import go_to
from server.web.state import device_of, now_of, store_of
from server.web.stock import Thing, put_back, save_thing

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Change:
    """What a row of the table would do: new, changed, same, or wrong."""

    row: TableRow
    what: str
    words: str


@router.get(f"{ADDRESS}/rack.csv")
def table_out(request: Request) -> Response:
    """Everything on the rack as a table."""
    headers = {
        "content-disposition": 'attachment; filename="rack.csv"',
        "content-type": "text/csv; charset=utf-8",
        "cache-control": "no-store",
    }
    return Response(written(rack_of(request).stock).encode(), headers=headers)


@router.get(f"{ADDRESS}/table")
def table_form(request: Request) -> Response:
    """Where a table is put in."""
    return show(request, rack_of(request), "table", _context("", [], ""))


@router.post(f"{ADDRESS}/table", max_body_size=LARGEST_FILE_BODY)
def look_at(request: Request, table: Annotated[UploadFile, File()]) -> Response:
    """What a table would do; nothing is kept."""
    now = rack_of(request)
    try:
        text = table.file.read(LARGEST_FILE).decode("utf-8-sig")
    except UnicodeDecodeError:
        context = _context("", [], "This is no text in UTF-8. Save the table as CSV, UTF-8.")
        return show(request, now, "table", context, status=422)
    return _preview(request, now, text)


@router.post(f"{ADDRESS}/table/keep")
def keep(request: Request, form: FormText) -> Response:
    """All rows at once, or none where one is wrong."""
    now = rack_of(request)
    text = Fields(form).typed.get("text", "")
    rows, wrong = read(text, now.woods)
    changes = _changes(now, rows)
    if wrong or not rows or any(change.what == "wrong" for change in changes):
        return _preview(request, now, text)
    with store_of(request).write() as session:
        for change in changes:
            _keep(request, session, now, change)
    return go_to(request, ADDRESS)


def _preview(request: Request, now: Rack, text: str) -> Response:
    rows, wrong = read(text, now.woods)
    changes = _changes(now, rows)
    bad = bool(wrong) or not rows or any(change.what == "wrong" for change in changes)
    context = _context(text, changes, wrong or ("" if rows else "There is no row in this table."))
    return show(request, now, "table", context, status=422 if bad else 200)


def _context(text: str, changes: list[Change], wrong: str) -> dict[str, Any]:
    ready = bool(changes) and not wrong and all(change.what != "wrong" for change in changes)
    return {"text": text, "changes": changes, "wrong": wrong, "ready": ready, "columns": COLUMNS}


def _changes(now: Rack, rows: list[TableRow]) -> list[Change]:
    return [_change(now, row, now.things.get(row.id)) for row in rows]


def _change(now: Rack, row: TableRow, thing: Thing | None) -> Change:
    if row.errors:
        return Change(row, "wrong", "; ".join(f"{k}: {v}" for k, v in row.errors.items()))
    if thing is None:
        return Change(row, "new", "is put on the rack")
    if thing.stock is None:
        return Change(row, "changed", "is put back on the rack")
    same = row.document == reread(thing.stock, now.woods)
    return Change(row, "same", "is there already") if same else Change(row, "changed", "is changed")


def _keep(request: Request, session: Session, now: Rack, change: Change) -> None:
    row, moment, device = change.row, now_of(request), device_of(request)
    if change.what == "same":
        return
    if change.what == "new":
        document = {**row.document, **({"id": row.id} if row.id else {})}
        rack.create_item(session, document, moment, device)
        return
    thing = now.things[row.id]
    if thing.archived:
        put_back(session, thing)
    save_thing(session, thing, _document(row, thing), None, moment, device)


def _document(row: TableRow, thing: Thing) -> dict[str, Any]:
    """The row as it would be kept: the table counts what is left, the rack what was put there."""
    count = int(row.document.get("count", 0)) + thing.used
    return {**kept_as(row.document, thing.document), "count": count, "id": row.id}
