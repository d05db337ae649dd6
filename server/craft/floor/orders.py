"""What the drawing asks of the floor: stacks in gluing order and what each ring goes through."""

from dataclasses import dataclass, field

from server.craft.floor.state import RING_TICKS
from server.craft.ledger import Kind


@dataclass(frozen=True, slots=True)
class RingOrder:
    """A ring to be made: `label` is what it is called at the bench, `ticks` what it goes through.

    `segments` is how many good ones it takes, 0 where it is not cut from segments.
    """

    id: str
    label: str
    segments: int = 0
    ticks: tuple[Kind, ...] = RING_TICKS
    wood: str = ""


@dataclass(frozen=True, slots=True)
class StackOrder:
    """A stack to be glued, rings in gluing order, with its glue's times at this temperature."""

    id: str
    name: str
    faceplate: str
    rings: tuple[RingOrder, ...] = field(default=())
    press_minutes: float = 30.0
    rest_minutes: float = 30.0
    cure_hours: float = 24.0
