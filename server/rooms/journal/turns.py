"""Ticks of the lathe that came before their turn: nothing is lost, and it is said where it stands.

The lathe's page shows no button for a step whose turn has not come. A tick can come all the same,
from a device that was away or another program; the ledger keeps it and the journal says so.
"""

from collections.abc import Callable
from datetime import datetime

from server.craft.document import Piece
from server.craft.floor import Floor
from server.craft.lathe.steps import LatheShop, Step
from server.craft.lathe.steps_gates import Gate, StepState, open_steps
from server.craft.lathe.steps_said import said_done
from server.craft.ledger import Kind
from server.rooms.journal.names import Names
from server.web.orders import orders_of

_AT_THE_LATHE = frozenset({Kind.TURNED, Kind.BORED, Kind.MEASURED})


def too_early(
    piece: Piece,
    steps_in: Callable[[LatheShop], tuple[Step, ...]],
    floor: Floor,
    names: Names,
    now: datetime,
) -> dict[str, str]:
    """By the id of a line, what it was ticked before; of one piece, as its floor is at `now`.

    `steps_in` gives the piece's steps at the lathe of a shop.
    """
    if not any(entry.kind in _AT_THE_LATHE for entry in floor.journal):
        return {}
    known = {**names.rings, **names.others}
    found: dict[str, str] = {}
    hours = {order.id: order.cure_hours for order in orders_of(piece)}
    for state in open_steps(steps_in(LatheShop((), hours)), floor, now, known):
        mark = said_done(state.step, floor)
        words = _words(state)
        if mark is not None and words:
            found[mark.entry_id] = words
    return found


def _words(state: StepState) -> str:
    if state.gate is Gate.EARLY:
        reasons = " ".join(reason.words for reason in state.reasons)
        return f"Ticked before its turn, and it opens nothing until then. {reasons}"
    return " ".join(state.out_of_turn)
