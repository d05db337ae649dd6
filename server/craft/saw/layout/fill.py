"""Filling a lane with whole segments: the longest sum of pitches that a length holds."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.craft.saw.layout.problem import Wood
from server.craft.saw.layout.sawn import Contents

_GRAIN_UM = 100
"""Lengths are summed in tenths of a millimetre; pitches are rounded up to it."""

Floats = NDArray[np.floating[Any]]


def _grains(pitch_um: int) -> int:
    return -(-pitch_um // _GRAIN_UM)


def fill_lane(wood: Wood, kind: int, left: Mapping[int, int], cap_um: int) -> Contents:
    """The fullest lane no longer than `cap_um` from the segments left, long pitches first."""
    room_um = cap_um - wood.kinds[kind].setup_um
    items = [item for item in wood.kinds[kind].items if left[item] > 0]
    if not items or room_um <= 0:
        return ()
    if len(items) == 1:
        count = min(left[items[0]], room_um // wood.items[items[0]].pitch_um)
        return ((items[0], count),) if count else ()
    if sum(wood.items[item].pitch_um * left[item] for item in items) <= room_um:
        return tuple((item, left[item]) for item in items)
    return _fullest(wood, items, left, room_um)


def quick_lane(wood: Wood, kind: int, left: Mapping[int, int], cap_um: int) -> Contents:
    """A lane filled long pitches first, without looking for the fullest."""
    room_um = cap_um - wood.kinds[kind].setup_um
    contents = []
    for item in sorted(wood.kinds[kind].items, key=lambda i: (-wood.items[i].pitch_um, i)):
        count = min(left[item], max(0, room_um) // wood.items[item].pitch_um)
        if count:
            contents.append((item, count))
            room_um -= count * wood.items[item].pitch_um
    return tuple(contents)


def _fullest(wood: Wood, items: list[int], left: Mapping[int, int], room_um: int) -> Contents:
    room = room_um // _GRAIN_UM
    mask = (1 << (room + 1)) - 1
    reach, steps = 1, []
    for item in sorted(items, key=lambda i: (-wood.items[i].pitch_um, i)):
        size = _grains(wood.items[item].pitch_um)
        for count in _parts(min(left[item], room // size)):
            steps.append((item, count, size * count, reach))
            reach |= (reach << (size * count)) & mask
        if reach >> room:
            break
    place = reach.bit_length() - 1
    taken: dict[int, int] = {}
    for item, count, size, before in reversed(steps):
        if not before >> place & 1:
            taken[item] = taken.get(item, 0) + count
            place -= size
    return tuple(sorted(taken.items()))


def _parts(count: int) -> list[int]:
    """Numbers whose subsets sum to everything from 0 to `count`."""
    parts, part = [], 1
    while count > 0:
        parts.append(min(part, count))
        count -= parts[-1]
        part *= 2
    return parts


def fullest_table(wood: Wood, kind: int, longest_um: int) -> Floats:
    """For each whole grain of lane length: the longest sum of pitches in it, in µm."""
    cells = longest_um // _GRAIN_UM + 1
    setup = -(-wood.kinds[kind].setup_um // _GRAIN_UM)
    mask = (1 << cells) - 1
    reach = 1
    for item in wood.kinds[kind].items:
        size = _grains(wood.items[item].pitch_um)
        for count in _parts(min(wood.items[item].count, cells // size)):
            reach |= (reach << (size * count)) & mask
    raw = np.frombuffer(reach.to_bytes(cells // 8 + 1, "little"), np.uint8)
    bits = np.unpackbits(raw, bitorder="little")[:cells].astype(bool)
    sums = np.maximum.accumulate(np.where(bits, np.arange(cells), 0)).astype(np.float64)
    table = np.concatenate([np.zeros(setup), sums])[:cells]
    return table * float(_GRAIN_UM)


def table_cells(lengths_um: NDArray[np.int64]) -> NDArray[np.int64]:
    """Where to look these lengths up in a `fullest_table`."""
    return lengths_um // _GRAIN_UM
