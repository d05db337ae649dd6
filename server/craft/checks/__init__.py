"""The checks of a plan, by what they look at."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from server.craft.checks import (
    glue,
    joints,
    neighbours,
    profile,
    rings,
    rounds,
    stacks,
    stem,
    wood,
    working,
)
from server.craft.checks.proof import proven
from server.craft.checks.rack import spare_ring_checks
from server.craft.document.piece import Piece
from server.craft.findings import Check, Severity
from server.craft.planned import Planned, work_out

_FIRST = {Severity.STOP: 0, Severity.WARN: 1, Severity.NOTE: 2}
_TOPICS = (profile, rings, neighbours, joints, stacks, glue, rounds, wood, working, stem)


def all_checks(planned: Planned, rack: Sequence[Mapping[str, Any]]) -> tuple[Check, ...]:
    """Every finding on a piece, the worst first, otherwise in the order of the work."""
    by_topic = {topic.checks: [*topic.checks(planned)] for topic in _TOPICS}

    def again(changed: Piece, code: str) -> Iterator[Check]:
        own = [look for look, found in by_topic.items() if code in (one.code for one in found)]
        # What comes late hangs on all that is before it, and so tells soonest of a bad change.
        late_first = [look for look in reversed(by_topic) if look not in own]
        anew = work_out(changed)
        return (check for look in (*own, *late_first) for check in look(anew))

    found = [check for some in by_topic.values() for check in some]
    kept = [*proven(planned.piece, found, again), *spare_ring_checks(planned, rack)]
    return tuple(sorted(kept, key=lambda check: _FIRST[check.severity]))
