"""How far along a piece is: its rings as cells, the place where work goes on, and in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from server.craft.floor import Floor, StackOrder
from server.craft.lathe.steps import SIGNED
from server.craft.ledger import Kind

State = Literal["on", "hand", "ready", "begun", "to-come"]


@dataclass(frozen=True, slots=True)
class Progress:
    """One cell a ring in gluing order; `place` is where to go on, `words` say what is done."""

    cells: tuple[State, ...]
    place: str
    words: str

    @property
    def summary(self) -> str:
        """The cells in words, for who cannot see them."""
        return f"{self.cells.count('on')} of {len(self.cells)} rings on"


def progress(floor: Floor, stacks: Sequence[StackOrder], rings: Sequence[str]) -> Progress:
    """From the floor and the rings of the drawing, those of the stacks first in gluing order."""
    order = [ring.id for stack in stacks for ring in stack.rings]
    order += [ring for ring in rings if ring not in order]
    cells = tuple(_state(floor, ring) for ring in order)
    wanted = {ring.id: ring.segments for stack in stacks for ring in stack.rings}
    return Progress(cells, *_where(floor, cells, order, wanted))


def _state(floor: Floor, ring: str) -> State:
    here = floor.ring(ring)
    if here.place == "on":
        return "on"
    if here.place == "press":
        return "hand"
    if Kind.FLATTENED in here.ticks or Kind.CLOSED in here.ticks:
        return "ready"
    return "begun" if here.ticks or here.cut else "to-come"


def _where(
    floor: Floor, cells: Sequence[State], order: Sequence[str], wanted: dict[str, int]
) -> tuple[str, str]:
    turned = [step for step, kinds in floor.steps.items() if Kind.TURNED in kinds]
    on = cells.count("on")
    if SIGNED in turned:
        return "journal", "signed"
    if turned:
        return "lathe", f"{len(turned)} {'step' if len(turned) == 1 else 'steps'} turned"
    if cells and on == len(cells):
        return "lathe", "all rings on, ready to turn"
    if on or "hand" in cells or "ready" in cells:
        return "glue-bench", f"{on} of {len(cells)} rings on"
    cut = [ring for ring in order if floor.ring(ring).cut]
    if cut:
        last = cut[-1]
        number, of = floor.ring(last).cut, wanted.get(last, 0)
        return "saw-bench", f"{number} of {of} segments cut" if of else f"{number} segments cut"
    if not cells:
        return "drawing-board", "no rings yet"
    return "drawing-board", f"{len(cells)} rings, nothing cut yet"
