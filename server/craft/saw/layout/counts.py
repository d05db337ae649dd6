"""How many strips of a kind a best layout needs at most, and the lanes that can lie abreast."""

from collections.abc import Iterator
from itertools import islice

from server.craft.saw.layout.problem import Stock, Wood

Pattern = tuple[int, ...]
"""Lanes of each kind, side by side."""


def most_strips(wood: Wood, kind: int) -> int:
    """Strips of a kind in a layout in which none can be spared by filling up the others.

    Segments may move to another strip of their kind as long as there is room, and a strip without
    segments falls away. Then any two hold more than a shortest strip does, and all but one are
    full but for less than a segment.
    """
    this = wood.kinds[kind]
    items = [wood.items[item] for item in this.items]
    pieces = sum(item.count for item in items)
    longest = max(item.pitch_um for item in items)
    room = wood.shortest_um - this.setup_um
    if len(items) == 1:
        return -(-pieces // max(1, room // longest))
    most = pieces
    if room > longest:
        most = min(most, 1 + this.total_um // (room - longest + 1))
    if room > 0:
        most = min(most, max(1, 2 * this.total_um // room))
    return most


def patterns_of(wood: Wood, stock: Stock, strips: list[int], most: int) -> list[Pattern]:
    """Every choice of lanes that fits the board's width, or `most` + 1 where there are more."""
    choices = _choices(wood, stock, strips, 0, stock.width_um + wood.rip_um)
    return list(islice(choices, most + 1))


def _choices(
    wood: Wood, stock: Stock, strips: list[int], kind: int, room_um: int
) -> Iterator[Pattern]:
    if kind == len(wood.kinds):
        yield ()
        return
    lane = wood.kinds[kind].width_um + wood.rip_um
    most = min(room_um // lane, strips[kind]) if kind in stock.fits else 0
    for lanes in range(most + 1):
        for others in _choices(wood, stock, strips, kind + 1, room_um - lanes * lane):
            yield (lanes, *others)
