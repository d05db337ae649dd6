"""Stem strength against a published cantilever and a beam summed up numerically."""

from dataclasses import replace
from math import inf, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.craft.wood.properties import MissingPropertyError
from server.craft.wood.species import species
from server.craft.wood.strength import (
    SIDE_LOAD_N,
    bending_stress_mpa,
    end_deflection_mm,
    stem_safety,
    weakest_section,
)

INCH_MM = 25.4
LBF_N = 4.4482216152605
PSI_MPA = LBF_N / INCH_MM**2

DIAMETERS = st.floats(4, 80)
ARMS = st.floats(1, 400)
FORCES = st.floats(1, 500)


def test_the_published_solid_round_cantilever() -> None:
    # "Solid round cantilever, worked example": 15 in long, 5 in across, 20 lb at its end.
    # It prints 24.446199258915122 psi and 2.44461e-05 in (30,000,000 psi reproduces that).
    stress = bending_stress_mpa(20 * LBF_N, 15 * INCH_MM, 5 * INCH_MM)
    assert stress / PSI_MPA == pytest.approx(24.446199258915122, rel=1e-9)
    steel_gpa = 30e6 * PSI_MPA / 1000
    given_way = end_deflection_mm(20 * LBF_N, 15 * INCH_MM, 5 * INCH_MM, steel_gpa)
    assert given_way / INCH_MM == pytest.approx(2.44461e-05, abs=1e-9)


@given(DIAMETERS, ARMS, FORCES)
def test_stress_balances_the_moment_summed_over_the_section(
    diameter: float, arm: float, force: float
) -> None:
    """Fibres of a round section under a straight-line stress must carry exactly F·a."""
    half = diameter / 2
    edges = np.linspace(-half, half, 4001)
    y = (edges[1:] + edges[:-1]) / 2
    chords = 2 * np.sqrt(half**2 - y**2)
    stress = bending_stress_mpa(force, arm, diameter) * y / half
    moment = float(np.sum(stress * y * chords * np.diff(edges)))
    assert moment == pytest.approx(force * arm, rel=1e-4)


@given(DIAMETERS, ARMS, FORCES)
def test_safety_is_one_where_the_stress_is_the_strength(
    diameter: float, arm: float, force: float
) -> None:
    stress = bending_stress_mpa(force, arm, diameter)
    assert stem_safety(stress, diameter, force, arm) == pytest.approx(1.0)
    assert stem_safety(2 * stress, diameter, force, arm) == pytest.approx(2.0)


@given(DIAMETERS, ARMS, FORCES)
def test_twice_as_thick_is_eight_times_as_strong(diameter: float, arm: float, force: float) -> None:
    thin = stem_safety(100.0, diameter, force, arm)
    assert stem_safety(100.0, 2 * diameter, force, arm) == pytest.approx(8 * thin)


def test_nothing_pushes() -> None:
    assert stem_safety(100.0, 10.0, 0.0, 100.0) == inf
    assert stem_safety(100.0, 10.0, 50.0, 0.0) == inf


def test_an_ash_stem_worked_by_hand() -> None:
    # White ash 15,400 psi = 106.2 MPa (Table 5-3b); 18 mm thick, rim 150 mm above, 50 N:
    # π·18³/32 = 572.56 mm³, 7,500 N·mm → 13.10 MPa → 8.11.
    found = weakest_section(species("ash-white"), [(0.0, 18.0)], 150.0)
    assert found.stress_mpa == pytest.approx(7500 / (pi * 18**3 / 32))
    assert found.safety == pytest.approx(8.11, abs=0.005)


def test_the_neck_near_the_foot_breaks_before_the_same_neck_near_the_rim() -> None:
    wood = species("ash-white")
    low = weakest_section(wood, [(10.0, 9.0), (50.0, 18.0), (90.0, 18.0)], 150.0)
    high = weakest_section(wood, [(10.0, 18.0), (50.0, 18.0), (90.0, 9.0)], 150.0)
    assert low.z_mm == 10.0
    assert high.z_mm == 90.0
    assert low.safety < high.safety


@given(st.lists(st.tuples(st.floats(0, 200), DIAMETERS), min_size=1, max_size=30))
def test_no_section_is_weaker_than_the_weakest(sections: list[tuple[float, float]]) -> None:
    wood = species("maple-sugar")
    assert wood.mor_mpa is not None
    found = weakest_section(wood, sections, 220.0)
    for z, diameter in sections:
        each = stem_safety(wood.mor_mpa, diameter, SIDE_LOAD_N, 220.0 - z)
        assert found.safety <= each


def test_above_the_rim_nothing_bends() -> None:
    assert weakest_section(species("ash-white"), [(160.0, 5.0)], 150.0).safety == inf


def test_without_a_section_nothing_breaks() -> None:
    assert weakest_section(species("ash-white"), [], 150.0).safety == inf


def test_unknown_strength_is_not_invented() -> None:
    unknown = replace(species("ash-white"), mor_mpa=None)
    with pytest.raises(MissingPropertyError, match="white ash"):
        weakest_section(unknown, [(0.0, 18.0)], 150.0)
