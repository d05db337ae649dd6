"""The shop sheets as one PDF."""

from datetime import datetime
from importlib.resources import files

from server.craft.planned import Planned
from server.craft.results import Plan
from server.exports.drawing import Drawing
from server.exports.pictures.portrait import portrait
from server.exports.pictures.section import Marks, section_elevation
from server.exports.profile_svg import profile_svg
from server.exports.sheets.facts import Facts, capped, cautions
from server.exports.standalone import standalone_svg
from server.exports.typeset.paper import Paper
from server.exports.typeset.press import FONTS, typeset
from server.exports.words import one_line

_MOST_LABELLED = 60
"""With more rings than this their numbers could not be read on one sheet."""

_MOST_SEGMENTS = 20_000
"""With more segments than this only the profile is drawn."""

_PICTURE_MM = 165.0
_LEAST_ROW = 20.0
_LEAST_RADIUS_MM = 1e-3
"""A drawing thinner than this is still a line on the axis."""


def sheets_pdf(planned: Planned, plan: Plan, paper: Paper, now: datetime) -> bytes:
    """The sheets on this paper, dated `now`."""
    size, facts = paper.size, Facts(planned, plan)
    name = one_line(planned.piece.name, 60)
    picture, words = _picture(planned, facts)
    data = {
        "title": f"{name}: shop sheets",
        "name": name,
        "fonts": FONTS,
        "date": now.strftime("%Y-%m-%d"),
        "lengths": "inches" if facts.units == "in" else "millimetres",
        "width": size.width_mm,
        "height": size.height_mm,
        "picture": picture,
        "picture_words": words,
        "picture_height": _PICTURE_MM,
        "summary": facts.summary(),
        "checks": capped(facts.checks()),
        "rings": capped(facts.rings()),
        "cuts": capped(facts.cuts()),
        "stacks": capped(facts.stacks()),
        "joints": capped(facts.joints()),
        "cautions": cautions(),
    }
    source = files("server.exports.sheets").joinpath("sheets.typ").read_text("utf-8")
    return typeset(source, data, now)


def _picture(planned: Planned, facts: Facts) -> tuple[str, str]:
    """The shop drawing, or a portrait of a piece of very many rings, and what it shows."""
    if max(part.outside.bounds[2] for part in planned.work.parts) < _LEAST_RADIUS_MM:
        return standalone_svg(Drawing(540.0, 760.0, "")), "Nothing to draw yet"
    count = len(planned.work.by_ring)
    if facts.plan.totals.segments > _MOST_SEGMENTS:
        return profile_svg(planned), "Profile, right half"
    if count > _MOST_LABELLED:
        return standalone_svg(portrait(planned, 520.0, 760.0)), "As it will stand"
    say = {part.id: facts.length(part.height_mm) for part in planned.work.parts}
    say[""] = facts.length(planned.work.top_mm - planned.work.bottom_mm)
    height = max(760.0, _LEAST_ROW * count + 60)
    drawing = section_elevation(
        planned,
        Marks(labels=facts.numbers),
        width=540.0,
        height=height,
        say_height=say,
        say_diameter=f"Ø {facts.length(facts.plan.totals.largest_diameter_mm)}",
    )
    return standalone_svg(drawing), "Section at the left, elevation at the right"
