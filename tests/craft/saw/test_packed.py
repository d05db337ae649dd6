"""Blocks of strips, and the cheapest way to lay a handful of them."""

from itertools import permutations

import pytest
from cutting_cases import board, request, strip

from server.craft.saw.layout.blocks import Blocks
from server.craft.saw.layout.packed import packed
from server.craft.saw.layout.problem import Wood, woods_of
from server.craft.saw.layout.sawn import Placed, sound
from server.craft.saw.layout.section import Run
from server.craft.saw.layout.tree import rests_around
from server.craft.saw.request import CuttingRequest

WIDTHS = (11.0, 18.0, 24.0, 30.0)


def four_strips(rack: list[dict[str, object]]) -> tuple[Wood, list[Run]]:
    """Four strips of different widths, a dozen segments each."""
    strips = [strip(f"s{n}", width_mm=width) for n, width in enumerate(WIDTHS)]
    (wood,) = woods_of(CuttingRequest.model_validate(request(strips, rack)))
    return wood, [(wood.items[item].kind, ((item, 3 + item),)) for item in range(4)]


def by_hand(wood: Wood, parts: list[Run]) -> set[tuple[int, int]]:
    """Sizes of four strips joined one after the other, and two by two, in every order."""
    sizes = [(wood.strip_um(k, c), wood.kinds[k].width_um) for k, c in parts]

    def joined(a: tuple[int, int], b: tuple[int, int]) -> list[tuple[int, int]]:
        line = (a[0] + b[0] + wood.cross_um, max(a[1], b[1]))
        return [line, (max(a[0], b[0]), a[1] + b[1] + wood.rip_um)]

    found = set()
    for a, b, c, d in permutations(sizes):
        for pair in joined(a, b):
            found |= {size for three in joined(pair, c) for size in joined(three, d)}
            found |= {size for other in joined(c, d) for size in joined(pair, other)}
    return found


def test_blocks_are_the_smallest_of_all_ways_to_join() -> None:
    wood, parts = four_strips([board("b1")])
    blocks = Blocks(wood, parts, 10**9, 10**9)
    sizes = by_hand(wood, parts)
    smallest = {
        size
        for size in sizes
        if not any(o != size and o[0] <= size[0] and o[1] <= size[1] for o in sizes)
    }
    found = zip(blocks.lengths[15].tolist(), blocks.widths[15].tolist(), strict=True)
    assert set(found) == smallest


def test_a_block_is_as_large_as_its_strips_reach() -> None:
    wood, parts = four_strips([board("b1")])
    blocks = Blocks(wood, parts, 10**9, 10**9)
    for shape, length in enumerate(blocks.lengths[15].tolist()):
        placed = [p for p in blocks.laid(15, shape, 0, 0) if isinstance(p, Placed)]
        assert max(p.x_um + p.length_um for p in placed) == length
        assert max(p.y_um + p.width_um for p in placed) == blocks.widths[15][shape]
        assert sorted(p.contents for p in placed) == sorted(contents for _, contents in parts)


@pytest.mark.parametrize("spoilt", [False, True])
def test_packed_boards_cost_what_they_say_and_can_be_cut(spoilt: bool) -> None:
    knots = [{"x_mm": 150, "y_mm": 30, "length_mm": 40, "width_mm": 20}] if spoilt else []
    wood, parts = four_strips([board("b1", defects=knots), board("b2", length_mm=420.0)])
    boards, work = packed(wood, parts, [0, 1])
    assert boards is not None
    assert work > 0
    laid = [s.contents for sawn in boards.values() for s in sawn.strips]
    assert sorted(laid) == sorted(contents for _, contents in parts)
    for sawn in boards.values():
        if sawn.strips:
            assert sound(sawn)
            assert rests_around(wood, sawn.stock, sawn.strips) is not None
            assert 0 < sawn.cost <= sawn.stock.value


def test_strips_that_do_not_fit_are_not_packed() -> None:
    wood, parts = four_strips([board("b1", length_mm=200.0, width_mm=40.0)])
    assert packed(wood, parts, [0])[0] is None
