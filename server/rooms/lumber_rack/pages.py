"""The lumber rack: what lies there, put there, used up, taken off, in tables and in prices."""

from fastapi import APIRouter

from server.rooms.lumber_rack import (
    items_pages,
    photo_pages,
    table_pages,
    uses_pages,
    woods_pages,
)

router = APIRouter(include_in_schema=False)
# The tables and lists have addresses of their own and go before the items' ids.
router.include_router(table_pages.router)
router.include_router(woods_pages.router)
router.include_router(uses_pages.router)
router.include_router(photo_pages.router)
router.include_router(items_pages.router)
