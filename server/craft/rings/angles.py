"""Angles round a whole ring, by which much is remembered."""

from functools import cached_property


class Angles(tuple[float, ...]):
    """Angles in degrees, one for each segment or joint.

    Whole vessels have rings of few divisions, and what is known of a division is looked up for
    each of them: so these keep their hash, and those that are alike had better be the same.
    """

    @cached_property
    def different(self) -> tuple[float, ...]:
        """Each angle that there is, once, rising."""
        return tuple(sorted(set(self)))

    @cached_property
    def _hash(self) -> int:
        return super().__hash__()

    def __hash__(self) -> int:
        return self._hash
