"""Thick boards resawn into thinner leaves, before anything is laid out.

A board that is asked for in `leaves` stands on the rack as that many thinner boards, never as
both. A layout's `copy` then counts leaves: with two to a board, copies 1 and 2 are the first board.
"""

from server.craft.document.base import SMALLEST_SIZE_MM
from server.craft.errors import FieldError
from server.craft.saw.request import Board, CuttingRequest


def resawn(request: CuttingRequest) -> CuttingRequest:
    """The same question with every board that is asked for in leaves offered as those.

    Raises `FieldError` for a board that would be all kerf.
    """
    if all(board.leaves == 1 for board in request.rack):
        return request
    kerf_mm = request.saw.rip_kerf_mm
    rack = [_leaves(place, board, kerf_mm) for place, board in enumerate(request.rack)]
    return request.model_copy(update={"rack": rack})


def leaf_mm(thickness_mm: float, leaves: int, kerf_mm: float) -> float:
    """Thickness of each of so many equal leaves, a kerf lost between neighbours [def].

    Not above 0 where the kerfs take all of it.
    """
    return (thickness_mm - (leaves - 1) * kerf_mm) / leaves


def most_leaves(thickness_mm: float, needed_mm: float, kerf_mm: float) -> int:
    """How many leaves of at least `needed_mm` a board gives; 0 where it is too thin for one."""
    return int((thickness_mm + kerf_mm) / (needed_mm + kerf_mm) + 1e-9)


def leaf_price(price: float, thickness_mm: float, leaves: int, leaf_thickness_mm: float) -> float:
    """Price a board foot of a leaf: all the leaves together are worth what the board is."""
    return price * thickness_mm / (leaves * leaf_thickness_mm)


def _leaves(place: int, board: Board, kerf_mm: float) -> Board:
    if board.leaves == 1:
        return board
    thin_mm = leaf_mm(board.thickness_mm, board.leaves, kerf_mm)
    if thin_mm < SMALLEST_SIZE_MM:
        raise FieldError(
            f"/rack/{place}/leaves",
            f"{board.thickness_mm:g} mm resawn into {board.leaves} leaves is all kerf.",
        )
    price = leaf_price(board.price_per_board_foot, board.thickness_mm, board.leaves, thin_mm)
    return board.model_copy(
        update={
            "thickness_mm": thin_mm,
            "nominal_thickness_mm": None,
            "count": board.count * board.leaves,
            "price_per_board_foot": price,
            "leaves": 1,
        }
    )
