"""From a kept drawing to what it asks of the floor: stacks, rings, ticks and the glue's times."""

from collections.abc import Iterator, Mapping
from typing import Any

from server.craft.document import DocumentError, Piece, parse_piece
from server.craft.document.assembly import Stack
from server.craft.document.ring import Ring
from server.craft.document.ring_labels import ring_labels
from server.craft.floor import RING_TICKS, RingOrder, StackOrder
from server.craft.glue.adhesives import DEFAULT_GLUE, Glue, all_glues
from server.craft.glue.timing import times
from server.craft.ledger import Kind

WHOLE_RING_TICKS = (Kind.DRY_FITTED, Kind.FLATTENED)
"""What a disc or a veneer goes through: it has no half rings."""


def stack_orders(document: Mapping[str, Any]) -> tuple[StackOrder, ...]:
    """The stacks of a kept document, none where it cannot be read."""
    try:
        piece = parse_piece(document)
    except DocumentError:
        return ()
    return orders_of(piece)


def orders_of(piece: Piece, temperature_c: float | None = None) -> tuple[StackOrder, ...]:
    """The stacks of a drawing, glued at that temperature (°C), or at the room's."""
    labels = ring_labels(piece)
    rings = {ring.id: ring for part in piece.parts for ring in part.rings}
    letters = faceplate_names(piece)
    return tuple(
        _order(piece, stack, letters[stack.id], rings, labels, temperature_c)
        for stack in piece.stacks
    )


def faceplate_names(piece: Piece) -> dict[str, str]:
    """The faceplate of each stack; a letter of its own where the drawing names none."""
    taken = {stack.faceplate for stack in piece.stacks if stack.faceplate}
    free = (letter for letter in _letters() if letter not in taken)
    return {stack.id: stack.faceplate or next(free) for stack in piece.stacks}


def glues_of(piece: Piece) -> dict[str, Glue]:
    """Built-in and the drawing's own glues by id."""
    return {glue.id: glue for glue in all_glues()} | {g.id: g.as_glue() for g in piece.glues}


def glue_of(piece: Piece, stack: Stack) -> Glue:
    """The glue of a stack, the usual one where it names none or one that is not known."""
    known = glues_of(piece)
    return known.get(stack.glue or DEFAULT_GLUE) or known[DEFAULT_GLUE]


def _letters() -> Iterator[str]:
    number = 0
    while True:
        yield chr(ord("A") + number % 26) * (number // 26 + 1)
        number += 1


def _order(
    piece: Piece,
    stack: Stack,
    letter: str,
    rings: Mapping[str, Ring],
    labels: Mapping[str, str],
    temperature_c: float | None,
) -> StackOrder:
    degrees = piece.room.temperature_c if temperature_c is None else temperature_c
    glued = times(glue_of(piece, stack), degrees)
    return StackOrder(
        id=stack.id,
        name=stack.title,
        faceplate=letter,
        rings=tuple(_ring(rings[ring], labels[ring]) for ring in stack.rings if ring in rings),
        press_minutes=glued.press_minutes,
        rest_minutes=glued.rest_minutes,
        cure_hours=glued.cure_hours,
    )


def _ring(ring: Ring, label: str) -> RingOrder:
    if not ring.is_segmented:
        return RingOrder(ring.id, label, 0, WHOLE_RING_TICKS)
    return RingOrder(ring.id, label, ring.segments, RING_TICKS)
