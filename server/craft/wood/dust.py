"""What the dust of a wood does. Common practice; the maker's and the doctor's word come first."""

from server.craft.wood.properties import Dust, Species
from server.craft.wood.sources import Source, common_practice

DUST_CAUTION = "dust"
DUST_SOURCE: Source = common_practice(
    "Woods that turners commonly report as sensitising; no list is complete"
)

_ALWAYS = "All wood dust harms the lungs: a respirator that fits, and suction at the tool."
_WORDS = {
    Dust.ANY_DUST: _ALWAYS,
    Dust.SOMETIMES: f"{_ALWAYS} The dust of {{name}} irritates or sensitises some people.",
    Dust.OFTEN: (
        f"{_ALWAYS} The dust of {{name}} is known to sensitise: cover the skin too, and stop at "
        "the first rash, cough or swollen eyes."
    ),
}


def dust_caution(wood: Species) -> str:
    """The words to show where this wood is sawn, turned or sanded."""
    return _WORDS[wood.dust].format(name=wood.name)
