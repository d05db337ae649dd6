"""What the lathe's page stands on: one piece worked out, its steps, and the floor as it is."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any

from server.craft.document import Piece
from server.craft.document.ring_labels import ring_labels
from server.craft.floor import Floor
from server.craft.lathe.holds import Jaws
from server.craft.lathe.steps import LatheShop, Step
from server.craft.lathe.steps_gates import Gate, StepState, next_step, open_steps
from server.craft.planned import Planned
from server.craft.worked.piece import WorkedPart
from server.web.orders import orders_of

TOGETHER = "piece"
"""The group of the steps that belong to no part."""


@dataclass(frozen=True)
class LatheBench:
    """A piece at the lathe. `now` is aware and in the shop's zone; `asked` a step or part id.

    `steps_in` gives the steps of the piece in a shop.
    """

    piece_id: str
    planned: Planned
    steps_in: Callable[[LatheShop], tuple[Step, ...]]
    floor: Floor
    now: datetime
    jaws: tuple[Jaws, ...] = ()
    asked: str = ""
    address: str = field(default="")

    @property
    def piece(self) -> Piece:
        """The drawing."""
        return self.planned.piece

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """All steps of the piece."""
        reading = self.floor.latest("temperature_c")
        degrees = reading.value if reading else self.piece.room.temperature_c
        hours = {order.id: order.cure_hours for order in orders_of(self.piece, degrees)}
        return self.steps_in(LatheShop(self.jaws, hours))

    @cached_property
    def states(self) -> tuple[StepState, ...]:
        """Each step as it stands on the floor."""
        return open_steps(self.steps, self.floor, self.now, self.names)

    @cached_property
    def names(self) -> dict[str, str]:
        """What stacks, rings and parts are called."""
        stacks = {stack.id: stack.title for stack in self.piece.stacks}
        parts = {part.id: part.title for part in self.piece.parts}
        rings = {ring: f"ring {label}" for ring, label in ring_labels(self.piece).items()}
        return {**rings, **stacks, **parts}

    @cached_property
    def current(self) -> StepState | None:
        """The step that was asked for, else the next open one, else the first not done."""
        for state in self.states:
            if state.step.id == self.asked:
                return state
        own = self._own(self.asked)
        if own:
            undone = next((state for state in own if state.gate is not Gate.DONE), None)
            return next_step(own) or undone or own[-1]
        return next_step(self._own(self._last_group)) or self._first()

    def _own(self, group: str) -> list[StepState]:
        return [state for state in self.states if self.group(state.step) == group]

    def _first(self) -> StepState | None:
        undone = next((state for state in self.states if state.gate is not Gate.DONE), None)
        return next_step(self.states) or undone or (self.states[-1] if self.states else None)

    @property
    def _last_group(self) -> str:
        """Where a step was done last: one stays with a part while there is something to do."""
        done = [(state.done_at, state.step) for state in self.states if state.done_at is not None]
        return self.group(max(done, key=lambda pair: pair[0])[1]) if done else ""

    def group(self, step: Step) -> str:
        """The part that a step belongs to, or the piece as a whole."""
        return step.part or TOGETHER

    @property
    def part(self) -> WorkedPart | None:
        """The part of the current step."""
        state = self.current
        if state is None or state.step.part is None:
            return None
        return self.planned.work.by_part[state.step.part]

    def is_done(self, surface: str) -> bool:
        """Whether a step that works that surface is done."""
        return any(s.gate is Gate.DONE and surface in s.step.works for s in self.states)

    def reading(self, subject: str, quantity: str) -> float | None:
        """The newest value measured of a thing."""
        found = [
            reading
            for reading in self.floor.readings
            if (reading.subject, reading.quantity) == (subject, quantity)
        ]
        newest = max(found, key=lambda reading: (reading.mark.at, reading.mark.seq), default=None)
        return None if newest is None else newest.value


def jaws_of(shop: Mapping[str, Any]) -> tuple[Jaws, ...]:
    """The jaws that the shop's document names; what is no jaws is passed over."""
    found: Sequence[Any] = shop.get("jaws") or ()
    return tuple(_jaws(one) for one in found if isinstance(one, Mapping))


def _jaws(one: Mapping[str, Any]) -> Jaws:
    def size(name: str) -> float | None:
        value = one.get(name)
        known = isinstance(value, int | float) and not isinstance(value, bool)
        return float(value) if known and value is not None else None

    return Jaws(
        name=str(one.get("name") or "jaws"),
        closes_from_mm=size("closes_from_mm"),
        closes_to_mm=size("closes_to_mm"),
        opens_from_mm=size("opens_from_mm"),
        opens_to_mm=size("opens_to_mm"),
    )
