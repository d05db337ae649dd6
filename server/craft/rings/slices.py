"""A height in slices as alike as a rule's marks allow: the planer is set once for nearly all."""

import math

_LEAST_REST = 0.6
"""The last slice is at least this share of the others, or all are alike, marks or not."""


def alike_slices(height_mm: float, number: int, mark_mm: float | None = None) -> list[float]:
    """Thicknesses (mm) from the bottom up; the last one takes what the marks leave.

    Without `mark_mm` all are alike.
    """
    even = height_mm / number
    if mark_mm is None:
        return [even] * number
    step = math.ceil(even / mark_mm - 1e-9) * mark_mm
    rest = height_mm - (number - 1) * step
    if rest < _LEAST_REST * step:
        return [even] * number
    return [step] * (number - 1) + [rest]
