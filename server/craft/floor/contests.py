"""Contradictions as a page can show them: who said what, when, and what stands."""

from collections.abc import Iterator

from server.craft.floor.claims import Register, Voice
from server.craft.floor.listen import Ears
from server.craft.floor.reading import mark
from server.craft.floor.state import Claim, Contest


def contests_of(ears: Ears) -> Iterator[Contest]:
    """Every open contradiction, none of them lost."""
    for (subject, _kind), register in ears.ticks.items():
        yield from _contest(ears, subject, register)
    for subject, register in ears.places.items():
        yield from _contest(ears, subject, register)


def _contest(ears: Ears, subject: str, register: Register) -> Iterator[Contest]:
    if not register.held:
        return
    first = register.held[0].asserted
    yield Contest(
        subject=subject,
        kind=first.entry.kind,
        standing=tuple(_claim(voice) for voice in register.voices),
        held=tuple(_claim(voice) for voice in register.held),
        against=_rival(ears, subject, register),
    )


def _claim(voice: Voice) -> Claim:
    value = voice.asserted.value
    stack = value[1] if isinstance(value, tuple) else None
    return Claim(mark(voice.entry), voice.asserted.entry.kind, voice.holds, stack)


def _rival(ears: Ears, subject: str, register: Register) -> str | None:
    """The other ring that stands in the press which this one claims."""
    wanted = {voice.asserted.value for voice in register.held if voice.holds}
    for ring, other in ears.places.items():
        top = other.top
        pressed = top is not None and isinstance(top.value, tuple) and top.value[0] == "press"
        if pressed and ring != subject and top is not None and top.value in wanted:
            return ring
    return None
