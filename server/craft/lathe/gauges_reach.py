"""Whether a tool gets there: the opening, how deep, how far over the rest, and what lies hidden.

A straight tool enters through the opening and goes in a straight line from there to the wall.
Common practice: past about five times the bar's thickness over the rest it begins to chatter.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from server.craft.form.outline import hollow
from server.craft.form.slopes import Floats
from server.craft.lathe.gauges import lowest_hollow_mm
from server.craft.worked.piece import WorkedPart

DEFAULT_BAR_MM = 16.0
OVERHANG_BARS = 5.0
"""Common practice: a bar may stand out over the rest by about so many times its thickness."""

_SAGITTA_MM = 0.05
_SPACING_MM = 1.0
_EASE_MM = 0.05
_MOST_SPOTS = 240


@dataclass(frozen=True, slots=True)
class Reach:
    """Hollowing through the top with a straight bar of `bar_mm`.

    `depth_mm` and `widest_mm` (diameter) are of the hollow, `hidden_mm` the heights between which
    a straight bar does not get at the wall (lowest, highest; None when it gets everywhere).
    `overhang_mm` is how far the tip stands out over a rest at the rim, at its farthest.
    """

    opening_mm: float
    depth_mm: float
    widest_mm: float
    overhang_mm: float
    bar_mm: float
    hidden_mm: tuple[float, float] | None

    @property
    def enters(self) -> bool:
        """Whether the bar goes through the opening at all."""
        return self.opening_mm > self.bar_mm

    @property
    def chatters(self) -> bool:
        """Whether the bar stands out farther than is common practice."""
        return self.overhang_mm > OVERHANG_BARS * self.bar_mm


def reach(part: WorkedPart, bar_mm: float = DEFAULT_BAR_MM) -> Reach | None:
    """What a straight bar gets at through the rim; None where nothing is hollow."""
    if part.inside is None:
        return None
    void = hollow(part.outside, part.inside, part.floor_mm, _SAGITTA_MM)
    if void.is_empty:
        return None
    rim = float(part.inside.spans[-1, 3, 0])
    top = float(part.inside.spans[-1, 3, 1])
    spots = _wall_spots(part, top)
    hidden = _hidden(void, spots, rim, top, bar_mm)
    low = lowest_hollow_mm(part)
    bottom = part.z0_mm if low is None else low
    # The rest lies across the opening: from its nearest place to the wall.
    far = np.hypot(np.maximum(spots[:, 0] - rim, 0.0), top - spots[:, 1])
    return Reach(
        opening_mm=2 * rim,
        depth_mm=top - bottom,
        widest_mm=2 * float(void.bounds[2]),
        overhang_mm=max(top - bottom, float(far.max(initial=0.0))),
        bar_mm=bar_mm,
        hidden_mm=hidden,
    )


def leave_open_after(part: WorkedPart, bar_mm: float = DEFAULT_BAR_MM) -> str | None:
    """The last ring to glue on before hollowing, where a straight bar does not reach everywhere.

    That is the ring in which the hollow is widest: below it the lower half stands open, above it
    the upper half. None when the finished opening is enough.
    """
    seen = reach(part, bar_mm)
    if seen is None or part.inside is None or (seen.enters and seen.hidden_mm is None):
        return None
    line = part.inside.polyline(32)
    return part.ring_at(float(line[int(np.argmax(line[:, 0])), 1]))


def _wall_spots(part: WorkedPart, top: float) -> Floats:
    """Points on the inside, evenly spread, below the rim and above the floor."""
    assert part.inside is not None
    line = shapely.LineString(part.inside.polyline_within(_SAGITTA_MM))
    count = int(np.clip(line.length / _SPACING_MM, 8, _MOST_SPOTS))
    spots = shapely.get_coordinates(line.interpolate(np.linspace(0, line.length, count)))
    low = lowest_hollow_mm(part)
    floor = part.z0_mm if low is None else low
    kept = (spots[:, 1] < top - _EASE_MM) & (spots[:, 1] >= floor - _EASE_MM)
    return np.asarray(spots[kept], dtype=np.float64)


def _hidden(
    void: shapely.Geometry,
    spots: Floats,
    rim: float,
    top: float,
    bar_mm: float,
) -> tuple[float, float] | None:
    """Heights of the spots that no straight bar through the opening gets at."""
    mirrored = shapely.union(void, shapely.affinity.scale(void, xfact=-1, origin=(0, 0)))
    room = mirrored.buffer(_EASE_MM)
    free = rim - bar_mm / 2
    if free <= 0 or not len(spots):
        heights = spots[:, 1]
    else:
        doors = np.linspace(-free, free, 25)
        seen = np.zeros(len(spots), dtype=bool)
        for door in doors:
            lines = shapely.linestrings(
                np.stack([spots, np.broadcast_to([door, top], spots.shape)], axis=1)
            )
            seen |= shapely.covers(room, lines)
        heights = spots[~seen, 1]
    return (float(heights.min()), float(heights.max())) if len(heights) else None
