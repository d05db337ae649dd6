"""What the saw is set to for one strip: large figures, how they close the ring, marks."""

from dataclasses import dataclass

from server.craft.rings.staves import CompoundSetting
from server.rooms.saw_bench.work import Cut, Job

_CLOSED_DEG = 0.005


@dataclass(frozen=True, slots=True)
class Setting:
    """One figure to set. A length has `length_mm`, an angle its words in `figure`."""

    label: str
    length_mm: float | None = None
    figure: str = ""
    beside: str = ""
    small: str = ""


def settings(job: Job, cut: Cut, stop_moved_mm: float | None = None) -> tuple[Setting, ...]:
    """The figures for this strip, the mitre first; the stop with its last correction, in mm."""
    row = cut.row
    if row.kind == "segment":
        return (_mitre(job, cut), *_segment_lengths(job, cut, stop_moved_mm))
    if row.kind == "stave":
        return _stave(job, cut)
    if row.kind == "spacer":
        return (
            Setting("Cut off square, to length", row.outer_edge_mm),
            Setting("Rip off the edge, as thick as", row.width_mm),
            Setting("Board thickness", row.thickness_mm),
        )
    return (
        Setting("Cut off square, to length", row.outer_edge_mm),
        Setting("Board width, at least", row.width_mm),
        Setting("Board thickness", row.thickness_mm),
    )


def angle_words(degrees: float) -> str:
    """To a hundredth of a degree, to a thousandth where that is not the same."""
    return f"{degrees:.2f}°" if abs(round(degrees, 2) - degrees) < 5e-4 else f"{degrees:.3f}°"


def _mitre(job: Job, cut: Cut) -> Setting:
    cuts, total = _closing(job)
    closed = abs(total - 360.0) < _CLOSED_DEG
    small = "sum 360°" if closed else f"sum {total:.2f}°, gaps left open"
    return Setting(
        "Mitre, from a square cut",
        figure=angle_words(cut.row.mitre_deg),
        beside=f"{cuts} cuts",
        small=small,
    )


def _closing(job: Job) -> tuple[int, float]:
    """Mitre cuts of the whole ring, and what they add up to in degrees."""
    flat = job.worked.flat if job.worked else None
    shapes = flat.segments if flat else ()
    return 2 * len(shapes), sum(2 * shape.mitre_deg for shape in shapes)


def _segment_lengths(job: Job, cut: Cut, stop_moved_mm: float | None) -> tuple[Setting, ...]:
    row, worked = cut.row, job.worked
    finished = worked.ring.thickness_mm if worked else row.thickness_mm
    flat = "" if abs(finished - row.thickness_mm) < 1e-6 else f"flattened to {finished:.4g} mm"
    moved = f"last ring: stop {stop_moved_mm:+.2f} mm" if stop_moved_mm else ""
    lengths = [
        Setting("Stop: outer edge, long points", row.outer_edge_mm, small=moved),
        Setting("Rip the strip to width", row.width_mm),
        Setting("Plane the strip to thickness", row.thickness_mm, small=flat),
    ]
    spacer = worked.ring.spacer if worked else None
    if spacer is not None and worked is not None and worked.flat is not None:
        long = f"{worked.ring.segments} of them, {worked.flat.spacer_length_mm:.1f} mm long"
        lengths.append(Setting("Spacer in every joint", spacer.thickness_mm, small=long))
    return tuple(lengths)


def _stave(job: Job, cut: Cut) -> tuple[Setting, ...]:
    row = cut.row
    stave = job.worked.stave if job.worked else None
    meet = CompoundSetting(row.mitre_deg, row.bevel_deg).faces_meet_deg
    lean = f"leans {stave.lean_deg:.4g}° from upright" if stave else ""
    blank = stave.blank_length_mm if stave else row.outer_edge_mm
    return (
        Setting("Mitre, board flat on the saw", figure=angle_words(row.mitre_deg), small=lean),
        Setting(
            "Blade tilt, from upright",
            figure=angle_words(row.bevel_deg),
            small=f"faces meet at {meet:.2f}°",
        ),
        Setting("Wide end, long points", row.outer_edge_mm),
        Setting("Blank, cut square to length", blank),
        Setting("Board width", row.width_mm),
        Setting("Board thickness", row.thickness_mm),
    )
