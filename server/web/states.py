"""The sheet of every element: a living list that tests and eyes go through."""

from datetime import timedelta
from typing import Any

from starlette.requests import Request

from server.craft.wood.species import all_species
from server.web.fields import Fields
from server.web.frame import Cell, HeadTimer, frame, server_now


def state_context(request: Request) -> dict[str, Any]:
    """The context of `states.html`: a frame with timers of each kind, woods, a form gone wrong."""
    now = server_now(request)
    wrong = Fields({"thickness": ["2 5/0"], "segments": ["12"], "units": ["in"]}, "in")
    wrong.length("thickness")
    page = frame(
        request,
        place="",
        heading="States",
        subtitle="every element, for those who build it",
        cells=(Cell("Drawing", "14"), Cell("Scale", "1 : 1.6")),
    )
    timers = tuple(
        HeadTimer(
            f"t{letter}",
            letter,
            f"Faceplate {letter}",
            now + timedelta(minutes=m),
            kind,
            "/glue-bench",
            now,
        )
        for letter, m, kind in (("B", -3.2, "press"), ("A", 11.7, "press"), ("C", 1020, "cure"))
    )
    return {"frame": page, "timers": timers, "woods": all_species(), "form": wrong, "units": UNITS}


UNITS = (("in", "inches"), ("mm", "millimetres"))
