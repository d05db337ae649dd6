"""Which ring goes into the press when: several stacks, a few presses, one person's hours."""

from server.craft.glue.schedule.front import gluing_schedule
from server.craft.glue.schedule.order import (
    GluingSchedule,
    PressStep,
    RingPress,
    ShopHours,
    StackToGlue,
)
from server.craft.glue.schedule.replan import Progress, replanned

__all__ = [
    "GluingSchedule",
    "PressStep",
    "Progress",
    "RingPress",
    "ShopHours",
    "StackToGlue",
    "gluing_schedule",
    "replanned",
]
