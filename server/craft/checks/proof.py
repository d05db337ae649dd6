"""A mend is offered only where it helps: what reaches farther than its own ring is tried first."""

import json
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
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
Judge = Callable[[Piece], Sequence[Check]]


def proven(piece: Piece, checks: Sequence[Check], judge: Judge) -> Iterator[Check]:
    """The checks, without the mends that do not end their finding or make another one worse.

    `judge` gives the checks of a changed piece.
    """
    trials: dict[str, bool] = {}
    tried: set[str] = set()
    for check in checks:
        if check.mend is None or check.code not in FAR_REACHING:
            yield check
            continue
        name = json.dumps([check.code, check.part, check.ring, check.mend["changes"]])
        if name not in trials and (len(trials) < MOST_TRIALS or check.code not in tried):
            trials[name] = helps(piece, checks, check, check.mend, judge)
            tried.add(check.code)
        yield check if trials.get(name, False) else replace(check, mend=None)


def helps(
    piece: Piece, checks: Sequence[Check], check: Check, offered: Mapping[str, Any], judge: Judge
) -> bool:
    """Whether a mend ends its finding and leaves every other one as it is or better."""
    document = piece.model_dump(mode="json", exclude_none=True)
    try:
        mended = parse_piece(apply_mend(document, offered))
    except DocumentError:
        return False
    after = judge(mended)
    known = {name for name, _ in piece.ids()}
    own, before = (check.code, check.part, check.ring), weights(checks)
    left = weights([one for one in after if one.ring is None or one.ring in known])
    if own in left:
        return False
    added = len(list(mended.ids())) > len(known)
    return all(
        before[key] >= bad or (added and key[0] in NEWLY_GLUED and key[2] == check.ring)
        for key, bad in left.items()
    )


def weights(checks: Sequence[Check]) -> Counter[Key]:
    """How bad it is with each code at each place; 0 where nothing is found, worse for more."""
    total: Counter[Key] = Counter()
    for check in checks:
        total[(check.code, check.part, check.ring)] += 1 + 100 * _BAD[check.severity]
    return total
