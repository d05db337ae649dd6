"""Starting from a layout made before: what of it still holds is laid again as it was."""

from collections.abc import Iterable

from server.craft.saw.layout.answer import LaidBoard, LaidStrip
from server.craft.saw.layout.construct import Plan, empty_plan
from server.craft.saw.layout.problem import UM, Stock, Wood
from server.craft.saw.layout.sawn import Placed, Sawn, sound, whole
from server.craft.saw.layout.tree import rests_around


def plan_from(wood: Wood, known: Iterable[LaidBoard]) -> Plan:
    """A plan with the boards of a former layout, as far as rack and strips still allow it."""
    plan = empty_plan(wood)
    boards, left = list(plan.boards), dict(plan.left)
    names = {item.strip.id: index for index, item in enumerate(wood.items)}
    free: dict[str, list[int]] = {}
    for index, stock in enumerate(wood.stocks):
        free.setdefault(stock.board.id, []).append(index)
    for laid in known:
        places = free.get(laid.id)
        if not places:
            continue
        stock = wood.stocks[places[0]]
        strips = [_placed(wood, stock, strip, names, left) for strip in laid.strips]
        kept = tuple(strip for strip in strips if strip is not None)
        rests = rests_around(wood, stock, kept) if kept else None
        if rests is None:
            for strip in kept:
                _count(left, strip, 1)
            continue
        boards[places.pop(0)] = Sawn(stock, kept, rests, whole(stock))
    return Plan(tuple(boards), left)


def _placed(
    wood: Wood, stock: Stock, strip: LaidStrip, names: dict[str, int], left: dict[int, int]
) -> Placed | None:
    """The strip where it was, with the segments that are still wanted, or None."""
    taken = [(names[p.strip], p.count) for p in strip.pieces if p.strip in names]
    contents = tuple((item, min(n, left[item])) for item, n in taken if left[item] > 0)
    if not contents:
        return None
    kinds = {wood.items[item].kind for item, _ in contents}
    kind = kinds.pop()
    x_um, y_um = round(strip.x_mm * UM), round(strip.y_mm * UM)
    length_um, width_um = wood.strip_um(kind, contents), wood.kinds[kind].width_um
    placed = Placed(x_um, y_um, length_um, width_um, kind, contents)
    fits = kind in stock.fits and not kinds and length_um <= round(strip.length_mm * UM)
    if not fits or width_um > round(strip.width_mm * UM) or not sound(Sawn(stock, (placed,), ())):
        return None
    _count(left, placed, -1)
    return placed


def _count(left: dict[int, int], strip: Placed, sign: int) -> None:
    for item, count in strip.contents:
        left[item] += sign * count
