"""As built: how high each stack really stands, what that asks of the rings that are left, marks."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from server.craft.document.assembly import Stack
from server.craft.errors import FieldError
from server.craft.floor import clock
from server.craft.floor.state import Reading
from server.craft.lathe.asbuilt import STACK_HEIGHT, AsBuilt, RingChange, as_built
from server.craft.lathe.steps_gates import open_steps, rings_held_back
from server.craft.results import StackJoin
from server.rooms.glue_bench.bench import Bench
from server.web.lengths import diagonal

SAME_MM = 0.05
"""Closer than this a stack is as high as drawn: a caliper across glue shows no more."""


@dataclass(frozen=True, slots=True)
class BuiltStack:
    """One stack: what to measure on it now, the last measure, and what follows, in words.

    `form` is made of letters, digits and hyphens, so that it can stand in a selector.
    """

    id: str
    letter: str
    name: str
    subject: str
    form: str
    label: str
    last: Markup | None
    says: tuple[Markup, ...]
    wrong: str


@dataclass(frozen=True, slots=True)
class Built:
    """All stacks that have rings on, and what must be known before the rest is glued."""

    stacks: tuple[BuiltStack, ...]
    waits: tuple[str, ...]
    joins: tuple[Markup, ...]
    units: str


def built(bench: Bench) -> Built:
    """The part of the sheet that looks at the wood as it has become."""
    return Built(
        stacks=tuple(_stacks(bench)),
        waits=tuple(_waits(bench)),
        joins=tuple(_joins(bench)),
        units=bench.piece.display_units,
    )


def _stacks(bench: Bench) -> Iterator[BuiltStack]:
    for order in bench.orders:
        on = bench.floor.stack(order.id).on
        if not on:
            continue
        heights = _heights(bench, bench.drawn(order.id))
        newest = max(heights.values(), key=lambda reading: reading.mark.seq, default=None)
        says: tuple[Markup, ...] = ()
        wrong = ""
        try:
            values = {ring: reading.value for ring, reading in heights.items()}
            found = as_built(bench.planned.work, bench.drawn(order.id), values)
            says = tuple(_says(bench, found)) if found else ()
        except FieldError as error:
            wrong = f"Ring {bench.labels.get(error.path, error.path)}: {error.message}"
        yield BuiltStack(
            id=order.id,
            letter=order.faceplate or "",
            name=order.name,
            subject=on[-1],
            form=re.sub(r"[^A-Za-z0-9]+", "-", f"built-{order.id}-{on[-1]}"),
            label=f"From the block to the face of ring {bench.labels.get(on[-1], on[-1])}",
            last=_last(bench, newest),
            says=says,
            wrong=wrong,
        )


def _heights(bench: Bench, stack: Stack) -> Mapping[str, Reading]:
    """The newest height on each ring; one said of the stack is of the ring that was on last."""
    found: dict[str, Reading] = {}
    for reading in sorted(bench.floor.readings, key=lambda reading: reading.mark.seq):
        if reading.quantity != STACK_HEIGHT:
            continue
        ring = reading.subject if reading.subject in stack.rings else None
        if reading.subject == stack.id:
            ring = _last_on(bench, stack, reading.mark.seq)
        if ring is not None:
            found[ring] = reading
    return found


def _last_on(bench: Bench, stack: Stack, seq: int) -> str | None:
    on = []
    for ring in bench.floor.stack(stack.id).on:
        since = bench.floor.ring(ring).since
        if ring in stack.rings and since is not None and since.seq < seq:
            on.append(ring)
    return on[-1] if on else None


def _last(bench: Bench, newest: Reading | None) -> Markup | None:
    if newest is None:
        return None
    said = clock(newest.mark.at, bench.now)
    return Markup("{}, {}").format(_written(bench, newest.value), said)


def _says(bench: Bench, found: AsBuilt) -> Iterator[Markup]:
    if abs(found.over_mm) <= SAME_MM:
        yield Markup("It stands as high as drawn.")
    else:
        way = "higher" if found.over_mm > 0 else "lower"
        end = "above" if found.over_mm > 0 else "below"
        yield Markup(
            "It stands {by} {way} than drawn, and will end so much {end} the form: make it up "
            "with the rings that are left, or turn the end to what there is."
        ).format(by=_fine(bench, abs(found.over_mm)), way=way, end=end)
    for change in found.changes:
        yield _changed(bench, change)


def _changed(bench: Bench, change: RingChange) -> Markup:
    """What a ring that is left must now be; and whether it is sawn already."""
    label = bench.labels[change.ring]
    if change.now.finished_outside_mm is None:
        return Markup("Ring {} cannot be made there: the form ends before it.").format(label)
    across = _written(bench, 2 * change.now.finished_outside_mm)
    said = Markup("Ring {} is now Ø {}").format(label, across)
    width, wider = change.now.needed_width_mm, change.wider_mm
    if width is not None and wider is not None and abs(wider) > SAME_MM:
        more = "wider" if wider > 0 else "narrower"
        said += Markup(", its board {}, {} {} than drawn").format(
            _written(bench, width), _fine(bench, abs(wider)), more
        )
        if wider > 0 and bench.floor.ring(change.ring).cut:
            said += Markup(". It is cut already: see whether the allowance covers that")
    return said + Markup(".")


def _written(bench: Bench, mm: float) -> Markup:
    """A length as a caliper reads it."""
    return diagonal(mm, bench.piece.display_units)


def _fine(bench: Bench, mm: float) -> str:
    """A small difference: tenths of a millimetre say more than a ruler's marks."""
    return f"{mm:.1f} mm" if bench.piece.display_units == "mm" else f"{mm / 25.4:.3f}″"


def _waits(bench: Bench) -> Iterator[str]:
    """Rings that close the form, and what has to be turned before."""
    states = open_steps(bench.planned.closing_steps, bench.floor, bench.now)
    by_step: dict[str, list[str]] = {}
    for ring, step in rings_held_back(states).items():
        if bench.floor.ring(ring).place is None and ring in bench.labels:
            by_step.setdefault(step, []).append(bench.labels[ring])
    for step, labels in by_step.items():
        word = "Ring" if len(labels) == 1 else "Rings"
        verb = "closes" if len(labels) == 1 else "close"
        yield f"{word} {', '.join(labels)} {verb} the form. First at the lathe: {step}."


def _joins(bench: Bench) -> Iterator[Markup]:
    for stack in bench.planned.stacks:
        for join in stack.joins:
            yield _join(bench, stack.name, join)


def _join(bench: Bench, name: str, join: StackJoin) -> Markup:
    below = bench.drawn(join.onto_stack).title
    upper, lower = bench.labels[join.ring], bench.labels[join.onto]
    said = Markup("“{}” goes on “{}”, ring {} on ring {}.").format(name, below, upper, lower)
    if join.register_mm is None:
        return said
    return said + Markup(
        " From a joint of ring {} it is {} along the rim, counter-clockwise from above, to a joint "
        "of ring {}."
    ).format(lower, _written(bench, join.register_mm), upper)
