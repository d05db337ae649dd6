"""The user's own woods: kept whole, marked as theirs, and refused by name when wrong."""

from typing import Any

import pytest

from server.craft.errors import FieldError
from server.craft.wood.properties import numbers_of
from server.craft.wood.sources import SourceKind
from server.craft.wood.species import all_species, species, with_user_woods
from server.craft.wood.user_woods import UserWood

DYED: dict[str, Any] = {
    "id": "dyed-red",
    "name": "red dyed laminate",
    "group": "laminate",
    "colour_hex": "#B3202A",
    "density_kg_m3": 980,
    "shrinkage_radial_percent": 4.5,
    "shrinkage_tangential_percent": 8,
    "price_per_board_foot": 62.5,
}


def test_numbers_given_are_the_users() -> None:
    wood = with_user_woods([DYED])["dyed-red"]
    assert wood.density_kg_m3 == 980.0
    assert wood.price_per_board_foot == 62.5
    assert not wood.built_in
    for name in numbers_of(wood):
        assert name in wood.sources
    assert wood.sources["density_kg_m3"].kind is SourceKind.USERS
    assert wood.sources["fibre_saturation_percent"].kind is SourceKind.REMEMBERED


def test_the_built_in_woods_stay() -> None:
    woods = with_user_woods([DYED])
    assert len(woods) == len(all_species()) + 1
    assert woods["maple-sugar"] is species("maple-sugar")


def test_an_own_measured_maple_stands_over_ours() -> None:
    own = {"id": "maple-sugar", "name": "my maple", "density_kg_m3": 690.0}
    assert with_user_woods([own])["maple-sugar"].density_kg_m3 == 690.0
    assert species("maple-sugar").density_kg_m3 != 690.0


def test_without_a_density_a_middling_one_is_assumed_and_marked() -> None:
    wood = with_user_woods([{"id": "found-in-the-shed"}])["found-in-the-shed"]
    assert wood.name == "found in the shed"
    assert wood.density_kg_m3 == 700.0
    assert wood.sources["density_kg_m3"].kind is SourceKind.COMMON_PRACTICE


def test_a_checked_wood_is_taken_as_it_is() -> None:
    assert with_user_woods([UserWood(**DYED)])["dyed-red"].name == "red dyed laminate"


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"id": "Dyed"}, "/woods/1/id"),
        ({"id": ""}, "/woods/1/id"),
        ({"id": None}, "/woods/1/id"),
        ({"density_kg_m3": "980"}, "/woods/1/density_kg_m3"),
        ({"density_kg_m3": 0}, "/woods/1/density_kg_m3"),
        ({"density_kg_m3": float("nan")}, "/woods/1/density_kg_m3"),
        ({"density_kg_m3": True}, "/woods/1/density_kg_m3"),
        ({"shrinkage_radial_percent": -1}, "/woods/1/shrinkage_radial_percent"),
        ({"change_radial_per_percent": float("inf")}, "/woods/1/change_radial_per_percent"),
        ({"colour_hex": "red"}, "/woods/1/colour_hex"),
        ({"hue": 3}, "/woods/1/hue"),
    ],
)
def test_what_is_wrong_is_named(change: dict[str, Any], path: str) -> None:
    with pytest.raises(FieldError) as wrong:
        with_user_woods([{"id": "fine"}, DYED | change])
    assert wrong.value.path == path


def test_an_id_given_twice_is_named() -> None:
    with pytest.raises(FieldError) as wrong:
        with_user_woods([DYED, DYED])
    assert wrong.value.path == "/woods/1/id"
