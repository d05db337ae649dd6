"""Ticks of the lathe that came before their turn: nothing is lost, and it is said where it stands.

The lathe's page shows no button for a step whose turn has not come. A tick can come all the same,
from a device that was away or another program; the ledger keeps it and the journal says so.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime

from server.craft.floor import Floor, fold
from server.craft.lathe.steps import LatheShop
from server.craft.lathe.steps_gates import Gate, StepState, open_steps
from server.craft.lathe.steps_piece import lathe_steps
from server.craft.lathe.steps_said import said_done
from server.craft.ledger import Entry, Kind
from server.craft.planned import Planned
from server.rooms.journal.names import Names
from server.web.orders import orders_of

_AT_THE_LATHE = frozenset({Kind.TURNED, Kind.BORED, Kind.MEASURED})


def too_early(
    planned: Planned, entries: Sequence[Entry], names: Names, now: datetime
) -> dict[str, str]:
    """By the id of a line, what it was ticked before; of one piece, as its floor is at `now`."""
    if not any(entry.kind in _AT_THE_LATHE for entry in entries):
        return {}
    floor = fold(entries, now=now)
    known = {**names.rings, **names.others}
    found: dict[str, str] = {}
    for state in _states(planned, floor, known, now):
        mark = said_done(state.step, floor)
        words = _words(state)
        if mark is not None and words:
            found[mark.entry_id] = words
    return found


def _states(
    planned: Planned, floor: Floor, names: Mapping[str, str], now: datetime
) -> tuple[StepState, ...]:
    hours = {order.id: order.cure_hours for order in orders_of(planned.piece)}
    steps = lathe_steps(planned.work, LatheShop((), hours))
    return open_steps(steps, floor, now, names)


def _words(state: StepState) -> str:
    if state.gate is Gate.EARLY:
        reasons = " ".join(reason.words for reason in state.reasons)
        return f"Ticked before its turn, and it opens nothing until then. {reasons}"
    return " ".join(state.out_of_turn)
