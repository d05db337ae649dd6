"""Checks of wood that works against its neighbour: a disc under a ring, staves beside one.

A flat ring hardly changes its diameter over the year. A disc does, across its grain, and so do
upright staves: glued together one of the two gives way. A disc is let float in a recess.
"""

import math
from collections.abc import Iterator
from itertools import pairwise

from server.craft.checks.words import lengths, the_ring
from server.craft.findings import Check, Severity, reaches, within
from server.craft.mends import change, mend, ring_path
from server.craft.planned import Planned
from server.craft.wood.movement import relative_change
from server.craft.wood.properties import MissingPropertyError
from server.craft.wood.seasons import disc_over_ring_mm, floating_gap_mm, stave_over_ring_mm
from server.craft.worked.rings import WorkedRing

_FINEST_MM = 0.1


def checks(planned: Planned) -> Iterator[Check]:
    """Discs that are held by segmented rings, and staves glued to flat ones."""
    for part in planned.work.parts:
        for lower, upper in pairwise(part.rings):
            for ring, other in ((lower, upper), (upper, lower)):
                if ring.ring.kind == "disc" and other.ring.is_segmented:
                    yield from _held(planned, ring, other)
                if ring.ring.kind == "stave" and other.ring.kind == "flat":
                    yield from _staves(planned, ring, other)


def _changes(planned: Planned, ring: WorkedRing) -> list[float]:
    """Relative changes of the ring's wood over the seasons, the wood that works most first."""
    built = planned.built_percent(ring)
    woods = ring.woods if ring.ring.is_segmented else ring.woods[:1]
    found = [
        relative_change(planned.woods[wood], built, moisture, ring.ring.grain)
        for moisture in planned.seasons_percent
        for wood in dict.fromkeys(woods)
    ]
    return sorted(found, key=abs, reverse=True)


def _held(planned: Planned, ring: WorkedRing, other: WorkedRing) -> Iterator[Check]:
    radius, free = ring.finished_outside_mm, ring.ring.floating_gap_mm
    try:
        seasons = _changes(planned, ring)
    except MissingPropertyError:
        return
    if radius is None or not seasons:
        return
    room = floating_gap_mm(2 * radius, seasons)
    works = abs(disc_over_ring_mm(radius, seasons[0]))
    limit = planned.work.limit("season-gap")
    if free and reaches(free, room):
        return
    value, allowed = (room, free) if free else (works, limit)
    if within(value, allowed):
        return
    wide = max(math.ceil(room / _FINEST_MM) * _FINEST_MM, _FINEST_MM)
    moves, recess = lengths(planned, value, wide)
    yield Check(
        code="disc-held",
        severity=Severity.WARN,
        part=ring.part,
        ring=ring.id,
        message=f"Over the year the disc {the_ring(planned, ring)} works by {moves} across its "
        f"grain, and {the_ring(planned, other)} does not. Let it float in a recess {recess} wider.",
        value=value,
        limit=allowed,
        unit="mm",
        mend=mend(
            f"Let it float with {recess} of room",
            change(f"{ring_path(planned.piece, ring.id)}/floating_gap_mm", wide),
        ),
    )


def _staves(planned: Planned, ring: WorkedRing, other: WorkedRing) -> Iterator[Check]:
    radius = ring.finished_outside_mm
    try:
        seasons = _changes(planned, ring)
    except MissingPropertyError:
        return
    if radius is None or not seasons:
        return
    works, limit = abs(stave_over_ring_mm(radius, seasons[0])), planned.work.limit("season-gap")
    if within(works, limit):
        return
    moves, _ = lengths(planned, works, limit)
    yield Check(
        code="staves-work",
        severity=Severity.NOTE,
        part=ring.part,
        ring=ring.id,
        message=f"Over the year the staves of {the_ring(planned, ring)} work by {moves} in radius "
        f"against {the_ring(planned, other)}: dry wood and a tough glue, or a thin ring between.",
        value=works,
        limit=limit,
        unit="mm",
    )
