"""Checks of the form: curves, wall, floor, height."""

from collections.abc import Iterator

from server.craft.checks.words import length, lengths, sentence, the_part, the_ring
from server.craft.document.base import LARGEST_MM, SMALLEST_SIZE_MM
from server.craft.findings import Check, Severity, is_nothing, reaches, within
from server.craft.form.section import floor_level
from server.craft.form.walls import WallSpot, floor_thickness, least_wall
from server.craft.mends import change, mend, part_path, ring_path
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
    missing = part.height_mm - stacked
    if within(abs(missing), planned.work.limit("height-mismatch")):
        yield from _beyond(planned, part)
        return
    lack = "are missing" if missing > 0 else "are too much"
    stack_words, form_words = lengths(planned, stacked, part.height_mm)
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
        message=f"The rings of {the_part(part)} come to {stack_words}, the form is {form_words} "
        f"high: {length(planned, abs(missing))} {lack}.",
        value=stacked,
        limit=part.height_mm,
        unit="mm",
        mend=offered,
    )


def _beyond(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    """Rings that the form does not reach, where the heights count as alike nevertheless."""
    for ring in part.rings:
        if ring.outside_mm is None and ring.fault is None:
            yield Check(
                code="height-mismatch",
                severity=Severity.STOP,
                part=part.id,
                ring=ring.id,
                message=f"{sentence(the_ring(planned, ring))} lies beyond the form: there is "
                "nothing to turn from it.",
                value=ring.z_bottom_mm,
                limit=part.z1_mm,
                unit="mm",
            )


def _sides(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    if part.inside is None:
        return
    if part.breach is not None:
        if all(ring.fault is None or ring.fault.code != "inside-outside" for ring in part.rings):
            yield _breached(planned, part, part.breach)
        return
    yield from _wall(planned, part)
    yield from _floor(planned, part)


def _breached(planned: Planned, part: WorkedPart, breach: WallSpot) -> Check:
    return Check(
        code="inside-outside",
        severity=Severity.STOP,
        part=part.id,
        message=f"The inside of {the_part(part)} breaks through the outside at "
        f"{length(planned, breach.z_mm)} of height.",
        value=breach.thickness_mm,
        limit=0.0,
        unit="mm",
    )


def _wall(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    assert part.inside is not None
    spot = least_wall(part.outside, part.inside, part.floor_mm)
    limit = planned.work.limit("wall-thin")
    if spot is None or (reaches(spot.thickness_mm, limit) and not is_nothing(spot.thickness_mm)):
        return
    nothing = is_nothing(spot.thickness_mm)
    yield Check(
        code="wall-thin",
        severity=Severity.STOP if nothing else Severity.WARN,
        part=part.id,
        ring=part.ring_at(spot.z_mm),
        message=f"No wall of {the_part(part)} is left at {length(planned, spot.z_mm)} of height."
        if nothing
        else f"The wall of {the_part(part)} is only {length(planned, spot.thickness_mm)} thick "
        f"at {length(planned, spot.z_mm)} of height.",
        value=spot.thickness_mm,
        limit=limit,
        unit="mm",
    )


def _floor(planned: Planned, part: WorkedPart) -> Iterator[Check]:
    assert part.inside is not None
    floor = floor_thickness(part.outside, part.inside, part.floor_mm)
    limit = planned.work.limit("floor-thin")
    if floor is None:
        return
    nothing = is_nothing(floor.thickness_mm)
    if reaches(floor.thickness_mm, limit) and not nothing:
        return
    yield Check(
        code="floor-thin",
        severity=Severity.STOP if nothing else Severity.WARN,
        part=part.id,
        ring=part.ring_at(floor.z_mm),
        message=f"No floor of {the_part(part)} is left."
        if nothing
        else f"The floor of {the_part(part)} is only {length(planned, floor.thickness_mm)} thick.",
        value=floor.thickness_mm,
        limit=limit,
        unit="mm",
        mend=_raised_floor(planned, part, floor, limit),
    )


def _raised_floor(
    planned: Planned, part: WorkedPart, floor: WallSpot, limit: float
) -> dict[str, object] | None:
    """A floor that is higher by what is missing, where that is still below the rim."""
    assert part.inside is not None
    drawn = floor_level(part.outside, part.inside, part.floor_mm)
    level = max(drawn, floor.z_mm) + limit - floor.thickness_mm
    if level >= part.z1_mm:
        return None
    return mend(
        f"Leave a floor of {length(planned, limit)}",
        change(f"{part_path(planned.piece, part.id)}/floor_mm", level),
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
