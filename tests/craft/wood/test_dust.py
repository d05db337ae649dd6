"""What is said about dust: always something, and more for woods that sensitise."""

import pytest

from server.craft.wood.dust import DUST_SOURCE, dust_caution
from server.craft.wood.properties import Dust, Species
from server.craft.wood.sources import SourceKind
from server.craft.wood.species import all_species, species


@pytest.mark.parametrize("wood", all_species(), ids=lambda wood: wood.id)
def test_every_wood_asks_for_a_respirator(wood: Species) -> None:
    words = dust_caution(wood)
    assert "respirator" in words
    assert (wood.name in words) == (wood.dust is not Dust.ANY_DUST)
    assert ("sensitise" in words) == (wood.dust is not Dust.ANY_DUST)


def test_the_worst_say_when_to_stop() -> None:
    assert "stop at the first rash" in dust_caution(species("cocobolo"))


def test_it_is_marked_as_common_practice() -> None:
    assert DUST_SOURCE.kind is SourceKind.COMMON_PRACTICE
