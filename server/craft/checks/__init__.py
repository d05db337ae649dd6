"""The checks of a plan, by what they look at."""

from collections.abc import Mapping, Sequence
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
    found = [*proven(planned.piece, _found(planned), _again), *spare_ring_checks(planned, rack)]
    return tuple(sorted(found, key=lambda check: _FIRST[check.severity]))


def _found(planned: Planned) -> list[Check]:
    return [check for topic in _TOPICS for check in topic.checks(planned)]


def _again(piece: Piece) -> list[Check]:
    return _found(work_out(piece))
