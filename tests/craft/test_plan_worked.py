"""The whole plan of a piece against values worked out numerically, without the trade's formulas.

Source: `tests/data/checks/geometry_worked.csv`, rows F (closed), P (profile), W (wedge gaps),
G (parallel gaps), S (spacers), T (staves) and V (vessels), to their last printed digit.
"""

import csv
import json
import math
from pathlib import Path
from typing import Any

import pytest
from piece_makers import curve, piece, planned, ring, stack

from server.craft.results import RingPlan
from server.demo import demo_piece

HALF_DIGIT = 0.5e-5
ROWS = {
    row["id"]: (json.loads(row["inputs"]), json.loads(row["results_numeric"]))
    for row in csv.DictReader(
        (Path(__file__).parent.parent / "data/checks/geometry_worked.csv")
        .read_text("utf-8")
        .splitlines()
    )
}


def tube(inside_mm: float, outside_mm: float, segments: int, **more: Any) -> RingPlan:
    """The plan of one open ring of this annulus."""
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((outside_mm, 0), (outside_mm, 20)),
        "inside": curve((inside_mm, 0), (inside_mm, 20)),
        "rings": [ring("r0", 20.0, segments, **more)],
    }
    return planned(piece([part])).parts[0].rings[0]


@pytest.mark.parametrize(
    ("row", "more"),
    [
        ("F02", {}),
        ("F06", {}),
        ("F11", {}),
        ("W01", {"gap": {"angle_deg": 2.0}}),
        ("G02", {"gap": {"width_mm": 3.0}}),
        ("S02", {"spacer": {"thickness_mm": 3.0}}),
    ],
)
def test_flat_rings_of_each_kind(row: str, more: dict[str, Any]) -> None:
    inputs, results = ROWS[row]
    made = tube(inputs["r_i"], inputs["r_o"], inputs["N"], **more)
    [segment] = made.segments

    assert made.outside_radius_mm == inputs["r_o"]
    assert made.board_width_mm == pytest.approx(results["width"], abs=HALF_DIGIT)
    assert segment.outer_edge_mm == pytest.approx(results["L_out"], abs=HALF_DIGIT)
    assert segment.inner_edge_mm == pytest.approx(results["L_in"], abs=HALF_DIGIT)
    gap = inputs.get("gap_deg", 0.0)
    assert segment.mitre_deg == pytest.approx(180 / inputs["N"] - gap / 2, abs=1e-12)
    assert segment.count == inputs["N"]


def test_a_pie_ring_reaches_the_axis() -> None:
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((40, 0), (40, 20)),
        "rings": [ring("r0", 20.0, 8)],
    }
    made = planned(piece([part])).parts[0].rings[0]
    [segment] = made.segments
    # Machinery's Handbook, regular polygons, n = 8: side 0.8284 of the inscribed radius.
    assert segment.outer_edge_mm == pytest.approx(0.8284 * 40, abs=0.002)
    assert (segment.inner_edge_mm, segment.width_mm) == (0.0, 40.0)


def test_the_slab_of_a_cone_counts_its_widest_and_narrowest_place() -> None:
    inputs, results = ROWS["P01"]
    (inner, outer), height = (inputs["r_i_at_ends"], inputs["r_o_at_ends"]), inputs["z1"]
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((outer[0], 0), (outer[1], height)),
        "inside": curve((inner[0], 0), (inner[1], height)),
        "rings": [ring("r0", height, inputs["N"])],
    }
    made = planned(piece([part])).parts[0].rings[0]
    assert made.finished_outside_radius_mm == pytest.approx(results["r_o_max"], abs=HALF_DIGIT)
    assert made.finished_inside_radius_mm == pytest.approx(results["r_i_min"], abs=HALF_DIGIT)
    assert made.board_width_mm == pytest.approx(results["width"], abs=HALF_DIGIT)


@pytest.mark.parametrize("row", ["T03", "T05"])
def test_staves_of_a_cone(row: str) -> None:
    inputs, results = ROWS[row]
    height, lean = inputs["H"], inputs["theta"]
    wider = height * math.tan(math.radians(lean))
    outer, inner = inputs["r_o_bottom"], inputs["r_i_bottom"]
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((outer, 0), (outer + wider, height)),
        "inside": curve((inner, 0), (inner + wider, height)),
        "rings": [ring("r0", height, inputs["N"], kind="stave", lean_deg=lean)],
    }
    made = planned(piece([part])).parts[0].rings[0]
    [stave] = made.segments

    assert stave.mitre_deg == pytest.approx(results["mitre"], abs=HALF_DIGIT)
    assert stave.bevel_deg == pytest.approx(results["bevel"], abs=HALF_DIGIT)
    assert stave.outer_edge_mm == pytest.approx(results["width_out_top"], abs=HALF_DIGIT)
    assert stave.inner_edge_mm == pytest.approx(results["width_out_bot"], abs=HALF_DIGIT)
    assert stave.board_thickness_mm == pytest.approx(results["thickness"], abs=HALF_DIGIT)
    assert stave.blank_length_mm == pytest.approx(results["blank_length"], abs=HALF_DIGIT)


def test_a_beaker_weighs_holds_and_tips_as_worked_out() -> None:
    inputs, results = ROWS["V02"]
    floor, height = inputs["z"][1], inputs["z"][2]
    # The worked beaker: wood 161,276.8 mm³, contents 341,378.0 mm³ between floor and rim.
    inside = math.sqrt(results["capacity"] / math.pi / (height - floor))
    outside = math.sqrt((results["V_wood"] + results["capacity"]) / math.pi / height)
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((outside, 0), (outside, height)),
        "inside": curve((0, floor), (inside, floor), (inside, height)),
        "rings": [ring("r0", height / 2), ring("r1", height / 2)],
        "wood": "plain",
    }
    density = inputs["density_g_mm3"] * 1e6
    woods = [{"id": "plain", "name": "Plain", "density_kg_m3": density}]
    totals = planned(piece([part], woods=woods)).totals

    assert totals.mass_kg == pytest.approx(results["mass_g"] / 1000, abs=1e-8)
    assert totals.capacity_ml == pytest.approx(results["capacity"] / 1000, abs=1e-8)
    assert totals.centre_of_gravity_mm == pytest.approx(results["z_cg"], abs=HALF_DIGIT)
    assert totals.tip_angle_deg == pytest.approx(
        math.degrees(math.atan(outside / results["z_cg"])), abs=HALF_DIGIT
    )


@pytest.mark.parametrize(("row", "flip"), [("K04f", True), ("K04n", False)])
def test_strips_are_as_long_as_worked_out(row: str, flip: bool) -> None:
    inputs, results = ROWS[row]
    outer, width, half = inputs["L_out"], inputs["width"], math.pi / inputs["N"]
    outside = outer / 2 / math.tan(half)
    inside = (outside - width) / math.cos(half)
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((outside, 0), (outside, 20)),
        "inside": curve((inside, 0), (inside, 20)),
        "rings": [ring("r0", 20.0, inputs["N"])],
    }
    saw = {"blade_kerf_mm": inputs["kerf"], "flip": flip, "end_trim_mm": 7, "hold_tail_mm": 90}
    [strip] = planned(piece([part], saw=saw)).strips
    assert strip.width_mm == pytest.approx(width, abs=1e-9)
    assert strip.length_mm == pytest.approx(results["strip"], abs=HALF_DIGIT)


def test_three_rings_of_half_an_inch_end_where_the_form_does() -> None:
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((40, 0), (40, 38.1)),
        "rings": [ring(f"r{number}", 12.7) for number in range(3)],
    }
    made = planned(piece([part], stacks=[stack("s", "p", ["r0", "r1", "r2"])]))
    assert made.parts[0].rings[2].finished_outside_radius_mm == 40
    assert not [check for check in made.checks if check.severity == "stop"]


def test_pressed_and_holding_areas_between_two_rings() -> None:
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((60, 0), (60, 40)),
        "inside": curve((50, 0), (50, 40)),
        "rings": [ring("r0", 20.0, phase=0.0), ring("r1", 20.0, phase=0.0)],
    }
    made = planned(piece([part], stacks=[stack("s", "p", ["r0", "r1"])]))
    lower, upper = made.parts[0].rings

    assert lower.rough_overlap_mm2 is None
    # In line, two twelve-sided rings cover each other: 12·tan 15°·(R² − a²), a = 50·cos 15°.
    apothem = 50 * math.cos(math.radians(15))
    whole = 12 * math.tan(math.radians(15)) * (60**2 - apothem**2)
    assert upper.rough_overlap_mm2 == pytest.approx(whole, rel=1e-12)
    assert upper.finished_face_mm2 == pytest.approx(math.pi * (60**2 - 50**2), rel=1e-12)
    assert upper.press_force_n == pytest.approx(0.15 * whole)


def test_a_disc_wider_than_its_board_is_glued_from_several() -> None:
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((50, 0), (50, 20)),
        "rings": [ring("r0", 20.0, kind="disc", board_width_mm=40)],
    }
    rows = planned(piece([part])).strips
    # Three boards of 33.3 mm; the middle one is 100 mm long, the others as the circle is at 16.7.
    assert [row.width_mm for row in rows] == pytest.approx([100 / 3, 100 / 3])
    assert sorted((row.count, row.outer_edge_mm) for row in rows) == [
        (1, pytest.approx(100.0)),
        (2, pytest.approx(2 * math.sqrt(50**2 - (50 / 3) ** 2))),
    ]
    part["rings"] = [ring("r0", 20.0, kind="disc", board_width_mm=100)]
    [whole] = planned(piece([part])).strips
    assert (whole.count, whole.width_mm, whole.length_mm) == (1, 100.0, 100.0)


def test_two_stacks_are_joined_with_a_mark() -> None:
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((60, 0), (60, 40)),
        "inside": curve((50, 0), (50, 40)),
        "rings": [ring("r0", 20.0, phase=0.25), ring("r1", 20.0, phase=0.75)],
    }
    stacks = [stack("low", "p", ["r0"]), stack("high", "p", ["r1"], mounted="top")]
    low, high = planned(piece([part], stacks=stacks)).stacks

    assert low.joins == ()
    [join] = high.joins
    assert (join.ring, join.onto, join.onto_stack) == ("r1", "r0", "low")
    # Half a pitch of 30° along the rim of 60 mm.
    assert join.register_mm == pytest.approx(math.radians(15) * 60)
    assert join.finished_face_mm2 == pytest.approx(math.pi * (60**2 - 50**2))
    # Seen from below r1 stands at 0.25 of its pitch; from above r0 too.
    assert low.rings[0].zero_mm == pytest.approx(math.radians(7.5) * 60)
    assert high.rings[0].zero_mm == pytest.approx(math.radians(7.5) * 60)


def test_a_spindle_s_blank_is_cut_with_its_tenons_and_wood_to_part_off() -> None:
    """10 mm at each end for the centres and the parting is common practice, no published number."""
    document = demo_piece()
    stem = next(part for part in document["parts"] if part["kind"] == "spindle")
    heights = [point["z_mm"] for point in stem["outside"]["points"]]
    tenons = [j["depth_mm"] for j in document["joints"] if j["tenon"]["part"] == stem["id"]]
    assert len(tenons) == 2
    (blank,) = [row for row in planned(document).strips if row.kind == "spindle"]
    long = max(heights) - min(heights) + sum(tenons) + 20
    assert (blank.length_mm, blank.outer_edge_mm) == (pytest.approx(long), pytest.approx(long))
    assert blank.thickness_mm == blank.width_mm < long
