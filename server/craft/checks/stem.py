"""Check of a slender stem: does it stand a push at the rim, and how thick would it have to be."""

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np

from server.craft.checks.words import length, the_part
from server.craft.document.base import LARGEST_MM
from server.craft.findings import Check, Severity, reaches
from server.craft.form.cuts import cut_curve
from server.craft.mends import change, mend, part_path
from server.craft.planned import Planned
from server.craft.wood.properties import MissingPropertyError
from server.craft.wood.strength import SIDE_LOAD_N, stem_safety, weakest_section
from server.craft.worked.piece import WorkedPart

_STEPS = 80
_NO_WOOD_MM = 1e-3
_FINEST_MM = 0.1
"""A mend makes a stem thicker by whole tenths: finer is nothing at the lathe."""


def checks(planned: Planned) -> Iterator[Check]:
    """Stems that would break, one finding for each."""
    for part in planned.work.parts:
        if part.part.kind == "spindle":
            yield from _stem(planned, part)


def _stem(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    wood = planned.woods[part.part.own_wood]
    try:
        weakest = weakest_section(wood, _sections(planned, part), _rim_mm(planned, part))
    except MissingPropertyError:
        return
    limit = planned.work.limit("stem-weak")
    if reaches(weakest.safety, limit):
        return
    yield Check(
        code="stem-weak",
        severity=Severity.WARN,
        part=part.id,
        message=f"Pushed with {SIDE_LOAD_N:g} N at the rim, {the_part(part)} has only "
        f"{weakest.safety:.1f} times the strength it needs where it is "
        f"{length(planned, weakest.diameter_mm)} thick; {limit:g} times is asked for.",
        value=weakest.safety,
        limit=limit,
        unit="times",
        mend=_thicker(planned, part, limit),
    )


def _rim_mm(planned: Planned, part: WorkedPart) -> float:
    """Height of the piece's rim in the part's own measure."""
    return planned.work.top_mm - planned.work.offsets_mm[part.id]


def _sections(planned: Planned, part: WorkedPart) -> list[tuple[float, float]]:
    """Heights and diameters along the stem, and of the tenons where they leave it."""
    heights = np.linspace(part.z0_mm, part.z1_mm, _STEPS + 1)
    radius = cut_curve(part.outside, heights).slab_extremes()[0]
    stem = zip(heights, radius, strict=False)
    sections = [(float(low), 2 * float(r)) for low, r in stem if r > _NO_WOOD_MM]
    return sections + [(z, planned.piece.joints[i].diameter_mm) for i, z in _tenons(planned, part)]


def _tenons(planned: Planned, part: WorkedPart) -> Iterator[tuple[int, float]]:
    """Each joint whose tenon this part has, by its place in the drawing, and where it leaves."""
    for index, joint in enumerate(planned.piece.joints):
        if joint.tenon.part == part.id:
            yield index, part.z1_mm if joint.tenon.end == "top" else part.z0_mm


def _thicker(planned: Planned, part: WorkedPart, limit: float) -> dict[str, Any] | None:
    """The same stem, nowhere thinner than it must be at that height, tenons too."""
    rim, mor = _rim_mm(planned, part), planned.woods[part.part.own_wood].mor_mpa
    if mor is None:
        return None

    def least_mm(z_mm: float) -> float:
        """Diameter that holds there: its safety goes with the third power."""
        arm = max(0.0, rim - z_mm)
        unit = stem_safety(mor, 1.0, SIDE_LOAD_N, arm)
        return math.ceil(math.cbrt(limit / unit) / _FINEST_MM) * _FINEST_MM

    changes, words = [], []
    points = [point.model_dump(exclude_none=True) for point in part.part.outside.points]
    least = [0.0] * len(points)
    for (i, one), (j, other) in pairwise(enumerate(points)):
        # Between two points the curve stays in their box: as thick as the thinner, and the
        # lower end has the longer arm.
        asked = least_mm(min(one["z_mm"], other["z_mm"]))
        least[i], least[j] = max(least[i], asked), max(least[j], asked)
    thick = [
        {**point, "r_mm": max(point["r_mm"], asked / 2)}
        for point, asked in zip(points, least, strict=True)
    ]
    if thick != points:
        changes.append(change(f"{part_path(planned.piece, part.id)}/outside/points", thick))
        words.append(f"{the_part(part)} where it is weak")
    for index, z_mm in _tenons(planned, part):
        if planned.piece.joints[index].diameter_mm < least_mm(z_mm):
            changes.append(change(f"/joints/{index}/diameter_mm", least_mm(z_mm), "replace"))
            words.append(f"its tenon to {length(planned, least_mm(z_mm))}")
    if max(least, default=0.0) > LARGEST_MM or not changes:
        return None
    return mend(f"Thicken {' and '.join(words)}", *changes)
