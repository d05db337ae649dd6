"""Strip lengths, board feet and thicknesses against worked and published values."""

import csv
import json
import math
from pathlib import Path

import pytest
from cutting_checker import sawn_length
from hypothesis import given, settings
from hypothesis import strategies as st

from server.craft.errors import GeometryError
from server.craft.saw.strips import (
    SOLD_THICKNESSES,
    StripCut,
    inner_edge_mm,
    nominal_board_feet,
    sold_thickness,
    strip_length_mm,
    tallied_board_feet,
    two_cut_length_mm,
)
from server.craft.units import board_feet

DATA = Path(__file__).parents[2] / "data"


def worked(name: str) -> tuple[dict[str, float], dict[str, float]]:
    """A row of `geometry_worked.csv`: strips worked out numerically, to 1e-5 mm."""
    with (DATA / "saw_worked.csv").open(newline="") as lines:
        row = next(row for row in csv.DictReader(lines) if row["id"] == name)
    return json.loads(row["inputs"]), json.loads(row["results_numeric"])


@pytest.mark.parametrize("name", ["K04f", "K04n"])
def test_worked_strips(name: str) -> None:
    given_, wanted = worked(name)
    length = strip_length_mm(
        int(given_["N"]),
        given_["L_out"],
        given_["width"],
        180 / given_["N"],
        given_["kerf"],
        flip=bool(given_["flip"]),
    )
    assert length == pytest.approx(wanted["strip"], abs=1e-5)


@settings(deadline=None, derandomize=True)
@given(
    count=st.integers(1, 40),
    width=st.floats(5, 60),
    mitre=st.floats(0, 45),
    spare=st.floats(0, 50),
    kerf=st.floats(0, 4),
    flip=st.booleans(),
)
def test_formula_is_what_sawing_takes(
    count: int, width: float, mitre: float, spare: float, kerf: float, flip: bool
) -> None:
    outer = 2 * width * math.tan(math.radians(mitre)) + 1 + spare
    strip = {"width_mm": width, "mitre_deg": mitre, "outer_edge_mm": outer}
    saw = {"blade_kerf_mm": kerf, "flip": flip, "hold_tail_mm": 7.5}
    length = strip_length_mm(count, outer, width, mitre, kerf, flip=flip, hold_tail_mm=7.5)
    assert length == pytest.approx(sawn_length([(strip, count)], saw), abs=1e-6)


def test_two_cuts_a_piece_take_most() -> None:
    assert two_cut_length_mm(12, 42, 15, 3.2) == pytest.approx(
        12 * 42 + 24 * 3.2 / math.cos(math.pi / 12)
    )
    assert two_cut_length_mm(0, 42, 15, 3.2, 80) == 0


def test_stop_reset_between_two_rings_adds_only_their_pitches() -> None:
    cut = StripCut(22, 15, 2.5, flip=True)
    both = cut.length_mm([(40, 6), (44, 6)])
    assert both == pytest.approx(cut.setup_mm + 6 * cut.pitch_mm(40) + 6 * cut.pitch_mm(44))
    assert cut.length_mm([(40, 0)]) == 0


def test_inner_edge() -> None:
    assert inner_edge_mm(27, 22, 15) == pytest.approx(15.210236, abs=1e-6)
    assert inner_edge_mm(2 * 20 * math.tan(math.radians(15)), 20, 15) == 0
    with pytest.raises(GeometryError):
        inner_edge_mm(10, 22, 15)


def test_board_foot_is_144_cubic_inches() -> None:
    # American Hardwood Council, after the NHLA rules: 1 ft × 1 ft × 1 in.
    assert board_feet(25.4, 304.8, 304.8) == 1
    # 1 board foot = 0.0023597 m³, as printed there.
    assert 25.4 * 304.8 * 304.8 / board_feet(25.4, 304.8, 304.8) / 1e9 == pytest.approx(
        0.0023597, abs=5e-8
    )


def test_tally_example() -> None:
    # NHLA example, printed by the American Hardwood Council: 2 in × 6 1/4 in × 8 ft, SM 4, 8 BF.
    assert tallied_board_feet(50.8, 6.25 * 25.4, 8 * 304.8) == 8
    # Thickness under one inch counts as one inch.
    assert tallied_board_feet(12.7, 6 * 25.4, 8 * 304.8) == 4
    assert nominal_board_feet(12.7, 6 * 25.4, 8 * 304.8) == pytest.approx(4)


def test_thicknesses_as_sold() -> None:
    with (DATA / "hardwood_thickness.csv").open(newline="") as lines:
        rows = list(csv.DictReader(lines))
    assert len(rows) == len(SOLD_THICKNESSES)
    for row, sold in zip(rows, SOLD_THICKNESSES, strict=True):
        assert sold.rough_mm == pytest.approx(float(row["rough_mm"]), abs=0.0051)
        assert sold.surfaced_mm == pytest.approx(float(row["S2S_mm"]), abs=0.0051)
        if row["quarters"]:
            assert sold.name == row["quarters"]


def test_nominal_thickness_that_holds_a_ring() -> None:
    assert sold_thickness(19.0).name == "3/4"  # type: ignore[union-attr]
    assert sold_thickness(19.0, surfaced=True).name == "4/4"  # type: ignore[union-attr]
    assert sold_thickness(20.6375, surfaced=True).name == "4/4"  # type: ignore[union-attr]
    assert sold_thickness(200) is None
