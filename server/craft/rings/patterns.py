"""Patterns of woods round a ring and from ring to ring. A pattern has one wood a segment.

Pure lists in, new lists out; nothing here knows how a ring is made.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from server.craft.errors import CraftError

Pattern = tuple[str, ...]


def whole(pattern: Sequence[str], segments: int) -> Pattern:
    """A pattern said in full: what was given repeats round the ring."""
    return tuple(pattern[k % len(pattern)] for k in range(segments))


def shortest(pattern: Sequence[str]) -> Pattern:
    """The shortest pattern that, repeated, gives this one."""
    count = len(pattern)
    for period in range(1, count + 1):
        if count % period == 0 and all(pattern[k] == pattern[k % period] for k in range(count)):
            return tuple(pattern[:period])
    return tuple(pattern)


def painted(pattern: Sequence[str], at: Iterable[int], wood: str, every: int = 0) -> Pattern:
    """Some segments in another wood; with `every` k, every k-th from each of them as well."""
    count = len(pattern)
    chosen = {k % count for k in at}
    if every:
        if every < 1 or count % every:
            raise CraftError(f"{count} segments cannot be counted off by {every} without a rest.")
        chosen = {(k + step) % count for k in chosen for step in range(0, count, every)}
    return tuple(wood if k in chosen else was for k, was in enumerate(pattern))


def mixed(segments: int, first: str, second: str, share: float) -> Pattern:
    """Two woods with `share` 0..1 of the second one, spread as evenly as whole segments allow."""
    wanted = round(segments * min(1.0, max(0.0, share)))
    return tuple(
        second if (k + 1) * wanted // segments > k * wanted // segments else first
        for k in range(segments)
    )


def gradient(counts: Sequence[int], first: str, second: str) -> list[Pattern]:
    """From all of one wood in the lowest ring to all of another in the highest."""
    last = max(1, len(counts) - 1)
    return [mixed(n, first, second, k / last) for k, n in enumerate(counts)]


def climbing(
    patterns: Sequence[Sequence[str]], wood: str, *, stripes: int, step: float, turn_back: int = 0
) -> list[Pattern]:
    """Stripes that climb: each ring's are `step` segments further round than those below.

    With `turn_back` n they go the other way after every n rings: a zigzag. Raises CraftError
    where the stripes cannot stand evenly in a ring.
    """
    rings = []
    for level, pattern in enumerate(patterns):
        count = len(pattern)
        if stripes < 1 or count % stripes:
            raise CraftError(f"{stripes} stripes do not stand evenly in {count} segments.")
        shift = round(_along(level, turn_back) * step)
        at = [shift + k * count // stripes for k in range(stripes)]
        rings.append(painted(pattern, at, wood))
    return rings


def _along(level: int, turn_back: int) -> int:
    if turn_back < 1:
        return level
    way, rest = divmod(level, turn_back)
    return rest if way % 2 == 0 else turn_back - rest


def brick_phases(rings: int) -> list[float]:
    """Each ring turned by half a segment against its neighbour."""
    return [0.5 * (k % 2) for k in range(rings)]


def spiral_phases(rings: int, step: float) -> list[float]:
    """Each ring turned by `step` of a segment further than the one below, in 0..1."""
    return [round(k * step % 1.0, 9) % 1.0 for k in range(rings)]
