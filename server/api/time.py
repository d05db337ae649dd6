"""The server's time and the newest line of the ledger: what a page asks every few seconds."""

from fastapi import APIRouter, Request
from pydantic import BaseModel

from server.web.floors import floors_of
from server.web.state import clock_of, now_of

router = APIRouter(prefix="/api", tags=["server"])


class Beat(BaseModel):
    """`now_ms` since 1970 UTC; `behind_s` more than 0 while the clock is known to be wrong."""

    now_ms: float
    seq: int
    behind_s: float = 0.0


@router.get("/time")
def time(request: Request) -> Beat:
    """Answers at once. Devices find from it how far their clock is off and what they missed."""
    seq = floors_of(request).last_seq()
    behind_s = clock_of(request).behind_seconds
    return Beat(now_ms=now_of(request).timestamp() * 1000, seq=seq, behind_s=behind_s)
