"""`POST /api/cutting`: where to lay which strip so that the least wood is used."""

import time

from fastapi import APIRouter, Depends

from server.craft.saw.layout import Layout, cut_layout
from server.craft.saw.request import CuttingRequest
from server.craft.saw.resaw import resawn
from server.web.bodies import ordinary_json

router = APIRouter(dependencies=[Depends(ordinary_json)])


@router.post("/api/cutting")
def post_cutting(request: CuttingRequest) -> Layout:
    """The cheapest layout found in the time given, with a bound on the best possible.

    `strips` may be those of several pieces. A board with `leaves` is resawn first; `copy` then
    counts its leaves.

    A plain `def`: it runs in a worker thread, and the solver lets other threads run.
    """
    return cut_layout(resawn(request), time.monotonic)
