"""The plan over the API: of a document that is sent, or of a piece that is kept."""

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse

from server.api.documents import SentPiece, parsed
from server.api.pieces import kept_piece
from server.api.replies import refusals
from server.craft.plan import plan, plan_json
from server.craft.results import Plan
from server.store import rack
from server.web.state import store_of

router = APIRouter(tags=["plan"])


@router.post("/api/plan", response_model=Plan, responses=refusals())
def plan_document(piece: SentPiece) -> Any:
    """Compute the plan of a piece document; nothing is kept."""
    return JSONResponse(plan_json(plan(piece)))


@router.get("/api/pieces/{piece_id}/plan", response_model=Plan, responses=refusals(404))
def plan_kept(request: Request, piece_id: str) -> Any:
    """Compute the plan of a kept piece, with what lies on the rack."""
    record = kept_piece(request, piece_id)
    with store_of(request).read() as session:
        items = [item.document for item in rack.list_items(session)]
    return JSONResponse(plan_json(plan(parsed(record.document), items)))
