"""How to do the next thing: pressure and clamps, plate, band, open time, cold. Few lines."""

from collections.abc import Iterator

from server.craft.errors import CraftError
from server.craft.floor import NextThing
from server.craft.glue.pressure import (
    Enough,
    band_joint_pressure_mpa,
    band_length_mm,
    clamp_places_deg,
    plate,
    pressing,
)
from server.craft.glue.timing import Batch, suggested_batch
from server.craft.ledger import Kind
from server.craft.wood.properties import Species
from server.rooms.glue_bench.bench import Bench

BAND_TENSION_N = 300.0
"""What a hand-tightened band clamp pulls with; common practice, no source."""

GLUING = frozenset({Kind.HALVES_GLUED, Kind.CLOSED, Kind.CLAMPED})


def advice(bench: Bench, thing: NextThing) -> tuple[str, ...]:
    """What to know before the next thing, most weighty first."""
    if thing.kind not in GLUING or thing.ring is None or thing.stack is None:
        return ()
    lines = [*_cold(bench, thing.stack)]
    if thing.kind is Kind.CLAMPED:
        lines += [*_pressure(bench, thing.ring), *_plate(bench, thing.stack, thing.ring)]
        lines += _mark(bench, thing.stack, thing.ring)
        lines.append("The lathe is off, and cannot be started, while it presses.")
    else:
        lines += [*_open_time(bench, thing), *_band(bench, thing.ring)]
    return tuple(lines)


def _cold(bench: Bench, stack: str) -> Iterator[str]:
    now = bench.times(stack)
    if now.too_cold:
        yield (
            f"Too cold to glue: {bench.glue(stack).name} needs "
            f"{bench.degrees(now.least_temperature_c)} at least, the shop has "
            f"{bench.degrees(bench.temperature_c)}."
        )


def _pressure(bench: Bench, ring: str) -> Iterator[str]:
    joint = bench.planned.gluing.get(ring)
    if joint is None or not joint.rough_overlap_mm2:
        return
    lathe = bench.piece.lathe
    least = bench.planned.work.limit("press-force-exceeded")
    gravity = min(wood.specific_gravity_12 for wood in _joint_woods(bench, ring, joint.under.id))
    if lathe.clamp_force_n <= 0:
        return
    got = pressing(
        joint.rough_overlap_mm2, lathe.press_force_n, lathe.clamp_force_n, gravity, least
    )
    area_cm2 = joint.rough_overlap_mm2 / 100
    line = (
        f"The press gives {got.pressure_mpa:.2f} MPa on {area_cm2:.0f} cm²; "
        f"the handbook’s range asks {got.handbook_mpa:.1f}."
    )
    if got.enough is Enough.TOO_LITTLE:
        places = ", ".join(f"{at:.0f}°" for at in clamp_places_deg(got.clamps_to_least))
        noun = "clamp" if got.clamps_to_least == 1 else "clamps"
        line += f" Add {got.clamps_to_least} {noun} at {places} to reach {least:g}."
    yield line


def _mark(bench: Bench, stack: str, ring: str) -> Iterator[str]:
    """Where the ring's joint goes, measured along the rim from a joint of the ring it lies on."""
    planned = next((one for one in bench.planned.stacks if one.id == stack), None)
    rings = planned.rings if planned else ()
    seen = next((one for one in rings if one.ring == ring), None)
    if seen is None:
        return
    label = bench.labels[ring]
    if seen.order == 1 and seen.zero_mm is not None:
        where = f"{bench.length(seen.zero_mm)} counter-clockwise of it" if seen.zero_mm else "on it"
        yield f"Draw the part’s zero up the block: a joint of ring {label} lies {where}."
    elif seen.register_mm is not None:
        before = bench.labels[rings[seen.order - 2].ring]
        yield (
            f"Mark ring {before}’s rim {bench.length(seen.register_mm)} counter-clockwise of a "
            f"joint: there a joint of ring {label} goes."
        )


def _joint_woods(bench: Bench, *rings: str) -> list[Species]:
    return [wood for ring in rings for wood in bench.woods(ring)]


def _plate(bench: Bench, stack: str, ring: str) -> Iterator[str]:
    block = bench.drawn(stack).waste_block
    outside = bench.worked(ring).outside_mm
    if block is None or outside is None:
        return
    found = plate(2 * outside, block.diameter_mm)
    if found.needed:
        across = bench.length(found.plate_diameter_mm)
        yield f"Press with a stiff plate Ø {across}, as wide as the ring."


def _open_time(bench: Bench, thing: NextThing) -> Iterator[str]:
    if thing.stack is None or thing.ring is None or thing.kind is not Kind.HALVES_GLUED:
        return
    glue = bench.glue(thing.stack)
    segments = bench.worked(thing.ring).ring.segments
    try:
        lot = suggested_batch(glue, bench.temperature_c, segments)
    except CraftError:
        return
    if lot.batch is Batch.WHOLE:
        yield (
            f"{lot.joints} joints spread in {lot.minutes:.0f} min, "
            f"the glue stays open {lot.open_minutes:.0f} min."
        )
    else:
        yield (
            f"Glue it in {lot.batch.value}: {lot.joints} joints take {lot.minutes:.1f} min, "
            f"the glue stays open {lot.open_minutes:.0f} min."
        )


def _band(bench: Bench, ring: str) -> Iterator[str]:
    worked = bench.worked(ring)
    if worked.flat is None or worked.outside_mm is None:
        return
    width = worked.needed_width_mm
    if not width:
        return
    band = band_length_mm(worked.ring.segments, worked.outside_mm)
    pressure = band_joint_pressure_mpa(
        BAND_TENSION_N, width, worked.half_angle_deg, worked.ring.thickness_mm
    )
    yield (
        f"Band clamp {bench.length(band)} long; pulled with {BAND_TENSION_N:.0f} N it presses each "
        f"joint with {pressure:.2f} MPa."
    )
