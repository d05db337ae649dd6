"""Sled and stop: from what a test ring shows to how far to move the fence, the blade, the stop."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import cast

from server.craft.errors import CraftError, FieldError
from server.craft.floor import clock
from server.craft.ledger import Kind
from server.craft.rings.closing import half_rings
from server.craft.saw.sled import (
    Across,
    JointGaps,
    SawError,
    Side,
    error_from_angles,
    error_from_halves,
    error_from_joint,
    error_from_ring_gap,
    ring_size_mm,
    stop_correction_mm,
)
from server.rooms.saw_bench.says import as_json
from server.rooms.saw_bench.work import Cut, Job, SawWork
from server.web.fields import Fields

MITRE, TILT, STOP = "mitre_error_deg", "tilt_error_deg", "stop_correction_mm"
QUANTITIES = {
    MITRE: "each mitre cut off by {value:+.4f}°",
    TILT: "blade off upright by {value:+.3f}°",
    STOP: "stop moved by {value:+.2f} mm",
}
HOWS = ("sum", "gap", "halves", "corners", "stop")
_HISTORY = 16
_RIGHT_DEG = 1e-6
_GAP_MM = 25.0


@dataclass(frozen=True, slots=True)
class Answer:
    """What to do, in words with its figure, and the lines that keep it in the ledger."""

    title: str
    figure: str
    unit: str
    lines: tuple[str, ...]
    say: str


@dataclass(frozen=True, slots=True)
class PastReading:
    """One reading of the saw."""

    when: str
    ring: str
    words: str


def worked_out(job: Job, cut: Cut, how: str, fields: Fields) -> tuple[Answer, ...]:
    """The answers to one form; what is wrong stands in `fields.errors`."""
    try:
        return _READERS[how](job, cut, fields)
    except FieldError as no:
        fields.wrong(_FIELD_OF.get(no.path, no.path), no.message)
    except CraftError as no:
        fields.wrong(how, str(no))
    return ()


def history(work: SawWork) -> tuple[PastReading, ...]:
    """What the saw was found to do, newest first."""
    found = [
        reading
        for reading in work.floor.readings
        if reading.quantity in QUANTITIES and reading.mark.entry_id not in work.floor.undone
    ]
    newest = sorted(found, key=lambda reading: reading.mark.seq, reverse=True)[:_HISTORY]
    return tuple(
        PastReading(
            clock(reading.mark.at, work.now),
            work.labels.get(reading.subject, reading.subject),
            QUANTITIES[reading.quantity].format(value=reading.value),
        )
        for reading in newest
    )


def stop_moved_mm(work: SawWork) -> float | None:
    """The newest correction of the stop, None before there was one."""
    reading = work.floor.latest(STOP)
    return reading.value if reading else None


def wanted_sizes(job: Job, cut: Cut) -> tuple[tuple[Across, str, float], ...]:
    """What a ring of these segments must measure before it is turned."""
    segments = _segments(job)
    kinds: tuple[tuple[Across, str], ...] = (
        (("flat-to-corner", "from a flat to the corner opposite"),)
        if segments % 2
        else (("flats", "across the flats"), ("corners", "across the corners"))
    )
    edge = cut.row.outer_edge_mm
    return tuple((kind, words, ring_size_mm(segments, edge, kind)) for kind, words in kinds)


def _segments(job: Job) -> int:
    return job.worked.ring.segments if job.worked else 12


def _sum(job: Job, cut: Cut, fields: Fields) -> tuple[Answer, ...]:
    total = fields.number("sum_deg", low=180, high=540)
    radius = _radius(fields)
    if total is None or radius is None:
        return ()
    return _mitre(job, cut, error_from_angles(_segments(job), total), radius)


def _gap(job: Job, cut: Cut, fields: Fields) -> tuple[Answer, ...]:
    outside = fields.length("gap_outside", low=0, high=_GAP_MM)
    inside = fields.length("gap_inside", low=0, high=_GAP_MM)
    radius = _radius(fields)
    if outside is None or inside is None or radius is None:
        return ()
    error = error_from_ring_gap(_segments(job), cut.row.width_mm, outside, inside)
    return _mitre(job, cut, error, radius)


def _halves(job: Job, cut: Cut, fields: Fields) -> tuple[Answer, ...]:
    opening = fields.length("opening", low=0, high=_GAP_MM)
    side = cast(Side, fields.choice("opens", ("outside", "inside")))
    radius = _radius(fields)
    if opening is None or radius is None or not fields.ok:
        return ()
    error = error_from_halves(_segments(job), cut.row.width_mm, opening, side)
    return _mitre(job, cut, error, radius)


def _corners(job: Job, cut: Cut, fields: Fields) -> tuple[Answer, ...]:
    names = ("outside_top", "outside_bottom", "inside_top", "inside_bottom")
    gaps = [fields.length(name, low=0, high=_GAP_MM) for name in names]
    radius = _radius(fields)
    if any(gap is None for gap in gaps) or radius is None:
        return ()
    joint = JointGaps(*(float(gap) for gap in gaps if gap is not None))
    error = error_from_joint(_segments(job), cut.row.width_mm, cut.row.thickness_mm, joint)
    return (*_mitre(job, cut, error, radius), _tilt(job, error))


def _stop(job: Job, cut: Cut, fields: Fields) -> tuple[Answer, ...]:
    measured = fields.length("measured", low=1)
    sizes = wanted_sizes(job, cut)
    across = cast(Across, fields.choice("across", [kind for kind, _, _ in sizes]))
    if measured is None or not fields.ok:
        return ()
    edge = cut.row.outer_edge_mm
    move = stop_correction_mm(_segments(job), edge, measured, across)
    way = "away from the blade" if move > 0 else "towards the blade"
    size = next(size for kind, _, size in sizes if kind == across)
    return (
        Answer(
            f"Move the stop {way}" if abs(move) >= 0.005 else "Leave the stop",
            f"{abs(move):.2f}",
            "mm",
            (
                f"The ring measures {measured:.2f} mm, and should measure {size:.2f} mm.",
                f"Its segments came out {edge - move:.2f} mm long instead of {edge:.2f} mm.",
            ),
            _line(job, STOP, move),
        ),
    )


def _mitre(job: Job, cut: Cut, error: SawError, radius_mm: float) -> tuple[Answer, ...]:
    off, shift = error.mitre_deg, error.fence_shift_mm(radius_mm)
    segments = _segments(job)
    if abs(off) < _RIGHT_DEG:
        line = _line(job, MITRE, 0.0)
        return (Answer("The mitre is right", "0", "mm", ("Leave the fence as it is.",), line),)
    steep = "too steep" if off > 0 else "too shallow"
    way = "to a steeper mitre" if shift > 0 else "to a shallower mitre"
    lines = [
        f"Each cut is {abs(off):.4f}° {steep}; over {2 * segments} cuts that is "
        f"{2 * segments * abs(off):.2f}°.",
        f"Measured square to the fence, {radius_mm:.0f} mm from its pivot.",
    ]
    if segments % 2 == 0:
        halves = half_rings(segments, off, cut.row.outer_edge_mm, cut.row.width_mm)
        change = halves.diameter_change_mm
        lines.append(
            f"Glued as half rings instead, truing takes {halves.take_off_mm:.2f} mm at the "
            f"{'inside' if halves.opens == 'outside' else 'outside'} of each face, and the ring is "
            f"then {abs(change):.2f} mm {'wider' if change > 0 else 'narrower'} across those two "
            "joints than along them."
        )
    return (
        Answer(
            f"Turn the fence {way}", f"{abs(shift):.2f}", "mm", tuple(lines), _line(job, MITRE, off)
        ),
    )


def _tilt(job: Job, error: SawError) -> Answer:
    opens = "top" if error.tilt_deg > 0 else "bottom"
    lines = (
        ("The blade stands upright.",)
        if abs(error.tilt_deg) < _RIGHT_DEG
        else (f"The joints open at the {opens}: each face leans by this much off upright.",)
    )
    return Answer(
        "Set the blade upright by",
        f"{abs(error.tilt_deg):.3f}",
        "°",
        lines,
        _line(job, TILT, error.tilt_deg),
    )


def _line(job: Job, quantity: str, value: float) -> str:
    key = "value_mm" if quantity == STOP else "value"
    return as_json(
        {
            "kind": Kind.MEASURED.value,
            "subject": job.id,
            "words": "a reading of the saw",
            "mark": f"measured:{quantity}",
            "data": {"quantity": quantity, key: round(value, 6)},
        }
    )


def _radius(fields: Fields) -> float | None:
    return fields.length("fence_radius", low=10, high=3000)


_Reader = Callable[[Job, Cut, Fields], tuple[Answer, ...]]
_READERS: dict[str, _Reader] = {
    "sum": _sum,
    "gap": _gap,
    "halves": _halves,
    "corners": _corners,
    "stop": _stop,
}
_FIELD_OF = {
    "outside_mm": "gap_outside",
    "opening_mm": "opening",
    "gaps": "outside_top",
    "measured_mm": "measured",
}
