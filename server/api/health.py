"""Is the server there, which version is it, and what time does it have."""

from fastapi import APIRouter, Request

from server.live.entries import moment
from server.settings import program_version
from server.web.state import now_of

router = APIRouter(prefix="/api", tags=["server"])


@router.get("/health")
def health(request: Request) -> dict[str, str]:
    """Answers as soon as the server does. `now` lets a device find how far its clock is off."""
    return {"status": "ok", "version": program_version(), "now": moment(now_of(request))}
