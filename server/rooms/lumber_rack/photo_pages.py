"""A photo of a thing on the rack: its figure, its end grain, its label."""

from typing import Annotated

from fastapi import APIRouter, File, Request, Response, UploadFile
from fastapi.responses import FileResponse

from server.craft.errors import FieldError
from server.rooms.lumber_rack.rack import ADDRESS
from server.store.photos import find_photo, keep_photo
from server.store.rack import NotKept
from server.web.bodies import LARGEST_FILE, LARGEST_FILE_BODY
from server.web.problems import error_page
from server.web.replies import go_to
from server.web.state import device_of, now_of, settings_of, store_of
from server.web.stock import must_find, save_thing, things_of

router = APIRouter()


@router.post(ADDRESS + "/items/{item_id}/photo", max_body_size=LARGEST_FILE_BODY)
def add_photo(request: Request, item_id: str, photo: Annotated[UploadFile, File()]) -> Response:
    """Keep a photo with the thing; an older one is kept with the older revision."""
    try:
        kept = keep_photo(settings_of(request).data_dir, photo.file.read(LARGEST_FILE + 1))
    except FieldError as no:
        return error_page(request, 422, no.message)
    thing = must_find(things_of(request), item_id)
    document = {**thing.document, "photo": f"{kept.type} {kept.sha256}"}
    with store_of(request).write() as session:
        save_thing(session, thing, document, None, now_of(request), device_of(request))
    return go_to(request, f"{ADDRESS}/items/{item_id}")


@router.get(ADDRESS + "/items/{item_id}/photo")
def show_photo(request: Request, item_id: str) -> Response:
    """The photo of a thing."""
    document = must_find(things_of(request), item_id).document
    media_type, _, digest = str(document.get("photo") or "").partition(" ")
    path = find_photo(settings_of(request).data_dir, digest, media_type)
    if path is None:
        raise NotKept("There is no photo of this.")
    headers = {"cache-control": "private, no-cache"}
    return FileResponse(path, media_type=media_type, headers=headers)
