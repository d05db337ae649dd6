"""The shop over the API: what new pieces start from."""

from typing import Annotated, Any

from fastapi import APIRouter, Body, Depends, Request, Response

from server.api.documents import IfMatch
from server.api.replies import refusals
from server.craft.document.kept_shop import shop_of
from server.store import shop
from server.store.shelf import RevisionConflict
from server.web.problems import problem
from server.web.state import device_of, now_of, store_of

router = APIRouter(prefix="/api/shop", tags=["shop"])


def checked_shop(document: Annotated[dict[str, Any], Body()]) -> dict[str, Any]:
    """The document as it was sent, after it proved to be a shop. Raises ValidationError."""
    kept = {key: value for key, value in document.items() if key != "revision"}
    shop_of(kept)
    return kept


ShopDocument = Annotated[dict[str, Any], Depends(checked_shop)]


@router.get("", responses=refusals())
def get_shop(request: Request, response: Response) -> dict[str, Any]:
    """The shop's equipment and defaults; `revision` is 0 before the first save."""
    with store_of(request).read() as session:
        return _whole(response, shop.shop_document(session), shop.revision(session))


@router.put("", responses=refusals(409))
def save_shop(
    request: Request, response: Response, if_match: IfMatch, document: ShopDocument
) -> Any:
    """Save the shop; with If-Match only when nobody saved in the meantime."""
    try:
        with store_of(request).write() as session:
            record = shop.save_shop(
                session, document, now_of(request), if_match, device_of(request)
            )
    except RevisionConflict as conflict:
        current = {**conflict.current.document, "revision": conflict.current.revision}
        return problem(409, str(conflict), current=current, yours=document)
    return _whole(response, record.document, record.revision)


def _whole(response: Response, document: dict[str, Any], revision: int) -> dict[str, Any]:
    response.headers["etag"] = f'"{revision}"'
    return {**document, "revision": revision}
