"""`POST /api/cutting`: where to lay which strip so that the least wood is used."""

import time

from fastapi import APIRouter, Depends

from server.craft.saw.layout import Layout, cut_layout
from server.craft.saw.request import CuttingRequest
from server.web.bodies import ordinary_json

router = APIRouter(dependencies=[Depends(ordinary_json)])


@router.post("/api/cutting")
def post_cutting(request: CuttingRequest) -> Layout:
    """The cheapest layout found in the time given, with a bound on the best possible.

    A plain `def`: it runs in a worker thread, and the solver lets other threads run.
    """
    return cut_layout(request, time.monotonic)
