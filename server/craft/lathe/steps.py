"""What is done at the lathe: one step each, with its hold, its cautions and what must come first.

`recipe.py` files make the steps from a drawing; `steps_gates.py` says which are open on the floor.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from server.craft.lathe.holds import Hold, Jaws, Strength
from server.craft.ledger import Kind

DEFAULT_CURE_HOURS = 24.0
"""Common practice for yellow glue in a warm shop; the label governs."""

SIGNED = "piece:sign"
"""The last step of a piece: what the ledger says when it is done."""


class Work(StrEnum):
    """Kinds of steps."""

    ROUGH = "rough"
    OUTSIDE = "outside"
    INSIDE = "inside"
    FACE = "face"
    RIM = "rim"
    BORE = "bore"
    TENON = "tenon"
    MEASURE = "measure"
    MOUNT = "mount"
    CLOSE = "close"
    JOIN = "join"
    TRUE_JOINT = "true-joint"
    PART_OFF = "part-off"
    READY = "ready"
    REVERSE = "reverse"
    BOTTOM = "bottom"
    FINISH_INSIDE = "finish-inside"
    FINISH_OUTSIDE = "finish-outside"
    FINISH_END = "finish-end"
    SIZE = "size"
    DRY_FIT = "dry-fit"
    ASSEMBLE = "assemble"
    SIGN = "sign"


LEAST_STRENGTH = {
    Work.ROUGH: Strength.FIRM,
    Work.OUTSIDE: Strength.FIRM,
    Work.INSIDE: Strength.FIRM,
    Work.FACE: Strength.FIRM,
    Work.TRUE_JOINT: Strength.FIRM,
    Work.PART_OFF: Strength.FIRM,
    Work.BORE: Strength.FAIR,
    Work.TENON: Strength.FAIR,
    Work.RIM: Strength.FAIR,
    Work.BOTTOM: Strength.LIGHT,
    Work.FINISH_INSIDE: Strength.LIGHT,
    Work.FINISH_OUTSIDE: Strength.LIGHT,
    Work.FINISH_END: Strength.LIGHT,
}
"""What a hold must bear for each kind of work that is done on the lathe."""

_ORDER = [Strength.NONE, Strength.LIGHT, Strength.FAIR, Strength.FIRM]


def bears(hold: Hold | None, work: Work) -> bool:
    """Whether a hold is strong enough for a kind of work."""
    least = LEAST_STRENGTH.get(work)
    if least is None:
        return True
    return hold is not None and _ORDER.index(hold.strength) >= _ORDER.index(least)


class Caution(StrEnum):
    """Keys of the cautions that a page shows beside a step."""

    SWITCH_ON = "switch-on"
    PROUD_CORNERS = "proud-corners"
    DUST = "dust"
    GLUE_JOINTS = "glue-joints"
    BORING = "boring"
    PARTING = "parting"
    LIGHT_HOLD = "light-hold"
    RING_CLAMP = "ring-clamp"
    SLENDER = "slender"
    FINISH = "finish"
    FOOD = "food"


CAUTION_WORDS: Mapping[Caution, str] = {
    Caution.SWITCH_ON: (
        "Full face shield, no loose sleeves. Turn it by hand past the rest, stand out of the "
        "line of the rim, start slow."
    ),
    Caution.PROUD_CORNERS: "Corners stand proud: set the rest clear of them.",
    Caution.DUST: "Respirator on before sanding; some woods make people ill. Sand with the fan on.",
    Caution.GLUE_JOINTS: "A crack or an open joint: stop here.",
    Caution.BORING: (
        "Slow speed, a hand on the drill chuck as it goes in and comes out; clear the chips often."
    ),
    Caution.PARTING: (
        "Do not part right through: leave a neck, stop the lathe, and saw the rest by hand."
    ),
    Caution.LIGHT_HOLD: (
        "This hold bears light cuts only. Keep the tailstock up; sharp tool, slow speed."
    ),
    Caution.RING_CLAMP: "Every nut tight, nothing standing out; check again after the first cut.",
    Caution.SLENDER: "Slender work whips: steady in place, light cuts, never a hand around it.",
    Caution.FINISH: (
        "Air for the vapour, no flame. Lay oily rags out flat outdoors: in a heap they catch fire."
    ),
    Caution.FOOD: "For eating and drinking: finish fully cured, finish and wood fit for food.",
}


@dataclass(frozen=True, slots=True)
class Cured:
    """Rings of a stack on it and cured for `hours`; or a glued step, with no rings named."""

    stack: str
    rings: tuple[str, ...]
    hours: float


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading in the ledger: its subject and its quantity, and the most that it may be."""

    subject: str
    quantity: str
    at_most_mm: float | None = None

    def met_by(self, value_mm: float) -> bool:
        """Whether a reading is what was waited for."""
        return self.at_most_mm is None or value_mm <= self.at_most_mm


Need = Cured | Measured


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do at the lathe.

    `after` are steps that must be done first, `needs` what must be so on the floor. `ticked` and
    `subject` are what the ledger says when it is done; a measuring step is done by its reading of
    `quantity`. `works` are surfaces that are cut, `finishes` those that finish goes on, `clean`
    those that must stay clean of it. `holds_back` are rings not to be glued on before.
    """

    id: str
    work: Work
    title: str
    words: str
    part: str | None = None
    stack: str | None = None
    joint: str | None = None
    hold: Hold | None = None
    cautions: tuple[Caution, ...] = ()
    after: tuple[str, ...] = ()
    needs: tuple[Need, ...] = ()
    works: tuple[str, ...] = ()
    finishes: tuple[str, ...] = ()
    clean: tuple[str, ...] = ()
    heights_mm: tuple[float, ...] = ()
    holds_back: tuple[str, ...] = ()
    ticked: Kind = Kind.TURNED
    subject: str = ""
    quantity: str | None = None


@dataclass(frozen=True, slots=True)
class LatheShop:
    """What the shop brings to the lathe: its jaws, and the cure hours of each stack."""

    jaws: Sequence[Jaws] = ()
    cure_hours: Mapping[str, float] = field(default_factory=dict)

    def cure(self, stack: str | None) -> float:
        """Hours from the last press of a stack to turning it."""
        return self.cure_hours.get(stack or "", DEFAULT_CURE_HOURS)
