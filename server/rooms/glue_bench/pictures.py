"""From the plan to the pictures of the stacks: true widths, true phases, the woods' own colours."""

from functools import lru_cache

from markupsafe import Markup

from server.craft.floor import StackOrder
from server.craft.glue.pressure import pressing
from server.craft.worked.rings import WorkedRing
from server.exports.svg import number, to_svg
from server.rooms.glue_bench.bench import Bench
from server.rooms.glue_bench.stack_drawing import (
    MARK_SIZE,
    DrawnRing,
    DrawnStack,
    Facet,
    State,
    common_scale,
    draw_stack,
    mark_corners,
)

BARE_BLOCK_MM = (60.0, 15.0)
"""How a waste block is drawn whose size the drawing does not give: diameter and thickness."""

_WAITS = Markup(
    '<g class="waits" data-waits="{ring}" transform="translate({x} {y})">'
    '<rect class="litf" width="{size}" height="{size}"/>'
    '<use href="#i-unsent" width="{size}" height="{size}"/></g>'
)


def stack_pictures(bench: Bench) -> dict[str, Markup]:
    """An SVG for each stack, all to one scale."""
    drawn = tuple(drawn_stack(bench, order) for order in bench.orders)
    return dict(zip((order.id for order in bench.orders), _pictures(drawn), strict=True))


@lru_cache(maxsize=64)
def _pictures(drawn: tuple[DrawnStack, ...]) -> tuple[Markup, ...]:
    """Drawn again only when a ring has moved."""
    scale = common_scale(list(drawn))
    return tuple(_picture(what, scale) for what in drawn)


def _picture(stack: DrawnStack, scale: float) -> Markup:
    """The drawing, and on each ring the sign that the device shows while a tick of it waits."""
    drawing = to_svg(draw_stack(stack, scale), "pic")
    signs = [
        _WAITS.format(ring=ring, x=number(x), y=number(y), size=number(MARK_SIZE))
        for ring, (x, y) in mark_corners(stack, scale).items()
    ]
    return Markup(drawing.removesuffix("</svg>")) + Markup("").join(signs) + Markup("</svg>")


def drawn_stack(bench: Bench, order: StackOrder) -> DrawnStack:
    """One stack as it stands on the floor now."""
    block = bench.drawn(order.id).waste_block
    across, high = (block.diameter_mm, block.thickness_mm) if block is not None else BARE_BLOCK_MM
    rings = tuple(_ring(bench, order, ring.id, ring.label) for ring in order.rings)
    return DrawnStack(
        title=_title(order, rings),
        rings=rings,
        block_radius_mm=across / 2,
        block_height_mm=high,
        press_words=press_words(bench, order),
    )


def press_words(bench: Bench, order: StackOrder) -> tuple[str, str]:
    """The press's force and the clamps to add, for the ring that is in it."""
    held = bench.floor.stack(order.id).in_press
    joint = bench.planned.gluing.get(held[-1]) if held else None
    force = bench.piece.lathe.press_force_n
    said = f"{force:,.0f} N".replace(",", " ")
    if joint is None or not joint.rough_overlap_mm2:
        return said, ""
    clamp = bench.piece.lathe.clamp_force_n
    least = bench.planned.work.limit("press-force-exceeded")
    if clamp <= 0:
        return said, ""
    clamps = pressing(joint.rough_overlap_mm2, force, clamp, 0.5, least).clamps_to_least
    return said, f"+{clamps} clamp{'' if clamps == 1 else 's'}" if clamps else ""


def _title(order: StackOrder, rings: tuple[DrawnRing, ...]) -> str:
    words = {"on": "on", "press": "in the press", "to-come": "still to come"}
    parts = []
    for state, said in words.items():
        labels = [ring.label for ring in rings if ring.state == state]
        if labels:
            noun = "ring" if len(labels) == 1 else "rings"
            parts.append(f"{noun} {', '.join(labels)} {said}")
    return f"Faceplate {order.faceplate}: {'; '.join(parts) or 'no rings'}"


def _ring(bench: Bench, order: StackOrder, ring_id: str, label: str) -> DrawnRing:
    worked = bench.worked(ring_id)
    state = _state(bench, ring_id)
    radius = worked.corner_radius_mm or BARE_BLOCK_MM[0] / 2
    return DrawnRing(
        label=label,
        state=state,
        radius_mm=radius,
        height_mm=worked.ring.thickness_mm,
        facets=_facets(bench, order, worked),
        id=ring_id,
    )


def _state(bench: Bench, ring_id: str) -> State:
    place = bench.floor.ring(ring_id).place
    return place if place is not None else "to-come"


def _facets(bench: Bench, order: StackOrder, worked: WorkedRing) -> tuple[Facet, ...]:
    woods = bench.planned.woods
    if not worked.ring.is_segmented:
        wood = woods[worked.woods[0]]
        return (Facet(-90.0, 90.0, wood.colour_hex, wood.grain_hex),)
    shares = worked.ring.shares or (1.0,) * worked.ring.segments
    drawn = bench.drawn(order.id)
    way = -1.0 if drawn.mounted == "top" else 1.0
    at = way * worked.ring.phase * 2 * worked.half_angle_deg
    found: list[Facet] = []
    for share, name in zip(shares, worked.woods, strict=True):
        step = way * 360.0 * share / sum(shares)
        low, high = sorted((at, at + step))
        low, high = low % 360.0, low % 360.0 + (high - low)
        wood = woods[name]
        found += [Facet(low, high, wood.colour_hex, wood.grain_hex)]
        at += step
    return tuple(found)
