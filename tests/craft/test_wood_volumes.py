"""How much of each wood a finished ring holds, against outlines cut by shapely."""

import math
from typing import Any

import numpy as np
import pytest
import shapely
from piece_makers import curve, parsed, piece, ring

from server.craft.planned import work_out
from server.craft.rings.segments import segment_polygons
from server.craft.worked.divided import wood_volumes

HIGH_MM = 20.0
_FINE = 2880


def circle(radius_mm: float) -> shapely.Polygon:
    """A polygon of the circle's own area."""
    step = 2 * math.pi / _FINE
    fit = math.sqrt(step / math.sin(step))
    angle = np.arange(_FINE) * step
    return shapely.Polygon(fit * radius_mm * np.stack([np.cos(angle), np.sin(angle)], axis=1))


@pytest.mark.parametrize("seed", range(60))
def test_segments_spacers_and_plug_have_their_own_wood(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count = int(rng.integers(4, 14))
    drawn: dict[str, Any] = {"woods": ["sapele", "ash-white", "walnut-black"][: 1 + seed % 3]}
    if seed % 2:
        drawn["shares"] = rng.uniform(0.7, 1.5, count).tolist()
    joint = ("closed", "spacer", "width", "angle")[seed // 2 % 4]
    size = float(rng.uniform(0.5, 4))
    drawn |= {
        "closed": {},
        "spacer": {"spacer": {"thickness_mm": size, "wood": "holly"}},
        "width": {"gap": {"width_mm": size}},
        "angle": {"gap": {"angle_deg": 2 * size}},
    }[joint]
    plug = float(rng.uniform(20, 40)) if seed % 5 == 0 else 0.0
    if plug:
        drawn["plug"] = {"diameter_mm": plug, "wood": "cherry-black"}
    outside = float(rng.uniform(45, 90))
    part = {
        "id": "p",
        "kind": "ringed",
        "outside": curve((outside, 0), (outside, HIGH_MM)),
        "rings": [ring("r0", HIGH_MM, count, **drawn)],
    }
    work = work_out(parsed(piece([part]))).work
    one = work.parts[0].rings[0]
    assert one.flat is not None

    [found] = wood_volumes(work.parts[0], [0.0, HIGH_MM], solids=[_solid(outside)])

    around = circle(outside)
    core = circle(plug / 2) if plug else shapely.Point()
    pieces = shapely.polygons(segment_polygons(one.flat))
    cut = shapely.difference(shapely.intersection(pieces, around), core)
    expected: dict[str, float] = {}
    for wood, area in zip(one.woods, shapely.area(cut), strict=True):
        expected[wood] = expected.get(wood, 0.0) + float(area) * HIGH_MM
    if plug:
        expected["cherry-black"] = float(core.area) * HIGH_MM
    spacers = found.get("holly", 0.0)
    assert {k: v for k, v in found.items() if k != "holly"} == pytest.approx(expected, rel=1e-4)
    # Spacers fill what is left between the segments from where all of these have begun.
    reach = max(plug / 2, one.flat.centre_hole_mm)
    ringed = float(around.area - circle(reach).area if reach else around.area) * HIGH_MM
    inside = shapely.intersection(cut, circle(reach)) if reach else []
    if joint == "spacer":
        beyond = sum(expected.values()) - float(shapely.area(inside).sum()) * HIGH_MM
        beyond -= expected.get("cherry-black", 0.0)
        assert spacers == pytest.approx(ringed - beyond, rel=2e-3)


def _solid(radius_mm: float) -> Any:
    from server.craft.form.solids import Solid

    return Solid(math.pi * radius_mm**2 * HIGH_MM, HIGH_MM / 2)
