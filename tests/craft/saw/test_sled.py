"""Sled and stop against a ring of wedges laid out numerically, and against printed values."""

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.craft.errors import FieldError
from server.craft.saw.sled import (
    JointGaps,
    SawError,
    error_from_angles,
    error_from_halves,
    error_from_joint,
    error_from_ring_gap,
    ring_size_mm,
    stop_correction_mm,
)

WORKED = Path(__file__).parents[2] / "data" / "saw_worked.csv"
even_counts = st.sampled_from([6, 8, 12, 18, 24, 36])
errors = st.floats(-0.15, 0.15)


def chain(count: int, half_deg: float, outer: float, width: float) -> list[np.ndarray]:
    """`count` wedges glued face to face: corners of each, from the first face on.

    A wedge is laid by its own corners and turned and moved until its first face lies on the last
    face of the one before: no formula of rings is used.
    """
    lean = width * math.tan(math.radians(half_deg))
    wedge = np.array([[0.0, 0.0], [lean, -width], [outer - lean, -width], [outer, 0.0]])
    placed = [wedge]
    for _ in range(count - 1):
        target_out, target_in = placed[-1][3], placed[-1][2]
        direction = target_in - target_out
        own = wedge[1] - wedge[0]
        turn = math.atan2(direction[1], direction[0]) - math.atan2(own[1], own[0])
        rotation = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        placed.append(wedge @ rotation.T + target_out)
    return placed


def worked(name: str) -> tuple[dict[str, float], dict[str, float]]:
    with WORKED.open(newline="") as lines:
        row = next(row for row in csv.DictReader(lines) if row["id"] == name)
    return json.loads(row["inputs"]), json.loads(row["results_numeric"])


@pytest.mark.parametrize(("name", "sign"), [("E03", 1), ("E04", -1)])
def test_worked_closing_errors(name: str, sign: int) -> None:
    given_, wanted = worked(name)
    segments, error = int(given_["N"]), given_["e_per_cut_deg"]
    # E04 overlaps instead of gaping: what does not fit counts as a negative gap.
    found = error_from_ring_gap(
        segments, given_["width"], sign * wanted["gap_out"], sign * wanted["gap_in"]
    )
    assert found.mitre_deg == pytest.approx(error, abs=2e-4)
    halves = error_from_halves(
        segments, given_["width"], wanted["halves_opening"], wanted["halves_opens"]
    )
    assert halves.mitre_deg == pytest.approx(error, abs=2e-4)
    summed = error_from_angles(segments, 360 - sign * wanted["wedge_deg"])
    assert summed.mitre_deg == pytest.approx(error)


@pytest.mark.parametrize(
    ("joint_in", "total_deg", "per_cut_deg"), [(2, 0.45, 0.028), (3, 0.3, 0.019)]
)
def test_printed_octagon(joint_in: float, total_deg: float, per_cut_deg: float) -> None:
    # Printed in "Accurate Miters", an alignment-tool maker's note: a gap of 1/64 in, 16 cuts.
    face_mm = joint_in * 25.4
    width_mm = face_mm * math.cos(math.pi / 8)
    found = error_from_ring_gap(8, width_mm, 25.4 / 64, 0)
    assert -16 * found.mitre_deg == pytest.approx(total_deg, abs=0.005)
    assert -found.mitre_deg == pytest.approx(per_cut_deg, abs=0.0005)


@settings(deadline=None, derandomize=True)
@given(even_counts, errors, st.floats(20, 60), st.floats(10, 30))
def test_ring_of_wedges(segments: int, error: float, outer: float, width: float) -> None:
    width = min(width, outer / (2 * math.tan(math.pi / segments)) * 0.9)
    ring = chain(segments, 180 / segments + error, outer, width)
    gap_out = math.dist(ring[0][0], ring[-1][3])
    gap_in = math.dist(ring[0][1], ring[-1][2])
    sign = 1 if error <= 0 else -1
    found = error_from_ring_gap(segments, width, sign * gap_out, sign * gap_in)
    # The face is W/cos of the angle as cut, not as meant: second order, under 1 % here.
    assert found.mitre_deg == pytest.approx(error, rel=0.01, abs=1e-9)


@settings(deadline=None, derandomize=True)
@given(even_counts, st.floats(0.005, 0.15), st.booleans(), st.floats(10, 30))
def test_halves_of_wedges(segments: int, size: float, steep: bool, width: float) -> None:
    outer = 2 * width * math.tan(math.pi / segments) + 8
    error = size if steep else -size
    half = chain(segments // 2, 180 / segments + error, outer, width)
    first = half[0][1] - half[0][0]
    last = half[-1][2] - half[-1][3]
    # Two such halves meet face to face turned by half a circle: the faces stand apart by the
    # angle between the first face and the last one turned round.
    angle = math.atan2(first[0] * -last[1] + first[1] * last[0], -(first @ last))
    opening = 2 * float(np.linalg.norm(first)) * math.sin(abs(angle) / 2)
    found = error_from_halves(segments, width, opening, "inside" if steep else "outside")
    assert found.mitre_deg == pytest.approx(error, rel=0.01)


def faces_apart(width: float, thickness: float, wedge_deg: float, lean_deg: float) -> JointGaps:
    """Two square faces turned against each other about both axes and pushed until they touch."""

    def face(turn: float, lean: float) -> np.ndarray:
        corners = np.array([[0, y, z] for y in (width, 0.0) for z in (thickness, 0.0)], dtype=float)
        a, b = math.radians(turn), math.radians(lean)
        about_z = np.array(
            [[math.cos(a), -math.sin(a), 0], [math.sin(a), math.cos(a), 0], [0, 0, 1]]
        )
        about_y = np.array(
            [[math.cos(b), 0, math.sin(b)], [0, 1, 0], [-math.sin(b), 0, math.cos(b)]]
        )
        return np.asarray(corners @ about_z.T @ about_y.T)

    left, right = face(wedge_deg / 2, -lean_deg / 2), face(-wedge_deg / 2, lean_deg / 2)
    apart = right[:, 0] - left[:, 0]
    apart = apart - apart.min()
    return JointGaps(*(float(gap) for gap in apart))


@settings(deadline=None, derandomize=True)
@given(even_counts, errors, st.floats(-0.3, 0.3), st.floats(12, 40), st.floats(10, 30))
def test_mitre_and_tilt_are_told_apart(
    segments: int, error: float, tilt: float, width: float, thickness: float
) -> None:
    face = width / math.cos(math.pi / segments)
    gaps = faces_apart(face, thickness, -segments * error, 2 * tilt)
    found = error_from_joint(segments, width, thickness, gaps)
    assert found.mitre_deg == pytest.approx(error, rel=2e-3, abs=1e-6)
    assert found.tilt_deg == pytest.approx(tilt, rel=2e-3, abs=1e-6)


def test_fence_moves_at_its_own_radius() -> None:
    shift = SawError(0.1).fence_shift_mm(400)
    assert shift == pytest.approx(-400 * math.tan(math.radians(0.1)))
    # Moving the far end of a 400 mm fence by that much turns it by the error.
    assert math.degrees(math.atan(-shift / 400)) == pytest.approx(0.1)
    assert SawError(-0.1).fence_shift_mm(400) > 0


@settings(deadline=None, derandomize=True)
@given(st.integers(3, 72), st.floats(10, 60), st.floats(-0.5, 0.5))
def test_stop_from_the_first_ring(segments: int, outer: float, off: float) -> None:
    ring = chain(segments, 180 / segments, outer + off, 1.0)
    corners = np.array([wedge[0] for wedge in ring])
    centre = corners.mean(axis=0)
    flats = np.array([(wedge[0] + wedge[3]) / 2 for wedge in ring])
    to_corner = float(np.linalg.norm(corners[0] - centre))
    to_flat = float(np.linalg.norm(flats[0] - centre))
    if segments % 2:
        measured = {"flat-to-corner": to_flat + to_corner}
    else:
        measured = {"flats": 2 * to_flat, "corners": 2 * to_corner}
    for across, size in measured.items():
        assert stop_correction_mm(segments, outer, size, across) == pytest.approx(-off, abs=1e-6)  # type: ignore[arg-type]
        assert ring_size_mm(segments, outer + off, across) == pytest.approx(size)  # type: ignore[arg-type]


def test_a_tenth_of_a_millimetre_on_the_edge() -> None:
    # Radius changes by ΔL/(2·tan θ): 0.1 mm is 0.19 mm at N = 12 and 1.15 mm at N = 72.
    for segments, radius in ((12, 0.19), (72, 1.15)):
        bigger = ring_size_mm(segments, 40.1, "flats") - ring_size_mm(segments, 40.0, "flats")
        assert bigger / 2 == pytest.approx(radius, abs=0.005)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: error_from_halves(11, 20, 0.1, "outside"), "segments"),
        (lambda: error_from_angles(2, 360), "segments"),
        (lambda: error_from_ring_gap(12, 20, 50, 0), "outside_mm"),
        (lambda: error_from_ring_gap(12, 0, 1, 0), "width_mm"),
        (lambda: SawError(0.1).fence_shift_mm(0), "radius_mm"),
        (lambda: stop_correction_mm(12, 40, 150, "flat-to-corner"), "across"),
        (lambda: stop_correction_mm(7, 40, 150, "flats"), "across"),
    ],
)
def test_what_cannot_be_measured(call, field: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(FieldError) as refused:
        call()
    assert refused.value.path == field
