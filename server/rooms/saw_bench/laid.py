"""A layout with what is worked out of it: the order of its cuts, and where the wood goes."""

from dataclasses import dataclass
from functools import cached_property

from server.craft.errors import CraftError
from server.craft.saw.layout import LaidBoard, Layout
from server.craft.saw.request import Board, CuttingRequest
from server.craft.saw.sequence import Cut, cut_sequence
from server.craft.saw.yields import Yield, layout_yield

_NEAR_MM = 1e-3


@dataclass(frozen=True, eq=False)
class Laid:
    """A layout and what is worked out of it for every page that shows it."""

    request: CuttingRequest
    layout: Layout

    @cached_property
    def account(self) -> Yield:
        """Where the wood goes."""
        return layout_yield(self.request, self.layout)

    @cached_property
    def cuts(self) -> tuple[tuple[Cut, ...], ...]:
        """The cuts of each board in order; none where no order of straight cuts was found, and
        strips alone show."""
        boards = {board.id: board for board in self.request.rack}
        return tuple(self._cuts(boards[laid.id], laid) for laid in self.layout.boards)

    def _cuts(self, board: Board, laid: LaidBoard) -> tuple[Cut, ...]:
        try:
            found = cut_sequence(board, laid, self.request.saw)
        except CraftError:
            return ()
        return tuple(cut for cut in found if not _is_tail(cut, laid))


def _is_tail(cut: Cut, laid: LaidBoard) -> bool:
    """A cut that would only take the free end off one strip: it stays on, to hold the strip by."""
    return cut.kind == "crosscut" and any(
        abs(strip.x_mm + strip.length_mm - cut.mark_mm) < _NEAR_MM
        and abs(strip.y_mm - cut.part.y0_mm) < _NEAR_MM
        and abs(strip.y_mm + strip.width_mm - cut.part.y1_mm) < _NEAR_MM
        and abs(strip.x_mm - cut.part.x0_mm) < _NEAR_MM
        for strip in laid.strips
    )
