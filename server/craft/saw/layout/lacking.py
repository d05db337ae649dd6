"""What the rack could not give."""

from server.craft.saw.layout.answer import Lacking
from server.craft.saw.layout.construct import Plan
from server.craft.saw.layout.problem import UM, Wood
from server.craft.units import board_feet


def lacking_rows(wood: Wood, plan: Plan) -> list[Lacking]:
    """One row for each STRIP that is short, with the strip's own lumber as its board feet."""
    rows = []
    for index, count in sorted(plan.left.items()):
        if count:
            item = wood.items[index]
            kind = wood.kinds[item.kind]
            length_mm = wood.strip_um(item.kind, [(index, count)]) / UM
            feet = board_feet(item.strip.thickness_mm, kind.width_um / UM, length_mm)
            rows.append(Lacking(item.strip.id, wood.name, item.strip.thickness_mm, count, feet))
    return rows
