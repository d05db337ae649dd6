"""Checks of the form: curves, wall, floor, height."""

from collections.abc import Iterator

from server.craft.checks.words import length, the_part, the_ring
from server.craft.document.base import LARGEST_MM, SMALLEST_SIZE_MM
from server.craft.findings import Check, Severity
from server.craft.form.walls import floor_thickness, inside_outside_fault, least_wall
from server.craft.mends import change, mend, ring_path
from server.craft.planned import Planned
from server.craft.worked.piece import WorkedPart


def checks(planned: Planned) -> Iterator[Check]:
    """Height, inside against outside, wall and floor of each part."""
    for part in planned.work.parts:
        yield from _height(planned, part)
        yield from _sides(planned, part)
        yield from _shoulders(planned, part)


def _height(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    if part.part.kind != "ringed":
        return
    stacked = sum(ring.ring.thickness_mm for ring in part.rings)
    if abs(stacked - part.height_mm) <= planned.work.limit("height-mismatch"):
        return
    missing = part.height_mm - stacked
    lack = "are missing" if missing > 0 else "are too much"
    offered = None
    if part.rings:
        last = part.rings[-1].ring
        thickness = last.thickness_mm + missing
        if SMALLEST_SIZE_MM <= thickness <= LARGEST_MM:
            offered = mend(
                f"Make the top ring {length(planned, thickness)} thick",
                change(f"{ring_path(planned.piece, last.id)}/thickness_mm", thickness, "replace"),
            )
    yield Check(
        code="height-mismatch",
        severity=Severity.STOP,
        part=part.id,
        message=f"The rings of {the_part(part)} come to {length(planned, stacked)}, the form is "
        f"{length(planned, part.height_mm)} high: {length(planned, abs(missing))} {lack}.",
        value=stacked,
        limit=part.height_mm,
        unit="mm",
        mend=offered,
    )


def _sides(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    if part.inside is None:
        return
    fault = inside_outside_fault(part.outside, part.inside, part.floor_mm)
    if fault is not None:
        yield Check(
            code="inside-outside",
            severity=Severity.STOP,
            part=part.id,
            ring=part.ring_at(fault.z_mm),
            message=f"The inside of {the_part(part)} breaks through the outside at "
            f"{length(planned, fault.z_mm)} of height.",
            value=fault.r_mm,
            unit="mm",
        )
        return
    yield from _wall(planned, part)
    yield from _floor(planned, part)


def _wall(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    assert part.inside is not None
    spot = least_wall(part.outside, part.inside, part.floor_mm)
    limit = planned.work.limit("wall-thin")
    if spot is None or spot.thickness_mm >= limit:
        return
    yield Check(
        code="wall-thin",
        severity=Severity.STOP if spot.thickness_mm <= 0 else Severity.WARN,
        part=part.id,
        ring=part.ring_at(spot.z_mm),
        message=f"The wall of {the_part(part)} is only {length(planned, spot.thickness_mm)} thick "
        f"at {length(planned, spot.z_mm)} of height.",
        value=spot.thickness_mm,
        limit=limit,
        unit="mm",
    )


def _floor(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    assert part.inside is not None
    floor = floor_thickness(part.outside, part.inside, part.floor_mm)
    limit = planned.work.limit("floor-thin")
    if floor is None or floor.thickness_mm >= limit:
        return
    yield Check(
        code="floor-thin",
        severity=Severity.STOP if floor.thickness_mm <= 0 else Severity.WARN,
        part=part.id,
        ring=part.ring_at(floor.z_mm),
        message=f"The floor of {the_part(part)} is only "
        f"{length(planned, floor.thickness_mm)} thick.",
        value=floor.thickness_mm,
        limit=limit,
        unit="mm",
    )


def _shoulders(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    for ring in part.rings:
        for shoulder in ring.slab.shoulders:
            at = length(planned, shoulder.z_mm)
            yield Check(
                code="shoulder-on-plane",
                severity=Severity.NOTE,
                part=part.id,
                ring=ring.id,
                message=f"A level step of the {shoulder.surface} lies on the glue line at {at}: it "
                f"is cut in {the_ring(planned, ring)}, so hold that height when flattening.",
                value=shoulder.z_mm,
                unit="mm",
            )
