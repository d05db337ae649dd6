"""A mend is offered only where it helps: what reaches farther than its own ring is tried first."""

import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from server.craft.document.parse import DocumentError, parse_piece
from server.craft.document.piece import Piece
from server.craft.findings import Check, Severity
from server.craft.mends import apply_mend

FAR_REACHING = frozenset(
    {
        "floor-thin",
        "gap-not-bridged",
        "height-mismatch",
        "joint-not-solid",
        "joint-shallow",
        "stem-weak",
        "tips-easily",
    }
)
"""Codes whose mends change the form or the wood of a ring, and so what others say."""

MOST_TRIALS = 4
"""Each trial costs a whole plan; more are made only for codes that had none. Further mends are
offered when the first are done."""

NEWLY_GLUED = frozenset({"glue-face-small", "plate-needed", "press-force-exceeded"})
"""What is said of a ring's joint with the ring below: another joint once a ring comes between."""

_BAD = {Severity.NOTE: 0, Severity.WARN: 1, Severity.STOP: 2}
Key = tuple[str, str | None, str | None]
Judge = Callable[[Piece, str], Iterable[Check]]


def proven(piece: Piece, checks: Sequence[Check], judge: Judge) -> Iterator[Check]:
    """The checks, without the mends that do not end their finding or make another one worse.

    `judge` gives the checks of a changed piece one by one, best those of a certain code first.
    """
    trials: dict[str, bool] = {}
    tried: set[str] = set()
    before = _weights(checks)
    for check in checks:
        if check.mend is None or check.code not in FAR_REACHING:
            yield check
            continue
        name = json.dumps([check.code, check.part, check.ring, check.mend["changes"]])
        if name not in trials and (len(trials) < MOST_TRIALS or check.code not in tried):
            trials[name] = _helps(piece, before, check, check.mend, judge)
            tried.add(check.code)
        yield check if trials.get(name, False) else replace(check, mend=None)


def _helps(
    piece: Piece,
    before: Counter[Key],
    check: Check,
    offered: Mapping[str, Any],
    judge: Judge,
) -> bool:
    """Whether a mend ends its finding and leaves every other one as it is or better.

    Most of those that do not are found out long before the last check.
    """
    document = piece.model_dump(mode="json", exclude_none=True)
    try:
        mended = parse_piece(apply_mend(document, offered))
    except DocumentError:
        return False
    known = {name for name, _ in piece.ids()}
    added = len(list(mended.ids())) > len(known)
    left: Counter[Key] = Counter()
    for one in judge(mended, check.code):
        if one.ring is not None and one.ring not in known:
            continue
        key = _key(one)
        left[key] += _weight(one)
        newly_glued = added and one.code in NEWLY_GLUED and one.ring == check.ring
        if key == _key(check) or (left[key] > before[key] and not newly_glued):
            return False
    return True


def _key(check: Check) -> Key:
    return check.code, check.part, check.ring


def _weight(check: Check) -> int:
    return 1 + 100 * _BAD[check.severity]


def _weights(checks: Sequence[Check]) -> Counter[Key]:
    """How bad it is with each code at each place; 0 where nothing is found, worse for more."""
    total: Counter[Key] = Counter()
    for check in checks:
        total[_key(check)] += _weight(check)
    return total
