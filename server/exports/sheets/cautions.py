"""Where the work can hurt, and what is usual there. Makers' manuals and local rules come first."""

from collections.abc import Sequence

GOVERNS = (
    "Makers’ manuals, local rules and licensed practice come first. These sheets are a reminder, "
    "not an instruction."
)

SAW: Sequence[str] = (
    "Cut segments on a sled with a hold-down; no fingers near the blade, never reach over it.",
    "Never trap an offcut between stop and blade.",
    "Leave a tail of the strip to hold; a strip shorter than 150 mm (6″) is not safe on a mitre "
    "sled, one shorter than 300 mm (12″) not safe to rip.",
)
LATHE: Sequence[str] = (
    "Full face shield. Stand out of the line of the rim. No loose sleeves, no gloves.",
    "Spin by hand first, start slowly, and check glue joints and cracks again and again.",
    "Do not turn a stack before its last joint has cured.",
)
DUST: Sequence[str] = (
    "Wear a respirator for sawing, turning and sanding: all wood dust harms, and some woods "
    "sensitise.",
)
FINISH: Sequence[str] = (
    "Finish gives off vapour, and oily rags can catch fire by themselves: spread them out to dry "
    "or lay them in water.",
    "To eat or drink from, let the finish cure fully, and check that wood and finish suit food.",
)
GLUE: Sequence[str] = ("The glue’s label governs temperature, open time, press and cure.",)
