"""Copies of the database over the API: which there are, and one more."""

from typing import Any

from fastapi import APIRouter, Request

from server.api.replies import refusals
from server.live.entries import moment
from server.store.backup import Backup, list_backups
from server.web.state import keeper_of, store_of

router = APIRouter(prefix="/api/backups", tags=["server"])


@router.get("", responses=refusals())
def backups(request: Request) -> dict[str, Any]:
    """The copies, newest first, and a warning when something is wrong with them."""
    state = keeper_of(request).state()
    found = list_backups(store_of(request).path)
    return {"items": [_shown(backup) for backup in found], "warning": state.warning}


@router.post("", status_code=201, responses=refusals())
def back_up(request: Request) -> dict[str, Any]:
    """Make a copy now; the reply comes when it is on disk and proved whole."""
    return _shown(keeper_of(request).back_up("asked-for"))


def _shown(backup: Backup) -> dict[str, Any]:
    return {
        "name": backup.path.name,
        "made_at": moment(backup.made_at),
        "reason": backup.reason,
        "bytes": backup.bytes,
    }
