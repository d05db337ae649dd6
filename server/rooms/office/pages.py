"""The office: the shop's equipment and defaults, devices, copies, how this device shows pages."""

from typing import Any

from fastapi import APIRouter, Request, Response

from server.rooms.office.forms import read_shop
from server.rooms.office.views import ShopView, about, copies, shop_view, warning
from server.store import shop
from server.store.backup import BackupFailed, list_backups
from server.store.shelf import RevisionConflict
from server.web.fields import Fields, FormText
from server.web.frame import frame
from server.web.kept import kept
from server.web.replies import go_to
from server.web.state import device_of, keeper_of, now_of, pairing_of, settings_of, store_of
from server.web.templates import render

router = APIRouter()


@router.get("/office")
def office(request: Request, saved: bool = False) -> Response:
    """Everything about the shop that belongs to no piece."""
    document, revision = _kept(request)
    return _page(request, shop_view(document, revision, saved=saved))


@router.post("/office/shop")
def save_shop(request: Request, form: FormText) -> Response:
    """Keep the shop's equipment and defaults; wrong fields keep what was typed."""
    document, _ = _kept(request)
    fields = Fields(form, document.get("display_units", "mm"))
    wanted = read_shop(fields, document)
    based_on = fields.whole("revision", low=0, high=2**53)
    if not fields.ok or based_on is None:
        return _page(request, shop_view(document, based_on or 0, fields), 422)
    try:
        with store_of(request).write() as session:
            shop.save_shop(session, wanted, now_of(request), based_on, device_of(request))
    except RevisionConflict as conflict:
        fields.wrong("revision", "The shop was kept from elsewhere meanwhile. Keep it again.")
        fields.typed["revision"] = str(conflict.current.revision)
        view = shop_view(conflict.current.document, conflict.current.revision, fields)
        return _page(request, view, 409)
    return go_to(request, "/office?saved=true")


@router.post("/office/backup")
def back_up(request: Request) -> Response:
    """Make a copy of the database now."""
    try:
        keeper_of(request).back_up("asked-for")
    except BackupFailed as failure:
        document, revision = _kept(request)
        return _page(request, shop_view(document, revision), 503, str(failure))
    return go_to(request, "/office#copies")


def _kept(request: Request) -> tuple[dict[str, Any], int]:
    return kept(request, shop.shop_document), kept(request, shop.revision)


def _page(
    request: Request, view: ShopView, status: int = 200, failure: str | None = None
) -> Response:
    store = store_of(request)
    context = {
        "frame": frame(request, place="office"),
        "view": view,
        "form": view.form,
        "units": view.form.units,
        "copies": copies(list_backups(store.path)),
        "copy_warning": failure or warning(keeper_of(request).state()),
        "devices": pairing_of(request).devices(),
        "about": about(store, settings_of(request)),
    }
    return render(request, "office/page.html", context, status)
