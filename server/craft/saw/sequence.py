"""In which order to saw a board: every cut with its mark, measured from one end or edge.

The cuts are found again from the places of strips and offcuts, so that a layout needs to carry
no more than those. Crosscuts that separate go first, then rips, as far as the layout allows.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from server.craft.document.shop import Saw
from server.craft.errors import CraftError
from server.craft.saw.layout.answer import LaidBoard, LaidStrip, Offcut
from server.craft.saw.request import Board

_NEAR_MM = 1e-4


@dataclass(frozen=True, slots=True)
class Part:
    """A rectangle of the board, x along the grain from its end, y from its edge, in mm."""

    x0_mm: float
    x1_mm: float
    y0_mm: float
    y1_mm: float

    @property
    def area_mm2(self) -> float:
        """Face area."""
        return (self.x1_mm - self.x0_mm) * (self.y1_mm - self.y0_mm)


@dataclass(frozen=True, slots=True)
class Cut:
    """One straight cut right through a part.

    `mark_mm` is where to mark, from the board's end for a crosscut, from its edge for a rip.
    `kerf_beyond` says on which side of the mark the blade goes. `length_mm` is how far it saws.
    """

    kind: Literal["crosscut", "rip"]
    mark_mm: float
    kerf_beyond: bool
    part: Part
    length_mm: float
    kerf_mm: float


def cut_sequence(board: Board, laid: LaidBoard, saw: Saw) -> list[Cut]:
    """The cuts of one board in the order to make them; raises `CraftError` if it cannot be cut."""
    pieces: list[LaidStrip | Offcut] = [*laid.strips, *laid.offcuts]
    wanted = [Part(p.x_mm, p.x_mm + p.length_mm, p.y_mm, p.y_mm + p.width_mm) for p in pieces]
    whole = Part(0.0, board.length_mm, 0.0, board.width_mm)
    return list(_cuts(whole, wanted, saw))


def _cuts(part: Part, wanted: Sequence[Part], saw: Saw) -> Iterator[Cut]:
    """Crosscut groups apart, else rip them apart; waste around a group comes off first."""
    if not wanted:
        return
    for along in (True, False):
        groups = _groups(wanted, along, saw.cross_kerf_mm if along else saw.rip_kerf_mm)
        if len(groups) > 1:
            yield from _split(part, groups, along, saw)
            return
    part, trims = _trimmed(part, wanted, saw)
    yield from trims
    if len(wanted) > 1:
        raise CraftError("These strips cannot be freed by straight cuts through the board.")


def _split(part: Part, groups: list[list[Part]], along: bool, saw: Saw) -> Iterator[Cut]:
    kerf_mm = saw.cross_kerf_mm if along else saw.rip_kerf_mm
    everything = [piece for group in groups for piece in group]
    part, trims = _trimmed(part, everything, saw)
    yield from trims
    pieces = []
    for group in groups[:-1]:
        mark_mm = max(piece.x1_mm if along else piece.y1_mm for piece in group)
        yield _cut(part, along, mark_mm, True, saw)
        first, part = _halves(part, along, mark_mm, mark_mm + kerf_mm)
        pieces.append((first, group))
    pieces.append((part, groups[-1]))
    for piece, group in pieces:
        yield from _cuts(piece, group, saw)


def _groups(wanted: Sequence[Part], along: bool, kerf_mm: float) -> list[list[Part]]:
    """Sets of pieces with a kerf's room between one set and the next, in one direction."""
    spans = [(p.x0_mm, p.x1_mm, p) if along else (p.y0_mm, p.y1_mm, p) for p in wanted]
    groups: list[list[Part]] = []
    reached = float("-inf")
    for low, high, piece in sorted(spans, key=lambda span: span[0]):
        if not groups or low >= reached + kerf_mm - _NEAR_MM:
            groups.append([])
        groups[-1].append(piece)
        reached = max(reached, high)
    return groups


def _trimmed(part: Part, wanted: Sequence[Part], saw: Saw) -> tuple[Part, list[Cut]]:
    """Take the waste off all round what is wanted: ends first, then edges."""
    cuts = []
    x0, x1 = min(p.x0_mm for p in wanted), max(p.x1_mm for p in wanted)
    y0, y1 = min(p.y0_mm for p in wanted), max(p.y1_mm for p in wanted)
    if x0 > part.x0_mm + _NEAR_MM:
        cuts.append(_cut(part, True, x0, False, saw))
        part = Part(x0, part.x1_mm, part.y0_mm, part.y1_mm)
    if x1 < part.x1_mm - _NEAR_MM:
        cuts.append(_cut(part, True, x1, True, saw))
        part = Part(part.x0_mm, x1, part.y0_mm, part.y1_mm)
    if y0 > part.y0_mm + _NEAR_MM:
        cuts.append(_cut(part, False, y0, False, saw))
        part = Part(part.x0_mm, part.x1_mm, y0, part.y1_mm)
    if y1 < part.y1_mm - _NEAR_MM:
        cuts.append(_cut(part, False, y1, True, saw))
        part = Part(part.x0_mm, part.x1_mm, part.y0_mm, y1)
    return part, cuts


def _cut(part: Part, along: bool, mark_mm: float, beyond: bool, saw: Saw) -> Cut:
    if along:
        length_mm = part.y1_mm - part.y0_mm
        return Cut("crosscut", mark_mm, beyond, part, length_mm, saw.cross_kerf_mm)
    length_mm = part.x1_mm - part.x0_mm
    return Cut("rip", mark_mm, beyond, part, length_mm, saw.rip_kerf_mm)


def _halves(part: Part, along: bool, low_mm: float, high_mm: float) -> tuple[Part, Part]:
    x0, x1, y0, y1 = part.x0_mm, part.x1_mm, part.y0_mm, part.y1_mm
    if along:
        return Part(x0, low_mm, y0, y1), Part(high_mm, x1, y0, y1)
    return Part(x0, x1, y0, low_mm), Part(x0, x1, high_mm, y1)
