"""The shop floor: a pure fold of the ledger's entries into what is done, running and due."""

from server.craft.floor.fold import Settled, fold, settled
from server.craft.floor.listen import Ears
from server.craft.floor.next_thing import NextThing, clock, next_tick, turns, what_next
from server.craft.floor.orders import RingOrder, StackOrder
from server.craft.floor.state import (
    RING_TICKS,
    Claim,
    Contest,
    Floor,
    Mark,
    PressRun,
    Reading,
    Ring,
    Stack,
    Timer,
)
from server.craft.floor.timers import soonest_first

__all__ = [
    "RING_TICKS",
    "Claim",
    "Contest",
    "Ears",
    "Floor",
    "Mark",
    "NextThing",
    "PressRun",
    "Reading",
    "Ring",
    "RingOrder",
    "Settled",
    "Stack",
    "StackOrder",
    "Timer",
    "clock",
    "fold",
    "next_tick",
    "settled",
    "soonest_first",
    "turns",
    "what_next",
]
