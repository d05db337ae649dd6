"""The least distance between two chains of chords."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from server.craft.form.slopes import Floats
from server.craft.form.tolerance import SAME_POINT_MM

_SKIP = 16
"""Of so many corners one is looked at first."""


def nearest_places(one: shapely.Geometry, other: shapely.Geometry) -> tuple[float, Floats] | None:
    """The least distance (mm) of two lines, and the place on the first; None if one is empty.

    It is always reached at a corner of one of the two. Lines that cross are nothing apart.
    """
    if one.is_empty or other.is_empty:
        return None
    crossing = shapely.intersection(one, other)
    if not crossing.is_empty:
        return 0.0, shapely.get_coordinates(crossing)[0]
    here, place = _from_corners(one, other)
    there, corner = _from_corners(other, one)
    if here <= there:
        return here, place
    line = shapely.shortest_line(one, shapely.Point(corner))
    return there, shapely.get_coordinates(line)[0]


def _from_corners(line: shapely.Geometry, chain: shapely.Geometry) -> tuple[float, Floats]:
    """The corner of the line that is nearest to the chain, and how near."""
    tree = shapely.STRtree(_chords(chain))
    corners = shapely.get_coordinates(line)
    spots = shapely.points(corners)
    _, some = tree.query_nearest(spots[::_SKIP], return_distance=True, all_matches=False)
    # No farther than the nearest of those needs to be looked.
    (near, _), far = tree.query_nearest(
        spots, max_distance=float(some.min()) + SAME_POINT_MM, return_distance=True
    )
    best = int(np.argmin(far))
    return float(far[best]), corners[near[best]]


def _chords(chain: shapely.Geometry) -> NDArray[np.object_]:
    """Every chord by itself."""
    corners, part = shapely.get_coordinates(shapely.get_parts(chain), return_index=True)
    if len(corners) == 1:
        return np.array([shapely.Point(corners[0])])
    joined = part[:-1] == part[1:]
    chords: NDArray[np.object_] = shapely.linestrings(
        np.stack([corners[:-1][joined], corners[1:][joined]], axis=1)
    )
    return chords
