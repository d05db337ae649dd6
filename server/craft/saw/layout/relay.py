"""Laying the sections that the mixed programme chose, with whole segments."""

from collections.abc import Sequence

from server.craft.saw.layout.construct import Plan
from server.craft.saw.layout.fill import fill_lane
from server.craft.saw.layout.mix import Choice
from server.craft.saw.layout.problem import UM, Wood
from server.craft.saw.layout.sawn import Sawn, clear_rects
from server.craft.saw.layout.section import Lane, Spot, lay_section

_STRETCHES_UM = (0, 1 * UM, 3 * UM, 6 * UM, 12 * UM, 25 * UM, 50 * UM)


def best_laid(wood: Wood, start: Plan, choices: Sequence[Choice]) -> list[Plan]:
    """The sections laid as chosen and a little longer, until every segment has its place.

    Whole segments leave a little of a lane unused, so that the last few may need some length
    more. The plans come with fewer and fewer segments left.
    """
    plans: list[Plan] = []
    for stretch_um in _STRETCHES_UM:
        plan = laid(wood, start, choices, stretch_um)
        if not plans or plan.lacking < plans[-1].lacking:
            plans.append(plan)
        if not plan.lacking:
            break
    return plans


def laid(wood: Wood, start: Plan, choices: Sequence[Choice], stretch_um: int) -> Plan:
    """The plan with these sections laid, longest first; what does not fit stays to be cut."""
    boards, left = list(start.boards), dict(start.left)
    for choice in sorted(choices, key=lambda c: (c.ground.board, c.ground.x_um, -c.length_um)):
        board = choice.ground.board
        spot = _spot(boards[board], choice)
        if spot is None:
            continue
        lanes = _lanes(
            wood, choice, min(choice.length_um + stretch_um, _room(spot)), _height(spot), left
        )
        if lanes:
            boards[board] = lay_section(wood, boards[board], spot, lanes)
    return Plan(tuple(boards), left)


def _room(spot: Spot) -> int:
    return spot.clear[1] - spot.clear[0]


def _height(spot: Spot) -> int:
    return spot.clear[3] - spot.clear[2]


def _lanes(
    wood: Wood, choice: Choice, cap_um: int, height_um: int, left: dict[int, int]
) -> list[Lane]:
    """The pattern's lanes filled from what is left, which is reduced.

    The bound may put more lanes abreast than there is room for (it measures widths in its own
    favour); a lane that does not fit is left out.
    """
    lanes: list[Lane] = []
    for kind, count in enumerate(choice.pattern):
        width_um = wood.kinds[kind].width_um
        for _ in range(count):
            if width_um > height_um:
                break
            contents = fill_lane(wood, kind, left, cap_um)
            if contents:
                lanes.append(((kind, contents),))
                height_um -= width_um + wood.rip_um
                for item, pieces in contents:
                    left[item] -= pieces
    return lanes


def _spot(sawn: Sawn, choice: Choice) -> Spot | None:
    """The full-width rest that the section's ground still has."""
    for rest in sawn.rests:
        if rest[2] != 0 or rest[3] != sawn.stock.width_um:
            continue
        for clear in clear_rects(sawn.stock, rest):
            wide = clear[2] == 0 and clear[3] == sawn.stock.width_um
            if wide and clear[0] >= choice.ground.x_um:
                return Spot(rest, clear)
    return None
