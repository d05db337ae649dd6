"""Closing errors against worked examples, printed rules, and chains laid segment by segment."""

import math

import numpy as np
import pytest
from geometry_checks import one_worked, printed_wrong
from numpy.typing import NDArray

from server.craft.rings.closing import closing_error, half_rings, radius_error_mm
from server.craft.rings.segments import flat_ring

Points = NDArray[np.float64]


@pytest.mark.parametrize("key", ["E03", "E04"])
def test_worked_closing_error(key: str) -> None:
    given, expected = one_worked(key)
    size = given["N"], given["e_per_cut_deg"], given["L_out"], given["width"]
    last, halves = closing_error(*size), half_rings(*size)
    assert last.gap_outside_mm == pytest.approx(expected["gap_out"], abs=1e-5)
    assert last.gap_inside_mm == pytest.approx(expected["gap_in"], abs=1e-5)
    assert last.wedge_deg == pytest.approx(expected["wedge_deg"])
    assert halves.opening_mm == pytest.approx(expected["halves_opening"], abs=1e-5)
    assert halves.opens == last.opens == expected["halves_opens"]


def _chain(count: int, error: float, edge: float, width: float) -> list[Points]:
    """Equal segments, each laid with its first face on the last one's second face, in numbers."""
    pitch = 180 / 12 + error if count <= 12 else 0.0
    mitre = math.radians(pitch)
    inner = edge - 2 * width * math.tan(mitre)
    piece = np.array([(-edge / 2, 0.0), (edge / 2, 0.0), (inner / 2, -width), (-inner / 2, -width)])
    laid, place, turn = [], np.zeros(2), 0.0
    for _ in range(count):
        c, s = math.cos(turn), math.sin(turn)
        now = (piece - piece[0]) @ np.array([[c, s], [-s, c]]) + place
        laid.append(now)
        place, turn = now[1], turn - 2 * mitre
    return laid


@pytest.mark.parametrize("error", [-0.3, -0.1, -0.01, 0.02, 0.1, 0.25])
def test_the_last_joint_of_a_chain_of_twelve(error: float) -> None:
    laid = _chain(12, error, 50.0, 22.0)
    found = closing_error(12, error, 50.0, 22.0)
    assert math.dist(laid[0][0], laid[-1][1]) == pytest.approx(found.gap_outside_mm, abs=1e-9)
    assert math.dist(laid[0][3], laid[-1][2]) == pytest.approx(found.gap_inside_mm, abs=1e-9)
    assert found.opens == ("inside" if error > 0 else "outside")


@pytest.mark.parametrize("error", [-0.3, -0.1, 0.02, 0.25])
def test_a_half_ring_of_a_chain_of_six_is_trued_as_said(error: float) -> None:
    laid = _chain(6, error, 50.0, 22.0)
    ends = np.array([laid[0][0], laid[0][3], laid[-1][1], laid[-1][2]])
    # Across the trued joints is along the half ring's own middle.
    across = np.array([laid[0][0][1] - laid[-1][1][1], laid[-1][1][0] - laid[0][0][0]])
    across /= np.hypot(*across)
    middle = laid[2][1] - laid[2][2]
    across *= np.sign(across @ middle)
    heights = ends @ across
    assert heights[0] == pytest.approx(heights[2], abs=1e-9)
    half = half_rings(12, error, 50.0, 22.0)
    assert abs(heights[0] - heights[1]) == pytest.approx(half.take_off_mm, abs=1e-9)
    assert ("outside" if heights[0] > heights[1] else "inside") == half.opens
    # The plane is trued to the face's far corner; the joint at the top is the farthest point.
    plane = heights[:2].max()
    radius = math.dist(laid[0][0], laid[-1][1]) / 2
    crown = laid[2][1] @ across - plane
    corner = 50 / 2 / math.sin(math.radians(15 + error))
    assert 2 * (crown - corner) == pytest.approx(half.diameter_change_mm, abs=1e-9)
    assert radius == pytest.approx(corner * math.cos(math.radians(6 * abs(error))), abs=1e-9)


def test_the_rule_of_thumb_is_close_for_small_errors() -> None:
    # 2N·ε·R in radians: N 12, R 100 mm, 0.01° is 0.42 mm.
    found = closing_error(12, -0.01, 2 * 100 * math.tan(math.pi / 12), 20)
    assert 24 * math.radians(0.01) * 100 == pytest.approx(0.42, abs=0.005)
    # R is the apothem there; the gap is measured at the corner, farther out.
    assert found.gap_outside_mm * math.cos(math.pi / 12) == pytest.approx(0.4189, abs=1e-3)


def test_wrong_printed_closing_angle_is_not_reproduced() -> None:
    (row,) = [row for row in printed_wrong() if row["topic"] == "mitre error"]
    value = closing_error(6, 0.5, 50, 20).wedge_deg
    assert value == pytest.approx(float(row["computed"]))
    assert value != pytest.approx(float(row["published"]))


def test_an_edge_off_by_a_tenth_moves_the_radius() -> None:
    # By definition of the outer flats, L = 2R·tan θ.
    assert radius_error_mm(0.1, 15) == pytest.approx(0.19, abs=0.005)
    assert radius_error_mm(0.1, 2.5) == pytest.approx(1.15, abs=0.005)
    for half in (2.5, 15, 30):
        wanted = flat_ring(round(180 / half), 80, 60).segments[0].outer_edge_mm
        longer = flat_ring(round(180 / half), 80.7, 60).segments[0].outer_edge_mm
        assert radius_error_mm(longer - wanted, half) == pytest.approx(0.7)
