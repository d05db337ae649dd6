"""What the glue bench stands on: one piece, worked out, with its floor at this moment."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from markupsafe import Markup

from server.craft.checks import glue as glue_checks
from server.craft.document import Piece
from server.craft.document.assembly import Stack as DrawnStack
from server.craft.document.ring_labels import ring_labels
from server.craft.findings import Check
from server.craft.floor import Floor, NextThing, RingOrder, StackOrder, what_next
from server.craft.glue.adhesives import Glue
from server.craft.glue.timing import Times, times
from server.craft.ledger import Entry
from server.craft.planned import Planned
from server.craft.units import format_length
from server.craft.wood.properties import Species
from server.craft.worked.rings import WorkedRing
from server.web.lengths import diagonal
from server.web.orders import glue_of, orders_of


@dataclass(frozen=True)
class Bench:
    """A piece at the glue bench, worked out.

    `now` is aware and in the shop's zone, `off` when the server was last not running, if it was.
    """

    piece_id: str
    planned: Planned
    floor: Floor
    now: datetime
    off: tuple[datetime, datetime] | None = None

    @property
    def piece(self) -> Piece:
        """The drawing."""
        return self.planned.piece

    @cached_property
    def temperature_c(self) -> float:
        """The shop's temperature as last measured, or as drawn."""
        reading = self.floor.latest("temperature_c")
        return reading.value if reading else self.piece.room.temperature_c

    @cached_property
    def humidity_percent(self) -> float:
        """The shop's humidity as last measured, or as drawn."""
        reading = self.floor.latest("humidity_percent")
        return reading.value if reading else self.piece.room.humidity_percent

    @cached_property
    def orders(self) -> tuple[StackOrder, ...]:
        """What the drawing asks for, with the glues' times at this temperature."""
        return orders_of(self.piece, self.temperature_c)

    @cached_property
    def next(self) -> NextThing:
        """The thing to do now."""
        return what_next(self.orders, self.floor, self.now)

    @cached_property
    def labels(self) -> dict[str, str]:
        """What each ring is called."""
        return ring_labels(self.piece)

    @cached_property
    def said(self) -> dict[str, Entry]:
        """The ledger's lines about this piece by their ids."""
        return {entry.id: entry for entry in self.floor.journal}

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """What the glue has to say about this drawing."""
        return tuple(glue_checks.checks(self.planned))

    def order(self, stack_id: str | None) -> StackOrder | None:
        """The stack of that id."""
        return next((order for order in self.orders if order.id == stack_id), None)

    def ring_order(self, ring_id: str) -> RingOrder | None:
        """What is asked of a ring, None where it is on no stack."""
        return next((r for order in self.orders for r in order.rings if r.id == ring_id), None)

    def stack_of(self, ring_id: str) -> StackOrder | None:
        """The stack that a ring is drawn on."""
        return self._stacks.get(ring_id)

    @cached_property
    def _stacks(self) -> dict[str, StackOrder]:
        return {ring.id: order for order in reversed(self.orders) for ring in order.rings}

    def drawn(self, stack_id: str) -> DrawnStack:
        """The stack in the drawing."""
        return next(stack for stack in self.piece.stacks if stack.id == stack_id)

    def glue(self, stack_id: str) -> Glue:
        """The glue of a stack."""
        return glue_of(self.piece, self.drawn(stack_id))

    def times(self, stack_id: str) -> Times:
        """The glue's times now, at the shop's temperature."""
        return times(self.glue(stack_id), self.temperature_c)

    def worked(self, ring_id: str) -> WorkedRing:
        """The ring worked out."""
        return self.planned.work.by_ring[ring_id]

    def woods(self, ring_id: str) -> list[Species]:
        """The woods of a ring, each once, in the order in which they come."""
        known = self.planned.woods
        return [known[wood] for wood in dict.fromkeys(self.worked(ring_id).woods) if wood in known]

    def length(self, mm: float) -> str:
        """A length in the piece's units."""
        return format_length(mm, self.piece.display_units, 0 if mm >= 10 else 1)

    def written(self, mm: float) -> Markup:
        """A length in running text, fractions of an inch on the diagonal."""
        return diagonal(mm, self.piece.display_units, 0 if mm >= 10 else 1)

    def degrees(self, celsius: float) -> str:
        """A temperature, with °F beside it where the piece is drawn in inches."""
        text = f"{celsius:.0f} °C"
        if self.piece.display_units == "in":
            text += f" ({celsius * 9 / 5 + 32:.0f} °F)"
        return text
