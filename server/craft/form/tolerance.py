"""How close is the same, in millimetres."""

from typing import Final

SAME_POINT_MM: Final = 1e-9
"""Points closer than this are one point."""

PLANE_MM: Final = 1e-6
"""A plane closer than this to a point of a curve goes through it."""
