"""What lies on the rack already: spare rings from earlier pieces that fit."""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from server.craft.checks.words import length, the_ring
from server.craft.findings import Check, Severity
from server.craft.planned import Planned
from server.craft.worked.rings import WorkedRing


def spare_ring_checks(planned: Planned, rack: Sequence[Mapping[str, Any]]) -> Iterator[Check]:
    """A note for each ring of the drawing that a spare ring on the rack could be."""
    spares = [item for item in rack if item.get("kind") == "spare-ring" and item.get("count", 1)]
    for part in planned.work.parts:
        for ring in part.rings:
            fitting = next((spare for spare in spares if spare_fits(ring, spare)), None)
            if fitting is not None:
                yield _note(planned, ring, fitting)


def spare_fits(ring: WorkedRing, spare: Mapping[str, Any]) -> bool:
    """Whether the finished wall lies in the spare ring's wood, with its woods and thickness."""
    if ring.finished_outside_mm is None or ring.ring.kind != "flat":
        return False
    inside = ring.finished_inside_mm or 0.0
    return (
        spare.get("segments") == ring.ring.segments
        and list(spare.get("woods") or ()) == list(dict.fromkeys(ring.woods))
        and spare.get("thickness_mm", 0.0) >= ring.ring.thickness_mm
        and spare.get("outside_diameter_mm", 0.0) >= 2 * ring.finished_outside_mm
        and spare.get("inside_diameter_mm", math.inf) <= 2 * inside
    )


def _note(planned: Planned, ring: WorkedRing, spare: Mapping[str, Any]) -> Check:
    across = float(spare["outside_diameter_mm"])
    return Check(
        code="spare-ring-fits",
        severity=Severity.NOTE,
        part=ring.part,
        ring=ring.id,
        message=f"A spare ring on the rack, {length(planned, across)} across, can be "
        f"{the_ring(planned, ring)}.",
        value=across,
        limit=2 * (ring.finished_outside_mm or 0.0),
        unit="mm",
        mend=None,
    )
