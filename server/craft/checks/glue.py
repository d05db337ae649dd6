"""Checks of pressing and gluing: pressure, plate, cold, open time."""

from collections.abc import Iterator

from server.craft.checks.words import length, sentence, the_ring
from server.craft.document.assembly import Stack
from server.craft.findings import Check, Severity, reaches, within
from server.craft.glue.adhesives import Glue
from server.craft.glue.pressure import clamps_to_reach, pressure_mpa
from server.craft.glue.timing import Spreading, is_too_cold, spreading, suggested_batch
from server.craft.planned import Planned
from server.craft.worked.rings import WorkedRing


def checks(planned: Planned) -> Iterator[Check]:
    """What is wrong at the press and with the glue, stack by stack."""
    for stack in planned.piece.stacks:
        yield from _cold(planned, stack)
        spread: dict[int, tuple[Spreading, Spreading]] = {}
        for name in stack.rings:
            ring = planned.work.by_ring[name]
            yield from _pressed(planned, ring)
            yield from _plate(planned, stack, ring)
            if stack.glue is not None and ring.ring.is_segmented:
                yield from _open_time(planned, planned.glues[stack.glue], ring, spread)


def _cold(planned: Planned, stack: Stack) -> Iterator[Check]:
    if stack.glue is None:
        return
    glue, air = planned.glues[stack.glue], planned.piece.room.temperature_c
    if is_too_cold(glue, air):
        yield Check(
            code="too-cold",
            severity=Severity.STOP,
            part=stack.part,
            message=f"{glue.name} does not harden at {air:g} °C; {stack.title} needs at least "
            f"{glue.least_temperature_c:g} °C. The glue’s label governs.",
            value=air,
            limit=glue.least_temperature_c,
            unit="°C",
        )


def _pressed(planned: Planned, ring: WorkedRing) -> Iterator[Check]:
    joint = planned.gluing.get(ring.id)
    if joint is None or not joint.rough_overlap_mm2:
        return
    lathe, area = planned.piece.lathe, joint.rough_overlap_mm2
    reached = pressure_mpa(lathe.press_force_n, area)
    limit = planned.work.limit("press-force-exceeded")
    if reaches(reached, limit):
        return
    words = "Use clamps."
    if lathe.clamp_force_n > 0:
        count = clamps_to_reach(limit, area, lathe.press_force_n, lathe.clamp_force_n)
        words = f"Add {count} clamp{'s' if count > 1 else ''} of {lathe.clamp_force_n:g} N."
    yield Check(
        code="press-force-exceeded",
        severity=Severity.WARN,
        part=ring.part,
        ring=ring.id,
        message=f"The lathe presses {the_ring(planned, ring)} with {reached:.2f} MPa only; "
        f"{limit:g} MPa is the least that holds. {words}",
        value=reached,
        limit=limit,
        unit="MPa",
    )


def _plate(planned: Planned, stack: Stack, ring: WorkedRing) -> Iterator[Check]:
    if stack.waste_block is None or ring.outside_mm is None:
        return
    across = 2 * ring.outside_mm
    limit = planned.work.limit("plate-needed") * stack.waste_block.diameter_mm
    if within(across, limit):
        return
    yield Check(
        code="plate-needed",
        severity=Severity.NOTE,
        part=ring.part,
        ring=ring.id,
        message=f"{sentence(the_ring(planned, ring))} is {length(planned, across)} across: "
        "press it with a stiff plate as wide as the ring, not at its centre, or it bows.",
        value=across,
        limit=limit,
        unit="mm",
    )


def _open_time(
    planned: Planned, glue: Glue, ring: WorkedRing, spread: dict[int, tuple[Spreading, Spreading]]
) -> Iterator[Check]:
    """`spread` are a whole ring and the largest lot in time, with that glue, by the segments."""
    air, segments = planned.piece.room.temperature_c, ring.ring.segments
    if segments not in spread:
        spread[segments] = spreading(glue, air, segments), suggested_batch(glue, air, segments)
    whole, lot = spread[segments]
    if whole.fits:
        return
    yield Check(
        code="open-time-short",
        severity=Severity.WARN,
        part=ring.part,
        ring=ring.id,
        message=f"Spreading {segments} joints of {the_ring(planned, ring)} takes about "
        f"{whole.minutes:.0f} min; {glue.name} stays open {whole.open_minutes:.0f} min. Glue it "
        f"in {lot.batch.value}.",
        value=whole.minutes,
        limit=whole.open_minutes,
        unit="min",
    )
