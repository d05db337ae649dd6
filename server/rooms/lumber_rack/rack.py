"""What every page of the rack shows: the list by wood, the units, the frame around it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from fastapi import Request, Response

from server.craft.stock import Stock
from server.craft.units import Units
from server.craft.wood.properties import Species
from server.craft.wood.species import with_user_woods
from server.rooms.lumber_rack.views import groups
from server.store import own_woods, pieces
from server.web.frame import Cell, frame
from server.web.kept import kept
from server.web.stock import Thing, stock_in, things_of
from server.web.templates import render

UNITS_COOKIE = "ringwright_units"
ADDRESS = "/lumber-rack"


@dataclass(frozen=True, slots=True)
class Rack:
    """The rack now, and what a form needs to know of the shop."""

    things: Mapping[str, Thing]
    woods: Mapping[str, Species]
    units: Units
    pieces: tuple[tuple[str, str], ...]

    @property
    def stock(self) -> tuple[Stock, ...]:
        """What lies there, also what is used up; what was taken off is not among it."""
        return stock_in(self.things)


def rack_of(request: Request) -> Rack:
    """The rack as the request finds it."""
    records = kept(request, pieces.list_pieces)
    own = kept(request, own_woods.own_woods)
    drawn = [wood for record in records for wood in record.document.get("woods") or ()]
    known = {str(wood.get("id")): wood for wood in drawn if isinstance(wood, dict)}
    known |= {str(wood["id"]): wood for wood in own}
    newest = records[0].document.get("display_units") if records else None
    asked = request.cookies.get(UNITS_COOKIE, newest)
    return Rack(
        things=things_of(request),
        woods=with_user_woods(known.values()),
        units=cast(Units, asked) if asked in ("in", "mm") else "mm",
        pieces=tuple((record.id, record.name) for record in records),
    )


def show(
    request: Request,
    rack: Rack,
    panel: str,
    context: Mapping[str, Any],
    *,
    here: str | None = None,
    status: int = 200,
) -> Response:
    """The rack with a panel beside its list."""
    listed = groups(rack.stock, rack.woods, rack.units, here)
    count = sum(row.left for group in listed for row in group.rows)
    feet = sum(group.board_feet for group in listed)
    cells = (
        Cell("Board feet", f"{feet:.1f}"),
        Cell("Worth", f"{sum(group.worth for group in listed):.2f}"),
    )
    subtitle = f"{count} things of {len(listed)} woods"
    whole = {
        "groups": listed,
        "panel": panel,
        "units": rack.units,
        "unit": "″" if rack.units == "in" else "mm",
        "here": here,
        "form": None,
        **context,
        "frame": frame(request, place="lumber-rack", subtitle=subtitle, cells=cells),
    }
    return render(request, "lumber_rack/page.html", whole, status)
