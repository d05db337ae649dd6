"""For each code a piece that has it and its nearest neighbour that has not."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from piece_makers import beaker, codes, curve, found, piece, planned, ring, stack

from server.craft.document import parse_piece
from server.craft.findings import Check, Severity
from server.craft.mends import apply_mend
from server.craft.plan import plan
from server.craft.wood.moisture import equilibrium_moisture_percent

Document = dict[str, Any]


def body(document: Document) -> Document:
    part: Document = document["parts"][0]
    return part


def with_ring(**changes: Any) -> Document:
    document = beaker()
    body(document)["rings"][1] |= changes
    return document


def spacers(thickness_mm: float) -> Document:
    # The rough inside radius is 48 mm: 2·48·sin 15° = 24.846 mm is the limit.
    return with_ring(spacer={"thickness_mm": thickness_mm})


def gaps(angle_deg: float) -> Document:
    return with_ring(gap={"angle_deg": angle_deg})


def inside_at(radius_mm: float) -> Document:
    document = beaker()
    body(document)["inside"] = curve((0, 15), (radius_mm, 15), (radius_mm, 60))
    return document


def floor_at(height_mm: float) -> Document:
    document = beaker()
    body(document)["inside"] = curve((0, height_mm), (48, height_mm), (48, 60))
    return document


def top_ring(thickness_mm: float) -> Document:
    document = beaker()
    body(document)["rings"][2]["thickness_mm"] = thickness_mm
    return document


def board(width_mm: float) -> Document:
    # R 60, r 48, N 12: W = 60 − 48·cos 15° = 13.63556 mm.
    return with_ring(board_width_mm=width_mm)


def footed(depth_mm: float, **ring_changes: Any) -> Document:
    """A foot of one solid ring, 20 mm thick, with a stem's tenon in its top."""
    foot = {
        "id": "foot",
        "kind": "ringed",
        "outside": curve((50, 0), (50, 20)),
        "rings": [ring("f0") | ring_changes],
    }
    stem = {"id": "stem", "kind": "spindle", "outside": curve((12, 0), (12, 60))}
    joint = {
        "id": "j",
        "tenon": {"part": "stem", "end": "bottom"},
        "mortise": {"part": "foot", "end": "top"},
        "diameter_mm": 12,
        "depth_mm": depth_mm,
    }
    return piece([foot, stem], joints=[joint], stacks=[stack("s", "foot", ["f0"])])


def mounted_by_the_top(depth_mm: float) -> Document:
    document = footed(depth_mm)
    document["stacks"][0]["mounted"] = "top"
    return document


def order(*rings: str, mounted: str = "bottom") -> Document:
    document = beaker()
    document["stacks"] = [stack("s", "body", list(rings), mounted=mounted)]
    return document


def segments(count: int) -> Document:
    return with_ring(segments=count)


def saw(tail_mm: float) -> Document:
    # 12 segments of the solid first ring: 12·16.077 + 16.077 + 13·2.485 = 241.3 mm of strip.
    document = beaker()
    document["saw"] = {"hold_tail_mm": tail_mm, "shortest_strip_mm": 300}
    return document


def lathe(**changes: float) -> Document:
    document = beaker()
    document["lathe"] |= changes
    return document


def block(diameter_mm: float) -> Document:
    document = beaker()
    document["stacks"][0]["waste_block"]["diameter_mm"] = diameter_mm
    return document


def shop_at(temperature_c: float) -> Document:
    document = beaker()
    document["room"]["temperature_c"] = temperature_c
    return document


def many_joints(count: int) -> Document:
    # Yellow PVA stays open for 5 min in a warm shop, ten seconds a joint.
    document = with_ring(segments=count, phase=0.37)
    document["limits"] = {"segment-small": 0, "joints-aligned": 0}
    return document


def moisture(percent: float) -> Document:
    document = with_ring(moisture_percent=percent)
    body(document)["rings"][0]["moisture_percent"] = 8
    return document


def winter(humidity_percent: float) -> Document:
    document = beaker()
    document["climate"] = [{"temperature_c": 20, "humidity_percent": humidity_percent}]
    return document


def stem(radius_mm: float) -> Document:
    outside = curve((radius_mm, 0), (radius_mm, 150))
    spindle = {"id": "stem", "kind": "spindle", "wood": "ash-white", "outside": outside}
    return piece([spindle], limits={"tips-easily": 0})


def standing(radius_mm: float) -> Document:
    outside = curve((radius_mm, 0), (radius_mm, 100))
    return piece([{"id": "post", "kind": "spindle", "outside": outside}])


def stepped(height_mm: float) -> Document:
    document = beaker()
    body(document)["outside"] = curve((60, 0), (60, height_mm), (57, height_mm), (57, 60))
    return document


def thin_face(radius_mm: float) -> Document:
    document = inside_at(radius_mm)
    document["limits"] = {"wall-thin": 0}
    return document


def share(relative: float) -> Document:
    # One of twelve takes `relative` parts, the others one each: from 11 on it is half the turn.
    return with_ring(shares=[relative, *[1.0] * 11])


def lean(degrees: float) -> Document:
    document = beaker()
    del body(document)["inside"]
    body(document)["rings"][2] |= {"kind": "stave", "lean_deg": degrees}
    return document


def floating(gap_mm: float) -> Document:
    """A disc of sugar maple, 120 mm wide, under a ring, in a house that gets damp."""
    document = with_ring()
    body(document)["rings"][0] |= {"kind": "disc", "floating_gap_mm": gap_mm}
    document["climate"] = [{"temperature_c": 20, "humidity_percent": 60}]
    return document


def staves(humidity_percent: float) -> Document:
    document = winter(humidity_percent)
    body(document)["rings"][2]["kind"] = "stave"
    return document


def plug(diameter_mm: float) -> Document:
    # The ring is 120 across, and its rough hole 96.
    return with_ring(plug={"diameter_mm": diameter_mm})


def bored_in(radius_mm: float) -> Document:
    # The mortise is 12.15 across: 5 mm are left around it at a radius of 11.075 mm.
    document = footed(10)
    document["parts"][0]["outside"] = curve((radius_mm, 0), (radius_mm, 20))
    document["limits"] = {"stem-weak": 0, "tips-easily": 0}
    return document


OWN_LIMIT = (
    "wall-thin",
    "floor-thin",
    "glue-face-small",
    "segment-small",
    "strip-short",
    "press-force-exceeded",
    "moisture-mismatch",
    "season-gap",
    "stem-weak",
    "tips-easily",
)
"""Codes whose limit can be set to any value in the value's own unit."""

PAIRS: list[tuple[str, Severity, Callable[..., Document], Any, Any]] = [
    ("spacer-too-thick", Severity.STOP, spacers, 24.85, 24.84),
    ("gap-too-wide", Severity.STOP, gaps, 30.0, 29.9),
    ("inside-outside", Severity.STOP, inside_at, 60.5, 59.5),
    ("height-mismatch", Severity.STOP, top_ring, 20.0101, 20.01),
    ("height-mismatch", Severity.STOP, top_ring, 19.9899, 19.99),
    ("wall-thin", Severity.WARN, inside_at, 57.01, 57.0),
    ("floor-thin", Severity.WARN, floor_at, 4.9, 5.0),
    ("board-narrow", Severity.STOP, board, 13.6355, 13.6356),
    ("joint-shallow", Severity.STOP, footed, 13.6, 13.5),
    ("joint-unreachable", Severity.WARN, mounted_by_the_top, 13.6, 13.5),
    ("gap-not-bridged", Severity.STOP, gaps, 29.99999999999, 20.0),
    ("glue-face-small", Severity.WARN, thin_face, 56.01, 56.0),
    ("share-too-wide", Severity.STOP, share, 12.0, 10.0),
    ("lean-too-great", Severity.STOP, lean, 80.5, 80.0),
    ("disc-held", Severity.WARN, floating, 0.4, 2.0),
    ("staves-work", Severity.NOTE, staves, 30, 44),
    ("plug-too-wide", Severity.STOP, plug, 120.5, 119.9),
    ("plug-too-small", Severity.WARN, plug, 95.9, 96.0),
    ("joint-wall-thin", Severity.WARN, bored_in, 11.07, 11.075),
    ("swing-exceeded", Severity.STOP, lambda mm: lathe(swing_mm=mm), 124.2, 124.3),
    ("centres-exceeded", Severity.STOP, lambda mm: lathe(between_centres_mm=mm), 84.9, 85.0),
    ("press-force-exceeded", Severity.WARN, lambda n: lathe(press_force_n=n), 500, 3000),
    ("plate-needed", Severity.NOTE, block, 79.9, 80.0),
    ("too-cold", Severity.STOP, shop_at, 9.9, 15.0),
    ("open-time-short", Severity.WARN, many_joints, 72, 12),
    ("moisture-mismatch", Severity.WARN, moisture, 10.1, 10.0),
    ("season-gap", Severity.WARN, winter, 20, 44),
    ("stem-weak", Severity.WARN, stem, 6.0, 12.0),
    ("tips-easily", Severity.WARN, standing, 8.8, 8.9),
    ("segment-small", Severity.WARN, segments, 48, 36),
    ("strip-short", Severity.WARN, saw, 58, 59),
    ("shoulder-on-plane", Severity.NOTE, stepped, 40.0, 41.0),
]


@pytest.mark.parametrize(("code", "severity", "make", "bad", "good"), PAIRS)
def test_a_piece_has_it_and_its_neighbour_has_not(
    code: str, severity: Severity, make: Callable[..., Document], bad: Any, good: Any
) -> None:
    checks = found(make(bad), code)

    assert checks, f"{code} is missing"
    assert {check.severity for check in checks} == {severity}
    assert all(check.message.endswith((".", "?")) for check in checks)
    assert not found(make(good), code)


@pytest.mark.parametrize(("code", "severity", "make", "bad", "good"), PAIRS)
def test_every_finding_says_where_how_much_and_against_what(
    code: str, severity: Severity, make: Callable[..., Document], bad: Any, good: Any
) -> None:
    document = make(bad)
    parts = {part["id"]: {r["id"] for r in part.get("rings", ())} for part in document["parts"]}
    for check in found(document, code):
        assert check.part in parts
        assert check.ring is None or check.ring in parts[check.part]
        assert check.value is not None
        assert math.isfinite(check.value)
        assert check.unit
        if code not in ("shoulder-on-plane",):
            assert check.limit is not None
            assert math.isfinite(check.limit)
            assert check.value != check.limit


@pytest.mark.parametrize(
    ("code", "make", "bad"),
    [(code, make, bad) for code, _, make, bad, _ in PAIRS if code in OWN_LIMIT],
)
def test_a_value_passes_its_limit_at_equality(
    code: str, make: Callable[..., Document], bad: Any
) -> None:
    document = make(bad)
    first = found(document, code)
    at_least = first[0].value < first[0].limit
    worst = (min if at_least else max)(check.value for check in first)

    def limited(limit: float) -> list[Check]:
        return found(document | {"limits": document.get("limits", {}) | {code: limit}}, code)

    assert limited(worst) == []
    just_missed = worst * (1 + 1e-6 if at_least else 1 - 1e-6)
    assert {check.limit for check in limited(just_missed)} == {just_missed}


@pytest.mark.parametrize("thickness_mm", [10.1, 7.3, 12.7, 0.7])
def test_rounding_is_no_finding(thickness_mm: float) -> None:
    # Decimal thicknesses seldom add up to the last bit.
    count = 7
    document = beaker(count)
    high = thickness_mm * count
    body(document)["outside"] = curve((50.8, 0), (50.8, high))
    body(document)["inside"] = curve((47.8, 0), (47.8, high))
    for one in body(document)["rings"]:
        one["thickness_mm"] = thickness_mm
    document["limits"] = {"wall-thin": 50.8 - 47.8, "glue-face-small": 3.0}
    assert not codes(document) & {"height-mismatch", "wall-thin", "glue-face-small"}


@pytest.mark.parametrize(("dry", "wet"), [(8.0, 10.0), (7.3, 9.3), (10.1, 12.1), (6.7, 8.7)])
def test_two_percent_of_moisture_apart_are_together_enough(dry: float, wet: float) -> None:
    document = moisture(wet)
    body(document)["rings"][0]["moisture_percent"] = dry
    assert not found(document, "moisture-mismatch")
    body(document)["rings"][1]["moisture_percent"] = wet + 0.01
    [check] = found(document, "moisture-mismatch")
    assert check.ring == "r1"


def test_the_press_and_the_lathe_take_just_what_they_take() -> None:
    area = 500 / found(lathe(press_force_n=500), "press-force-exceeded")[-1].value
    assert not [
        check
        for check in found(lathe(press_force_n=0.15 * area), "press-force-exceeded")
        if check.value == pytest.approx(0.15)
    ]
    [wide, *_] = found(lathe(swing_mm=124), "swing-exceeded")
    assert not found(lathe(swing_mm=wide.value), "swing-exceeded")
    assert not found(lathe(between_centres_mm=85.0), "centres-exceeded")


def test_the_glue_holds_at_its_least_temperature_and_to_the_end_of_its_open_time() -> None:
    [cold] = found(shop_at(9.9), "too-cold")
    assert (cold.value, cold.limit, cold.part, cold.ring) == (9.9, 10.0, "body", None)
    assert not found(shop_at(10.0), "too-cold")
    # 30 joints of ten seconds are the five minutes that yellow PVA stays open.
    assert not found(many_joints(30), "open-time-short")
    assert found(many_joints(31), "open-time-short")


def test_the_joint_of_two_stacks_is_looked_at_too() -> None:
    document = thin_face(57.0)
    document["stacks"] = [
        stack("low", "body", ["r0", "r1"]),
        stack("high", "body", ["r2"], mounted="top"),
    ]
    assert [check.ring for check in found(document, "glue-face-small")] == ["r1", "r2"]


def test_an_open_ring_alone_is_held_by_nothing() -> None:
    document = beaker(1)
    body(document)["inside"] = curve((0, 15), (48, 15), (48, 20))
    body(document)["rings"][0]["gap"] = {"angle_deg": 5}
    [loose] = found(document, "gap-not-bridged")
    assert (loose.ring, loose.value, loose.limit) == ("r0", 0.0, 0.0)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_numbers_that_differ_are_said_so_that_they_differ(units: str) -> None:
    document = board(13.6355) | {"display_units": units}
    [narrow] = found(document, "board-narrow")
    assert "13.6356 mm" in narrow.message or "13.636 mm" in narrow.message
    assert "13.6355 mm" in narrow.message or "13.635 mm" in narrow.message
    [small] = found(top_ring(20.02) | {"display_units": units}, "height-mismatch")
    assert "0.02 mm are too much" in small.message


def test_the_inside_that_breaks_through_leaves_its_rings_without_numbers() -> None:
    document = beaker()
    body(document)["inside"] = curve((0, 15), (48, 15), (48, 25), (63, 30), (48, 35), (48, 60))
    plan = planned(document)
    [check] = [check for check in plan.checks if check.severity is Severity.STOP]
    assert (check.code, check.ring, check.unit) == ("inside-outside", "r1", "mm")
    assert (check.value, check.limit) == (pytest.approx(-3.0, abs=0.01), 0.0)
    made = [ring.board_width_mm is not None for ring in plan.parts[0].rings]
    assert made == [True, False, True]


def test_values_and_limits_are_the_numbers_themselves() -> None:
    [narrow] = found(board(13.0), "board-narrow")
    assert narrow.value == pytest.approx(13.63556, abs=1e-5)
    assert narrow.limit == 13.0
    [shallow] = found(footed(13.6), "joint-shallow")
    assert (shallow.value, shallow.limit) == pytest.approx((20.0, 13.6 + 1.5 + 5.0))
    [thin] = found(inside_at(57.5), "wall-thin")
    assert (thin.value, thin.limit) == pytest.approx((2.5, 3.0))
    [tips] = found(standing(8.0), "tips-easily")
    # A cylinder's centre of gravity is at half its height: atan(8 / 50).
    assert tips.value == pytest.approx(9.0902769, abs=1e-6)


def test_a_wall_of_nothing_is_a_stop() -> None:
    [check] = found(inside_at(60.0), "wall-thin")
    assert check.severity is Severity.STOP
    assert check.value == pytest.approx(0.0, abs=1e-9)


def test_rings_glued_in_the_wrong_order_are_a_stop() -> None:
    assert "stack-order" not in codes(order("r0", "r1", "r2"))
    assert "stack-order" not in codes(order("r2", "r1", "r0", mounted="top"))
    [jump] = found(order("r0", "r2"), "stack-order")
    assert (jump.ring, jump.severity) == ("r2", Severity.STOP)
    turned = found(order("r0", "r1", "r2", mounted="top"), "stack-order")
    assert [check.ring for check in turned] == ["r1", "r2"]


def test_a_ring_on_no_stack_is_a_warning() -> None:
    assert [check.ring for check in found(order("r0", "r1"), "ring-unstacked")] == ["r2"]
    assert not found(order("r0", "r1", "r2"), "ring-unstacked")


def test_joints_in_line_are_a_warning_unless_meant() -> None:
    # Pitch 30°: 1/8 of it is 3.75°, a phase of 0.125.
    [check] = found(with_ring(phase=0.12), "joints-aligned")[:1]
    assert check.severity is Severity.WARN
    assert (check.value, check.limit) == pytest.approx((3.6, 3.75))
    assert not found(with_ring(phase=0.125), "joints-aligned")
    assert not found(with_ring(phase=0.0, aligned_on_purpose=True), "joints-aligned")


def test_a_bored_ring_must_be_solid_or_plugged() -> None:
    # A board of 40 mm leaves a hole of 2·(50 − 40)/cos 15° across its corners.
    open_centre = footed(10, board_width_mm=40)
    [check] = found(open_centre, "joint-not-solid")
    assert (check.value, check.severity) == (pytest.approx(20.70552, abs=1e-5), Severity.STOP)
    assert not found(footed(10, board_width_mm=44.2), "joint-not-solid")
    assert not found(footed(10, board_width_mm=40, plug={"diameter_mm": 21}), "joint-not-solid")


def test_a_spare_ring_on_the_rack_is_offered() -> None:
    spare = {
        "kind": "spare-ring",
        "segments": 12,
        "woods": ["maple-sugar"],
        "thickness_mm": 20.0,
        "outside_diameter_mm": 120.0,
        "inside_diameter_mm": 96.0,
        "count": 1,
    }

    def offered(**changes: Any) -> list[Check]:
        checks = plan(parse_piece(beaker()), [spare | changes]).checks
        return [check for check in checks if check.code == "spare-ring-fits"]

    # The finished wall is 120 to 96 mm across; the lowest ring is solid.
    assert {check.ring for check in offered()} == {"r1", "r2"}
    assert {check.severity for check in offered()} == {Severity.NOTE}
    assert not offered(outside_diameter_mm=119.9)
    assert not offered(inside_diameter_mm=96.1)
    assert not offered(segments=16)
    assert not offered(count=0)


def test_the_limits_are_the_users_to_change() -> None:
    document = inside_at(57.5)
    document["limits"] = {"wall-thin": 2.5}
    assert "wall-thin" not in codes(document)
    document["limits"] = {"wall-thin": 2.6}
    assert "wall-thin" in codes(document)


def test_the_plain_beaker_has_nothing_to_find() -> None:
    assert planned(beaker()).checks == ()


def test_a_disc_needs_room_for_its_wettest_season() -> None:
    # Sugar maple, tangential: 0.353 % a percent of moisture (Wood Handbook, Table 13-5).
    [check] = found(floating(0.0), "disc-held")
    built, wet = (equilibrium_moisture_percent(20, humidity) for humidity in (45, 60))
    assert check.value == pytest.approx(120 * 0.00353 * (wet - built))
    assert check.limit == 0.1
    assert check.mend is not None
    [step] = check.mend["changes"]
    assert check.value <= step["value"] < check.value + 0.1
    assert not found(apply_mend(floating(0.0), check.mend), "disc-held")


def test_a_disc_among_discs_works_as_they_do() -> None:
    document = floating(0.0)
    for one in body(document)["rings"]:
        one["kind"] = "disc"
    assert not found(document, "disc-held")


def test_the_plan_says_of_each_bored_ring_what_the_mortise_finds_there() -> None:
    def states(document: Document) -> list[tuple[str, str]]:
        [joint] = planned(document).joints
        return [(one.ring, one.state) for one in joint.bored]

    assert states(footed(10)) == [("f0", "solid")]
    assert states(footed(10, plug={"diameter_mm": 21})) == [("f0", "plugged")]
    assert states(footed(10, board_width_mm=40)) == [("f0", "open")]
    assert states(bored_in(11.0)) == [("f0", "thin")]
    [joint] = planned(bored_in(11.0)).joints
    assert joint.around_mm == pytest.approx(11.0 - 12.15 / 2)
