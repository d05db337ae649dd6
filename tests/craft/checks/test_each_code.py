"""For each code a piece that has it and its nearest neighbour that has not."""

from collections.abc import Callable
from typing import Any

import pytest
from piece_makers import beaker, codes, curve, found, piece, planned, ring, stack

from server.craft.document import parse_piece
from server.craft.findings import Check, Severity
from server.craft.plan import plan

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


PAIRS: list[tuple[str, Severity, Callable[..., Document], Any, Any]] = [
    ("spacer-too-thick", Severity.STOP, spacers, 24.85, 24.84),
    ("gap-too-wide", Severity.STOP, gaps, 30.0, 29.9),
    ("inside-outside", Severity.STOP, inside_at, 60.5, 59.5),
    ("height-mismatch", Severity.STOP, top_ring, 20.02, 20.009),
    ("wall-thin", Severity.WARN, inside_at, 57.01, 57.0),
    ("floor-thin", Severity.WARN, floor_at, 4.9, 5.0),
    ("board-narrow", Severity.STOP, board, 13.6355, 13.6356),
    ("joint-shallow", Severity.STOP, footed, 13.6, 13.5),
    ("joint-unreachable", Severity.WARN, mounted_by_the_top, 13.6, 13.5),
    ("gap-not-bridged", Severity.STOP, gaps, 29.99999999999, 20.0),
    ("glue-face-small", Severity.WARN, thin_face, 56.01, 56.0),
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
