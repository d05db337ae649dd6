"""Turned round to finish the other end: which hold the form allows, the strongest first."""

from collections.abc import Sequence

import numpy as np

from server.craft.lathe.gauges import gauge_at
from server.craft.lathe.holds import (
    JAM_DEPTH_MM,
    Hold,
    Jaws,
    RingClamp,
    Strength,
    Way,
    jaws_for,
    ring_clamp,
)
from server.craft.worked.piece import WorkedPart

_TRIES = 4
_CLEAR_OF_FOOT = 0.15


def best_ring_clamp(part: WorkedPart) -> RingClamp | None:
    """The ring clamp that sits best: heights between foot and rim, slope nearest 45°."""
    for z in _likely_heights(part):
        gauge = gauge_at(part, z)
        clamp = ring_clamp(part, z, gauge.wall_mm if gauge else None)
        if clamp is not None and clamp.holds:
            return clamp
    return None


def _likely_heights(part: WorkedPart) -> list[float]:
    """A few heights by how near 45° the wall leans, where nothing below is wider."""
    line = part.outside.polyline(32)
    step = np.diff(line, axis=0)
    middle = (line[1:] + line[:-1]) / 2
    low = part.z0_mm + _CLEAR_OF_FOOT * part.height_mm
    widening = (step[:, 0] > 0) & (step[:, 1] > 0) & (middle[:, 1] > low)
    widest = np.maximum.accumulate(line[:, 0])[1:]
    free = widening & (line[1:, 0] >= widest - 1e-9)
    lean = np.degrees(np.arctan2(step[:, 0], np.maximum(step[:, 1], 1e-9)))
    order = np.argsort(np.where(free, np.abs(lean - 45.0), np.inf), kind="stable")
    return [float(middle[k, 1]) for k in order[: int(free.sum())][:_TRIES]]


def jam_hold(part: WorkedPart) -> Hold:
    """A jam chuck in the mouth, or over the end where there is none; the tailstock stays up."""
    end = part.z1_mm - min(JAM_DEPTH_MM, part.height_mm / 2)
    gauge = gauge_at(part, part.z1_mm - 1e-3)
    if gauge is None:
        return Hold(Way.JAM_CHUCK, tailstock=True)
    size = gauge.inside_diameter_mm or gauge.outside_diameter_mm
    return Hold(Way.JAM_CHUCK, tailstock=True, size_mm=size, at_mm=end)


def pin_hold(mortise_diameter_mm: float) -> Hold:
    """On a pin turned to the bored mortise, the tailstock holding the work on it."""
    return Hold(Way.JAM_CHUCK, tailstock=True, size_mm=mortise_diameter_mm)


def groove_hold(part: WorkedPart) -> Hold:
    """The rim in a groove of a waste block, with a bead of hot glue or tape all round."""
    gauge = gauge_at(part, part.z1_mm - 1e-3)
    size = gauge.outside_diameter_mm if gauge else None
    return Hold(Way.GLUED_GROOVE, size_mm=size, at_mm=part.z1_mm)


def mouth_hold(part: WorkedPart, jaws: Sequence[Jaws]) -> Hold | None:
    """Opening jaws in the mouth, where the wall of the rim bears it: none of glued rings does."""
    gauge = gauge_at(part, part.z1_mm - 1e-3)
    if gauge is None or gauge.inside_diameter_mm is None or part.rings:
        return None
    chosen = jaws_for(jaws, gauge.inside_diameter_mm, Way.RECESS)
    if chosen is None or (gauge.wall_mm or 0.0) < 10.0:
        return None
    return Hold(Way.RECESS, size_mm=gauge.inside_diameter_mm, at_mm=part.z1_mm, jaws=chosen.name)


def reverse_hold(
    part: WorkedPart, jaws: Sequence[Jaws], *, bores: bool, mortise_mm: float | None = None
) -> Hold:
    """The hold for the end that was on the faceplate.

    `bores`: a mortise is to be bored there, so that the drill needs the tailstock and the hold
    must stand alone. `mortise_mm` is a mortise already bored in the other end.
    """
    clamp = best_ring_clamp(part)
    if clamp is not None:
        return Hold(
            Way.RING_CLAMP, size_mm=clamp.opening_mm, at_mm=clamp.z_mm, wall_mm=clamp.wall_mm
        )
    mouth = mouth_hold(part, jaws)
    if mouth is not None:
        return mouth
    if bores:
        return groove_hold(part)
    return pin_hold(mortise_mm) if mortise_mm is not None else jam_hold(part)


def bears_boring(hold: Hold) -> bool:
    """Whether a hole can be bored in it: firm or fair, and the tailstock free for the drill."""
    return hold.strength in (Strength.FIRM, Strength.FAIR) and not hold.tailstock
