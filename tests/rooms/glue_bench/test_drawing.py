"""The stacks are drawn to scale from the plan, and the advice counts with the plan's numbers."""

import re
from datetime import UTC, datetime

import pytest
from live_shop import goblet

from server.craft.document import parse_piece
from server.craft.floor import Floor, NextThing
from server.craft.ledger import Kind
from server.craft.plan import plan
from server.craft.planned import work_out
from server.exports.drawing import Path, Pen
from server.rooms.glue_bench.advice import advice
from server.rooms.glue_bench.bench import Bench
from server.rooms.glue_bench.pictures import drawn_stack, stack_pictures
from server.rooms.glue_bench.stack_drawing import (
    HEIGHT,
    WIDTH,
    DrawnRing,
    DrawnStack,
    Facet,
    common_scale,
    draw_stack,
)

NOW = datetime(2031, 3, 5, 12, 0, tzinfo=UTC)


@pytest.fixture
def bench():
    return Bench("cup", work_out(parse_piece(goblet())), Floor(now=NOW), NOW)


def outlines(drawing, pen):
    """Width and height of each ring's outline."""
    boxes = [item for item in drawing.items if isinstance(item, Path) and item.pen is pen]
    found = []
    for box in boxes:
        xs, ys = [x for x, _ in box.points], [y for _, y in box.points]
        if box.closed and box.fill is None:
            found.append((max(xs) - min(xs), max(ys) - min(ys)))
    return found


def test_rings_have_the_plans_widths_and_heights_to_one_scale(bench):
    stacks = [drawn_stack(bench, order) for order in bench.orders]
    scale = common_scale(stacks)
    rings = {ring.id: ring for part in plan(bench.piece).parts for ring in part.rings}
    for order, stack in zip(bench.orders, stacks, strict=True):
        boxes = outlines(draw_stack(stack, scale), Pen.PHANTOM)
        assert len(boxes) == len(order.rings)
        for _ring, (_width, height) in zip(order.rings, boxes, strict=True):
            assert height == pytest.approx(12.5 * scale)
        radii = [ring.radius_mm for ring in stack.rings]
        assert radii == [rings[ring.id].corner_radius_mm for ring in order.rings]


def test_a_segmented_ring_is_as_wide_as_its_corners_seen_from_the_front():
    """Eight segments, a corner at the middle: the widest corners stand at ±90°."""
    facets = tuple(Facet(45.0 * n, 45.0 * (n + 1), "#aa8855", "#775533") for n in range(8))
    ring = DrawnRing("1", "on", 50.0, 10.0, facets)
    drawing = draw_stack(DrawnStack("A", (ring,), 30, 20), 1.5)
    boxes = outlines(drawing, Pen.WIDE)
    assert (2 * 50 * 1.5, 10 * 1.5) in [pytest.approx(box) for box in boxes]


def test_built_from_the_rim_turns_the_other_way_round(bench):
    up, down = (drawn_stack(bench, bench.orders[n]) for n in (0, 1))
    first = up.rings[1].facets[0]
    assert first.end_deg - first.start_deg == pytest.approx(45.0)
    assert [ring.label for ring in down.rings] == ["6", "5", "4"]


@pytest.mark.parametrize("count", [0, 1, 3, 12, 60])
@pytest.mark.parametrize("pressed", [False, True])
def test_any_stack_fits_its_sheet(count, pressed):
    facet = (Facet(-90, 90, "#aa8855", "#775533"),)
    rings = tuple(
        DrawnRing(str(n + 1), "on" if n < count // 2 else "to-come", 40 + n, 8, facet)
        for n in range(count)
    )
    if pressed and rings:
        middle = rings[count // 2]
        rings = (
            *rings[: count // 2],
            DrawnRing(middle.label, "press", middle.radius_mm, 8, facet),
            *rings[count // 2 + 1 :],
        )
    stack = DrawnStack("A", rings, 30, 25, ("1 500 N", ""))
    drawing = draw_stack(stack, common_scale([stack]))
    for item in drawing.items:
        if isinstance(item, Path):
            for x, y in item.points:
                assert -0.1 <= x <= WIDTH + 0.1
                assert -12 <= y <= HEIGHT + 0.1


def test_the_picture_says_in_words_what_it_shows(bench):
    pictures = stack_pictures(bench)
    assert "Faceplate A: rings 1, 2, 3 still to come" in pictures["low"]
    assert "style=" not in pictures["low"]


def gluing(ring, stack, kind=Kind.CLAMPED):
    return NextThing("clamp", "", "", kind, stack, "A", ring)


def test_pressure_is_force_over_the_plans_rough_overlap(bench):
    overlap = next(
        ring.rough_overlap_mm2 for ring in plan(bench.piece).parts[0].rings if ring.id == "c2"
    )
    (line, *_rest) = advice(bench, gluing("c2", "low"))
    found = re.search(r"([\d.]+) MPa on (\d+) cm²", line)
    assert float(found[1]) == pytest.approx(1500 / overlap, abs=0.005)
    assert float(found[2]) == pytest.approx(overlap / 100, abs=0.5)


def test_clamps_are_counted_and_placed_when_the_press_is_too_weak(bench):
    weak = parse_piece(goblet() | {"lathe": {"press_force_n": 100, "clamp_force_n": 200}})
    (line, *_rest) = advice(Bench("cup", work_out(weak), Floor(now=NOW), NOW), gluing("c2", "low"))
    overlap = next(ring.rough_overlap_mm2 for ring in plan(weak).parts[0].rings if ring.id == "c2")
    needed = -(-(0.15 * overlap - 100) // 200)
    assert f"Add {needed:.0f} clamp" in line
    assert "0°" in line


def test_the_first_ring_on_its_block_has_no_overlap_to_press(bench):
    assert not any("MPa" in line for line in advice(bench, gluing("c1", "low")))


def test_the_band_is_as_long_as_the_ring_and_a_tail(bench):
    lines = advice(bench, gluing("c3", "low", Kind.CLOSED))
    worked = bench.worked("c3")
    import math

    perimeter = 2 * 12 * worked.outside_mm * math.tan(math.pi / 12)
    found = re.search(r"Band clamp (\d+) mm long", lines[0])
    assert float(found[1]) == pytest.approx(perimeter + 150, abs=0.6)


def test_halves_when_the_glue_does_not_stay_open(bench):
    document = goblet()
    document["parts"][0]["rings"][2]["segments"] = 48
    many = Bench("cup", work_out(parse_piece(document)), Floor(now=NOW), NOW)
    lines = advice(many, gluing("c3", "low", Kind.HALVES_GLUED))
    assert "Glue it in" in lines[0]
