"""Staves against printed saw settings, worked staves, and boards cut out by half spaces."""

import itertools
import math

import numpy as np
import pytest
from geometry_checks import named, numbers, one_worked, printed_agrees, printed_wrong, published
from numpy.typing import NDArray

from server.craft.errors import CraftError, GeometryError
from server.craft.rings.segments import flat_ring, half_angles_deg
from server.craft.rings.staves import StaveRing, compound_setting, small_end, stave_ring

Vector = NDArray[np.float64]


def _setting(row: dict[str, str]) -> tuple[float, float]:
    """Half angle and lean, as we count it, of a board described by a printed row."""
    given = numbers({**row, "inputs": row["inputs"].replace("angle A", "pitch_from_horizontal")})
    half = 180 / given["sides"] if "sides" in given else 90 - given["corner"] / 2
    if "pitch_from_horizontal" in given:
        lean = 90 - given["pitch_from_horizontal"]
    else:
        # A crown moulding's spring angle is its lean from the wall, which is upright.
        lean = given.get("spring", given.get("lean_from_vertical", math.nan))
    on_edge = "edge" in row["topic"] or "edge" in row["quantity"]
    return half, 90 - lean if on_edge else lean


@pytest.mark.parametrize(
    "row", published("compound mitre", "crown flat", "crown on edge"), ids=named
)
def test_published_saw_setting(row: dict[str, str]) -> None:
    setting = compound_setting(*_setting(row))
    value = setting.bevel_deg if row["quantity"].startswith("bevel") else setting.mitre_deg
    assert printed_agrees(row, value), value


@pytest.mark.parametrize(
    "row", [row for row in printed_wrong() if row["topic"] != "mitre error"], ids=named
)
def test_wrong_printed_setting_is_not_reproduced(row: dict[str, str]) -> None:
    setting = compound_setting(*_setting(row))
    value = setting.bevel_deg if row["quantity"].startswith("bevel") else setting.mitre_deg
    assert value == pytest.approx(float(row["computed"]), abs=1e-6)
    assert abs(value - float(row["published"])) > 1


def test_published_dihedrals() -> None:
    rows = {row["id"]: row for row in published("dihedral")}
    assert printed_agrees(rows["C419"], compound_setting(45, 52).faces_meet_deg / 2)
    # Equilateral pentagonal pyramid, edge 1: apothem of the base over the faces' height.
    apothem = 0.5 / math.tan(math.pi / 5)
    lean = math.degrees(math.asin(apothem / math.sqrt(0.75)))
    assert printed_agrees(rows["C514"], compound_setting(36, lean).faces_meet_deg)


@pytest.mark.parametrize("key", ["T03", "T05"])
def test_worked_stave(key: str) -> None:
    given, expected = one_worked(key)
    wider = given["H"] * math.tan(math.radians(given["theta"]))
    made = stave_ring(
        given["N"],
        given["r_o_bottom"] + wider,
        given["r_i_bottom"] + wider,
        given["H"],
        given["theta"],
    )
    shape = made.segments[0]
    found = {
        "thickness": made.board_thickness_mm,
        "blank_length": made.blank_length_mm,
        "blank_width": made.board_width_mm,
        "width_out_top": shape.outer_edge_mm,
        "width_out_bot": shape.inner_edge_mm,
        "mitre": shape.mitre_deg,
        "taper_per_side": shape.mitre_deg,
        "bevel": shape.bevel_deg,
        "dihedral": 180 - 2 * shape.bevel_deg,
    }
    assert found == pytest.approx({name: expected[name] for name in found}, abs=1e-5)


def test_upright_and_lying_staves_are_plain_ones_and_flat_rings() -> None:
    assert compound_setting(15, 0).mitre_deg == 0
    assert compound_setting(15, 0).bevel_deg == pytest.approx(15)
    assert compound_setting(15, 90).mitre_deg == pytest.approx(15)
    assert compound_setting(15, 90).bevel_deg == pytest.approx(0)
    made = stave_ring(12, 80, 65, 100, 0)
    assert made.blank_length_mm == 100
    assert made.board_thickness_mm == flat_ring(12, 80, 65).board_width_mm
    assert made.segments[0].inner_edge_mm == pytest.approx(made.segments[0].outer_edge_mm)


def test_leaning_the_other_way_is_cut_the_same() -> None:
    one, other = stave_ring(12, 80, 65, 60, 20), stave_ring(12, 80, 65, 60, -20)
    assert one.segments == other.segments
    assert one.blank_length_mm == other.blank_length_mm


@pytest.mark.parametrize("seed", range(300))
def test_a_board_cut_out_by_half_spaces_has_these_measures(seed: int) -> None:
    made, corners = _random_board(seed)
    lean = math.radians(abs(made.lean_deg))
    # The board's own axes: along the slope, across it level, out of its face.
    slope = np.array([math.sin(lean), 0, math.cos(lean)])
    out = np.array([math.cos(lean), 0, -math.sin(lean)])
    spread = {
        "thickness": np.ptp(corners @ out),
        "length": np.ptp(corners @ slope),
        "width": np.ptp(corners[:, 1]),
    }
    assert made.board_thickness_mm == pytest.approx(spread["thickness"], abs=1e-6)
    assert made.blank_length_mm == pytest.approx(spread["length"], abs=1e-6)
    assert made.segments[0].width_mm == pytest.approx(spread["width"], abs=1e-6)
    outside = corners[np.abs(corners @ out - (corners @ out).max()) < 1e-6]
    top = outside[outside[:, 2] > outside[:, 2].mean()]
    foot = outside[outside[:, 2] < outside[:, 2].mean()]
    assert np.ptp(top[:, 1]) == pytest.approx(made.segments[0].outer_edge_mm, abs=1e-6)
    assert np.ptp(foot[:, 1]) == pytest.approx(made.segments[0].inner_edge_mm, abs=1e-6)
    # The saw's settings, from the joint's plane: bevel against the face, mitre in the face.
    edge = top[np.argmax(top[:, 1])] - foot[np.argmax(foot[:, 1])]
    mitre = math.degrees(math.atan2(edge[1], edge @ slope))
    half = math.radians(made.big_end.segments[0].mitre_deg)
    joint = np.array([-math.sin(half), math.cos(half), 0])
    bevel = math.degrees(math.asin(abs(joint @ out)))
    assert made.segments[0].mitre_deg == pytest.approx(mitre, abs=1e-6)
    assert made.segments[0].bevel_deg == pytest.approx(bevel, abs=1e-6)


def _random_board(seed: int) -> tuple[StaveRing, Vector]:
    """A random ring of staves, and the corners of its first board lying about the r axis."""
    rng = np.random.default_rng(seed)
    count, lean = int(rng.integers(3, 30)), float(rng.uniform(0, 55))
    height = float(rng.uniform(10, 150))
    shift = height * math.tan(math.radians(lean))
    inside = shift / math.cos(math.pi / count) + float(rng.uniform(20, 150))
    outside = inside + float(rng.uniform(3, 25))
    joint = rng.choice(["closed", "spacer", "width", "angle"])
    # Every third ring has unequal staves; the first, which is looked at, is the widest.
    uneven = seed % 3 == 0 and count > 4
    shares = [1.2, *rng.uniform(0.8, 1.2, count - 1).tolist()] if uneven else None
    halves = np.radians(half_angles_deg(count, shares))
    narrowest = float(halves.min())
    shift_at = height * math.tan(math.radians(lean)) / math.cos(halves[0])
    inside = max(inside, shift_at + 20)
    outside = max(outside, inside + 3)
    size = float(rng.uniform(0.1, 0.4)) * 2 * (inside - shift) * math.sin(narrowest)
    made = stave_ring(
        count,
        outside,
        inside,
        height,
        lean,
        spacer_mm=size if joint == "spacer" else 0.0,
        gap_width_mm=size if joint == "width" else 0.0,
        gap_angle_deg=float(rng.uniform(0.1, 0.8)) * math.degrees(narrowest)
        if joint == "angle"
        else 0.0,
        shares=shares,
    )
    return made, _corners(made, inside, height)


def _corners(made: StaveRing, inside: float, height: float) -> Vector:
    """Corners of all that lies within six planes: the board as the wall asks for it.

    The outside plane touches the outside's cone; the inside plane goes through the points where the
    joints' faces meet the inside circle at the big end, which is at the top.
    """
    lean = math.radians(made.lean_deg)
    out = np.array([math.cos(lean), 0, -math.sin(lean)])
    ring = made.big_end
    half = math.radians(ring.segments[0].mitre_deg)
    joint = np.array([-math.sin(half), math.cos(half), 0])
    # On the joint's face, (x, y) at the inside radius: y = x·tan(half) − shift/cos(half).
    angle = half - math.asin(ring.joint_shift_mm / inside)
    touch = np.array([inside * math.cos(angle), 0, height])
    planes = [
        (out, float(out @ [ring.outside_radius_mm, 0, height])),
        (-out, -float(out @ touch)),
        (np.array([0, 0, 1.0]), height),
        (np.array([0, 0, -1.0]), 0.0),
        (joint, -ring.joint_shift_mm),
        (joint * [1, -1, 1], -ring.joint_shift_mm),
    ]
    found = []
    for three in itertools.combinations(planes, 3):
        matrix = np.array([normal for normal, _ in three])
        if abs(np.linalg.det(matrix)) < 1e-9:
            continue
        point = np.linalg.solve(matrix, [limit for _, limit in three])
        if all(normal @ point <= limit + 1e-7 for normal, limit in planes):
            found.append(point)
    return np.array(found)


@pytest.mark.parametrize("seed", range(50))
def test_the_small_end_is_the_section_there(seed: int) -> None:
    made, corners = _random_board(seed)
    foot = corners[corners[:, 2] < 1e-6]
    end = small_end(made)
    shape = end.segments[0]
    far = foot[np.abs(foot[:, 0] - foot[:, 0].max()) < 1e-6]
    near = foot[np.abs(foot[:, 0] - foot[:, 0].min()) < 1e-6]
    assert end.outside_radius_mm == pytest.approx(far[0, 0], abs=1e-6)
    assert np.ptp(far[:, 1]) == pytest.approx(shape.outer_edge_mm, abs=1e-6)
    assert np.ptp(near[:, 1]) == pytest.approx(shape.inner_edge_mm, abs=1e-6)
    assert shape.width_mm == pytest.approx(np.ptp(foot[:, 0]), abs=1e-6)
    if len(set(made.segments)) == 1:
        # The inner corners of unequal staves lie on one circle at the big end only.
        assert end.inside_radius_mm == pytest.approx(np.hypot(*near[0, :2]), abs=1e-6)


def test_boards_cover_the_leaning_wall_everywhere() -> None:
    rng = np.random.default_rng(5)
    made, inside = stave_ring(9, 90, 78, 60, 25), 78.0
    corners = _corners(made, inside, 60)
    assert len(corners) == 8
    lean, half = math.radians(25), math.pi / 9
    out = np.array([math.cos(lean), 0, -math.sin(lean)])
    for _ in range(2000):
        z, angle = rng.uniform(0, 60), rng.uniform(-half, half)
        r = rng.uniform(78, 90) - (60 - z) * math.tan(lean)
        depth = out @ [r * math.cos(angle), r * math.sin(angle), z]
        assert (corners @ out).min() - 1e-9 <= depth <= (corners @ out).max() + 1e-9


def test_staves_of_unequal_shares_have_their_own_settings() -> None:
    made = stave_ring(12, 80, 65, 40, 20, shares=[2, 1])
    wide, narrow = made.segments[0], made.segments[1]
    assert compound_setting(20, 20).mitre_deg == pytest.approx(wide.mitre_deg)
    assert compound_setting(10, 20).bevel_deg == pytest.approx(narrow.bevel_deg)
    assert made.board_width_mm == wide.width_mm


def test_what_cannot_be_made_is_named() -> None:
    with pytest.raises(GeometryError) as refused:
        stave_ring(12, 30, 20, 100, 45)
    assert refused.value.code == "lean-too-great"
    with pytest.raises(CraftError, match="at most"):
        stave_ring(12, 80, 65, 10, 85)
    with pytest.raises(CraftError):
        stave_ring(12, 80, 65, 10, math.nan)
    with pytest.raises(GeometryError) as refused:
        stave_ring(12, 80, 85, 10, 5)
    assert refused.value.code == "inside-outside"


def test_a_solid_ring_of_staves_ends_in_tips() -> None:
    made = stave_ring(12, 80, 0, 40, 20)
    end = small_end(made)
    assert end.inside_radius_mm == 0
    assert end.segments[0].inner_edge_mm == 0
    assert end.segments[0].width_mm == pytest.approx(made.small_radius_mm)
