"""Movement against the handbook's worked boards (chapter 13) and what must hold for any wood."""

from dataclasses import replace
from math import cos, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from wood_tables import worked_example

from server.craft.wood.movement import Grain, movement, movement_mm, relative_change
from server.craft.wood.properties import Direction, MissingPropertyError, Species
from server.craft.wood.species import all_species, species, with_user_woods

INCH = 25.4
WOODS = st.sampled_from(all_species())
DIRECTIONS: st.SearchStrategy[Direction] = st.sampled_from(("radial", "tangential"))
IN_TABLE = st.floats(6, 14)
DRY = st.floats(0, 30)
WIDTHS = st.floats(0.1, 3000)


def by_shrinkage(wood: Species) -> Species:
    """The same wood as if it stood in no Table 13-5."""
    return replace(wood, change_radial_per_percent=None, change_tangential_per_percent=None)


def with_coefficient(tangential: float) -> Species:
    own = {"id": "own", "change_tangential_per_percent": tangential}
    return with_user_woods([own])["own"]


def test_the_white_fir_board_of_chapter_13() -> None:
    # Printed there: 1.705 mm, the board ends 233.7 mm wide; 0.067 in, 9.217 in.
    fir = species("fir-white")
    millimetres = movement_mm(fir, 232.0, 8.0, 11.0, "tangential")
    assert millimetres == pytest.approx(1.705, abs=0.0005)
    assert round(232.0 + millimetres, 1) == 233.7
    inches = movement_mm(fir, 9.15, 8.0, 11.0, "tangential")
    assert inches == pytest.approx(0.067, abs=0.0005)
    assert inches == pytest.approx(
        worked_example("eq 13-2", "white fir 9.15 in", "delta_in"), rel=1e-4
    )
    assert round(9.15 + inches, 3) == 9.217


def test_the_same_board_by_its_shrinkage() -> None:
    found = movement(by_shrinkage(species("fir-white")), 232.0, 8.0, 11.0, "tangential")
    assert found.equation == "13-3"
    assert found.change_mm == pytest.approx(
        worked_example("eq 13-3", "same board, S_T 7.0", "delta_mm"), abs=5e-5
    )


def test_a_mesquite_floor_of_an_article() -> None:
    # 5 in board, C 0.00129, 6 to 9 %; printed 0.019 in.
    found = movement_mm(with_coefficient(0.00129), 5.0, 6.0, 9.0, "tangential")
    assert found == pytest.approx(0.019, abs=0.0005)


def test_a_red_alder_board_of_an_article() -> None:
    # 8 in board, C taken as 0.0026, a swing of 6 %; printed .1248 in.
    assert movement_mm(with_coefficient(0.0026), 8.0, 7.0, 13.0, "tangential") == pytest.approx(
        0.1248, abs=0.00005
    )


def test_white_oak_of_the_commercial_group() -> None:
    found = movement_mm(species("oak-white"), 5 * INCH, 8.0, 12.0, "tangential")
    case = "white oak 127 mm, C_T 0.00365, 8->12 %"
    assert found == pytest.approx(worked_example("eq 13-2", case, "delta_mm"), abs=5e-5)


@pytest.mark.parametrize(
    ("start", "end", "equation"),
    [(6, 14, "13-2"), (8, 11, "13-2"), (5.9, 11, "13-3"), (8, 14.1, "13-3"), (30, 8, "13-3")],
)
def test_the_coefficient_serves_from_6_to_14_percent(
    start: float, end: float, equation: str
) -> None:
    assert movement(species("maple-sugar"), 100, start, end, "radial").equation == equation


def test_a_wood_outside_table_13_5_goes_by_its_shrinkage() -> None:
    assert movement(species("sapele"), 100, 8, 11, "radial").equation == "13-3"


def test_from_green_it_is_the_shrinkage_of_equation_4_9() -> None:
    # White oak, S_T 10.5 % to 8 %: 7.7 % of the green size.
    found = relative_change(species("oak-white"), 60.0, 8.0, "flat")
    expected = worked_example("eq 4-9", "white oak S_T 10.5 to 8 %", "shrink_pct")
    assert -100.0 * found == pytest.approx(expected, abs=1e-9)


def test_to_ovendry_it_is_the_whole_shrinkage() -> None:
    for wood in all_species():
        assert wood.shrinkage_tangential_percent is not None
        found = movement_mm(wood, 100.0, 30.0, 0.0, "tangential")
        assert found == pytest.approx(-wood.shrinkage_tangential_percent), wood.id


@given(WOODS, WIDTHS, IN_TABLE, IN_TABLE, DIRECTIONS)
def test_wetter_swells_and_drier_shrinks(
    wood: Species, width: float, start: float, end: float, direction: Direction
) -> None:
    change = movement_mm(wood, width, start, end, direction)
    assert (change > 0) == (end > start)
    assert (change < 0) == (end < start)


@given(
    st.sampled_from([wood for wood in all_species() if wood.change_radial_per_percent]),
    WIDTHS,
    IN_TABLE,
    IN_TABLE,
    DIRECTIONS,
)
def test_by_coefficient_the_way_back_is_the_same_change(
    wood: Species, width: float, start: float, end: float, direction: Direction
) -> None:
    there = movement_mm(wood, width, start, end, direction)
    assert movement_mm(wood, width, end, start, direction) == pytest.approx(-there)


@given(WOODS, WIDTHS, DRY, DRY, DIRECTIONS)
def test_by_shrinkage_a_board_that_comes_back_has_its_old_width(
    wood: Species, width: float, start: float, end: float, direction: Direction
) -> None:
    wood = by_shrinkage(wood)
    there = width + movement_mm(wood, width, start, end, direction)
    back = there + movement_mm(wood, there, end, start, direction)
    assert back == pytest.approx(width, rel=1e-12)


@given(WOODS, DRY, DRY, DRY, DIRECTIONS)
def test_by_shrinkage_a_stop_on_the_way_changes_nothing(
    wood: Species, start: float, stop: float, end: float, direction: Direction
) -> None:
    wood = by_shrinkage(wood)
    first = movement(wood, 1.0, start, stop, direction).relative
    second = movement(wood, 1.0, stop, end, direction).relative
    straight = movement(wood, 1.0, start, end, direction).relative
    assert (1 + first) * (1 + second) == pytest.approx(1 + straight, rel=1e-12)


@given(WOODS, st.floats(30, 200), st.floats(30, 200), DIRECTIONS)
def test_above_fibre_saturation_nothing_moves(
    wood: Species, start: float, end: float, direction: Direction
) -> None:
    assert movement_mm(wood, 100.0, start, end, direction) == 0.0


@given(WOODS, WIDTHS, st.floats(0, 40), st.floats(0, 40), DIRECTIONS)
def test_twice_the_width_moves_twice_as_much(
    wood: Species, width: float, start: float, end: float, direction: Direction
) -> None:
    once = movement_mm(wood, width, start, end, direction)
    assert movement_mm(wood, 2 * width, start, end, direction) == pytest.approx(2 * once)


@given(WOODS, IN_TABLE, IN_TABLE)
def test_a_flat_sawn_board_moves_more_than_rift_and_rift_more_than_quarter(
    wood: Species, start: float, end: float
) -> None:
    grains: tuple[Grain, ...] = ("flat", "rift", "quarter")
    flat, rift, quarter = (abs(relative_change(wood, start, end, grain)) for grain in grains)
    assert flat >= rift >= quarter


def test_rift_is_the_strain_of_the_board_turned_by_45_degrees() -> None:
    # Oracle: rotate the plane strain tensor with the tangent axis 45° to the board's width.
    maple = species("maple-sugar")
    tangential = relative_change(maple, 8, 12, "flat")
    radial = relative_change(maple, 8, 12, "quarter")
    turn = radians(45)
    rotation = np.array([[cos(turn), -sin(turn)], [sin(turn), cos(turn)]])
    strain = rotation @ np.diag([tangential, radial]) @ rotation.T
    assert relative_change(maple, 8, 12, "rift") == pytest.approx(strain[0, 0])


def test_what_is_not_known_is_not_invented() -> None:
    unknown = with_user_woods([{"id": "mystery"}])["mystery"]
    with pytest.raises(MissingPropertyError, match="mystery"):
        movement_mm(unknown, 100.0, 8.0, 12.0, "radial")
    assert not unknown.moves


def test_metal_and_resin_keep_their_size() -> None:
    brass = with_user_woods([{"id": "brass", "group": "metal", "density_kg_m3": 8500}])["brass"]
    assert brass.moves
    assert movement_mm(brass, 100.0, 4.0, 20.0, "radial") == 0.0
