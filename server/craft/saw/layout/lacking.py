"""What the rack could not give, and how much lumber that is."""

from server.craft.saw.layout.answer import Lacking
from server.craft.saw.layout.choose import Chooser
from server.craft.saw.layout.construct import Plan, Stop, complete, empty_plan, first_prices
from server.craft.saw.layout.problem import UM, Wood, woods_of
from server.craft.saw.request import Board, CuttingRequest, Strip
from server.craft.units import board_feet

_USUAL_LENGTH_MM = 2400.0
_USUAL_WIDTH_MM = 150.0
_ROOM_MM = 10.0


def lacking_rows(request: CuttingRequest, wood: Wood, plan: Plan, stop: Stop) -> list[Lacking]:
    """One row for each STRIP that is short.

    Its board feet come from laying out what is lacking again on boards of a usual size, offcuts
    taken back, shared out by area. It is more than the strips' own area, above all for a few
    small segments, because a strip must be long enough to hold.
    """
    short = [
        wood.items[item].strip.model_copy(update={"count": count})
        for item, count in sorted(plan.left.items())
        if count
    ]
    rows = []
    for thickness_mm in sorted({strip.thickness_mm for strip in short}):
        alike = [strip for strip in short if strip.thickness_mm == thickness_mm]
        areas = [_area_mm2(wood, strip) for strip in alike]
        feet = _feet(request, alike, sum(areas), stop)
        for strip, area in zip(alike, areas, strict=True):
            part = feet * area / sum(areas)
            rows.append(Lacking(strip.id, wood.name, thickness_mm, strip.count, part))
    return rows


def _area_mm2(wood: Wood, strip: Strip) -> float:
    item = next(i for i, item in enumerate(wood.items) if item.strip.id == strip.id)
    kind = wood.items[item].kind
    length_um = wood.strip_um(kind, [(item, strip.count)])
    return length_um / UM * wood.kinds[kind].width_um / UM


def _feet(request: CuttingRequest, strips: list[Strip], area_mm2: float, stop: Stop) -> float:
    """Board feet that these strips take of usual boards; at least their own area."""
    thickness_mm = strips[0].thickness_mm + request.saw.plane_mm
    least = board_feet(thickness_mm, area_mm2, 1.0)
    trial = _on_offer(request, strips, area_mm2)
    woods = woods_of(trial)
    wood = woods[0]
    if not wood.stocks:
        return least
    plan, _ = complete(Chooser(wood), empty_plan(wood), first_prices(wood), stop)
    return max(least, plan.cost) if not plan.lacking else least


def _on_offer(request: CuttingRequest, strips: list[Strip], area_mm2: float) -> CuttingRequest:
    """A request for these strips on plenty of usual boards at 1 for each board foot."""
    width_mm = max(_USUAL_WIDTH_MM, *(strip.width_mm + _ROOM_MM for strip in strips))
    longest = max(strip.outer_edge_mm for strip in strips)
    length_mm = max(_USUAL_LENGTH_MM, 2 * longest + 2 * request.saw.end_trim_mm)
    board = Board(
        id="on-offer",
        wood=strips[0].wood,
        thickness_mm=strips[0].thickness_mm + request.saw.plane_mm,
        width_mm=width_mm,
        length_mm=length_mm,
        count=2 + int(3 * area_mm2 / (width_mm * length_mm)) + len(strips),
        price_per_board_foot=1.0,
    )
    return request.model_copy(update={"strips": strips, "rack": [board]})
