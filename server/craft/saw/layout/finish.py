"""First fit, strip after strip: plain, quick, and always done in time."""

from server.craft.saw.layout.construct import Plan, Stop
from server.craft.saw.layout.fill import quick_lane
from server.craft.saw.layout.problem import Wood
from server.craft.saw.layout.sawn import Sawn, clear_rects
from server.craft.saw.layout.section import Spot, lay_section


def first_fit(wood: Wood, start: Plan, stop: Stop) -> Plan:
    """Lay what is left, widest strips first, each into the first rest that holds it.

    Opened boards go before closed ones, and small value before large.
    """
    boards = list(start.boards)
    left = dict(start.left)
    order = sorted(
        range(len(boards)), key=lambda i: (not boards[i].strips, boards[i].stock.value, i)
    )
    for kind in sorted(range(len(wood.kinds)), key=lambda k: -wood.kinds[k].width_um):
        for index in order:
            while not stop() and any(left[item] for item in wood.kinds[kind].items):
                laid = _lay_one(wood, boards[index], kind, left)
                if laid is None:
                    break
                boards[index] = laid
    return Plan(tuple(boards), left)


def _lay_one(wood: Wood, sawn: Sawn, kind: int, left: dict[int, int]) -> Sawn | None:
    if kind not in sawn.stock.fits:
        return None
    width_um = wood.kinds[kind].width_um
    for rest in sawn.rests:
        if rest[3] - rest[2] < width_um:
            continue
        for clear in clear_rects(sawn.stock, rest):
            room_um = clear[1] - clear[0]
            if clear[3] - clear[2] < width_um or room_um < wood.shortest_um:
                continue
            contents = quick_lane(wood, kind, left, room_um)
            if contents:
                for item, count in contents:
                    left[item] -= count
                spot = Spot(rest, clear, rip_first=room_um >= rest[1] - rest[0] - room_um)
                return lay_section(wood, sawn, spot, [((kind, contents),)])
    return None
