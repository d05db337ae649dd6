"""The figures beside a step: what to set the calipers, the drill and the speed to."""

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from server.craft.document.assembly import Joint
from server.craft.errors import CraftError
from server.craft.form.walls import floor_thickness, least_wall
from server.craft.lathe.gauges import (
    depth_to_floor_mm,
    gauges,
    rough_gauge,
    roughest_diameter_mm,
)
from server.craft.lathe.holds import Strength
from server.craft.lathe.joints import (
    MORTISE,
    MORTISE_DEPTH,
    MOST_RUN_OUT_MM,
    RUN_OUT,
    SPARE_MM,
    TENON,
    tenon_to_turn,
)
from server.craft.lathe.speed import SpeedBand, rim_speed_m_s
from server.craft.lathe.steps import Step, Work
from server.craft.lathe.steps_bodies import joints_at
from server.craft.units import format_length
from server.craft.worked.piece import WorkedPart
from server.rooms.lathe.bench import LatheBench
from server.rooms.lathe.speeds import most_rpm, rings_of, speed_of
from server.rooms.lathe.stems import stem_of
from server.web.lengths import stacked

MOST = 3
DEPTH = "depth"
ECCENTRIC = "off_axis"
VERDICTS = {
    "fits": "it fits",
    "thick": "too thick: turn off more",
    "thin": "too thin: it will not hold",
}


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: a label, the number with its unit, and a line under it."""

    label: str
    value: Markup
    under: str


@dataclass(frozen=True, slots=True)
class GaugeRow:
    """One caliper setting: how high, across, wall, across inside."""

    height: str
    ring: str
    outside: str
    wall: str
    inside: str


def figures(bench: LatheBench) -> tuple[Figure, ...]:
    """The figures of the current step, the most telling first."""
    state, part = bench.current, bench.part
    if state is None or part is None:
        return ()
    found = list(_work_figures(bench, state.step, part))[:MOST]
    speed = _speed(bench, state.step, part)
    return (*found[: MOST - 1], speed) if speed else tuple(found)


def gauge_rows(bench: LatheBench) -> tuple[GaugeRow, ...]:
    """Calipers at the telling heights of the current step."""
    state, part = bench.current, bench.part
    if state is None or part is None or not state.step.heights_mm:
        return ()
    say = _Say(bench)
    return tuple(
        GaugeRow(
            height=say.length(gauge.z_mm - part.z0_mm),
            ring=bench.names.get(gauge.ring or "", ""),
            outside=say.length(gauge.outside_diameter_mm),
            wall="" if gauge.wall_mm is None else say.length(gauge.wall_mm),
            inside="" if gauge.inside_diameter_mm is None else say.length(gauge.inside_diameter_mm),
        )
        for gauge in gauges(part, _inside_the_form(part, state.step.heights_mm))
    )


def _inside_the_form(part: WorkedPart, heights: tuple[float, ...]) -> list[float]:
    low, high = part.z0_mm + 1e-3, part.z1_mm - 1e-3
    return [min(max(z, low), high) for z in heights]


class _Say:
    """Numbers in the piece's units."""

    def __init__(self, bench: LatheBench) -> None:
        self.units = bench.piece.display_units

    def figure(self, label: str, mm: float, under: str = "") -> Figure:
        other = format_length(mm, "mm" if self.units == "in" else "in")
        return Figure(label, stacked(mm, self.units), under or other)

    def fine(self, mm: float) -> str:
        """A length as a caliper shows it."""
        return f"{mm / 25.4:.3f}″" if self.units == "in" else f"{mm:.2f} mm"

    def fine_figure(self, label: str, mm: float, under: str) -> Figure:
        number, unit = self.fine(mm).removesuffix(" mm"), self.units
        value = Markup("{}") if unit == "in" else Markup("{}<small>mm</small>")
        return Figure(label, value.format(number), under)

    def other(self, mm: float) -> str:
        """The same in the other units."""
        return f"{mm:g} mm" if self.units == "in" else f"{mm / 25.4:.3f}″"

    def length(self, mm: float) -> str:
        return format_length(mm, self.units)


def _work_figures(bench: LatheBench, step: Step, part: WorkedPart) -> Iterator[Figure]:
    match step.work:
        case Work.ROUGH:
            yield from _rough(bench, step, part)
        case Work.OUTSIDE | Work.TRUE_JOINT | Work.FINISH_OUTSIDE:
            yield from _outside(bench, part)
        case Work.INSIDE | Work.FINISH_INSIDE | Work.RIM:
            yield from _inside(bench, step, part)
        case Work.MEASURE if step.quantity == RUN_OUT:
            yield from _run_out(bench, step)
        case Work.BORE | Work.MEASURE | Work.TENON:
            yield from _joint(bench, step)
        case Work.BOTTOM | Work.FINISH_END | Work.REVERSE | Work.READY | Work.PART_OFF:
            yield from _foot(bench, step, part)
        case Work.SIZE:
            yield from _stem(bench, part)
        case _:
            return


def _stem(bench: LatheBench, part: WorkedPart) -> Iterator[Figure]:
    """What is left for the stem once its neighbours are measured, the whole as high as drawn."""
    say, stem = _Say(bench), stem_of(bench, part)
    under = f"drawn {say.length(part.height_mm)}, {stem.measured} measured"
    if stem.visible_mm <= 0:
        yield say.figure("Nothing left for it: over by", -stem.visible_mm, under)
        return
    yield say.figure("Between the shoulders", stem.visible_mm, under)
    yield say.figure("With its tenons", stem.turned_mm)
    spare = f"{say.length(SPARE_MM)} to spare at each end"
    yield say.figure("Blank, cut to", stem.turned_mm + 2 * SPARE_MM, spare)


def _rough(bench: LatheBench, step: Step, part: WorkedPart) -> Iterator[Figure]:
    say, rings = _Say(bench), rings_of(bench, step)
    off = bench.reading(step.subject, ECCENTRIC) or 0.0
    rough = [rough_gauge(ring, off) for ring in part.rings if ring.id in rings]
    proud = [one.corners_proud_mm for one in rough if one.corners_proud_mm is not None]
    left = [one.left_outside_mm for one in rough if one.left_outside_mm is not None]
    if proud:
        across = roughest_diameter_mm(part, rings)
        under = f"over corners Ø {say.length(across)}" if across else ""
        yield say.figure("Corners stand proud", max(proud), under)
    if left:
        under = f"off the axis by {say.length(off)}" if off else "less how far it is off the axis"
        yield say.figure("Wood left outside, least", min(left), under)


def _outside(bench: LatheBench, part: WorkedPart) -> Iterator[Figure]:
    say = _Say(bench)
    low, high = part.outside.radius_extremes(part.z0_mm, part.z1_mm) or (0.0, 0.0)
    yield say.figure("Widest", 2 * high)
    yield say.figure("Narrowest", 2 * low)


def _inside(bench: LatheBench, step: Step, part: WorkedPart) -> Iterator[Figure]:
    say = _Say(bench)
    depth = depth_to_floor_mm(part)
    whole = step.stack is None or not _several(bench, part)
    if depth is not None and whole:
        measured = bench.reading(step.subject, DEPTH)
        if measured is None:
            yield say.figure("To the floor, from the rim", depth)
        else:
            to_go, under = depth - measured, f"measured {say.length(measured)}"
            label = "Still to go, by the depth rod" if to_go > 0 else "Deeper than drawn, by"
            yield say.figure(label, abs(to_go), f"{under} of {say.length(depth)}")
    if part.inside is not None:
        wall = least_wall(part.outside, part.inside, part.floor_mm)
        if wall is not None:
            at = f"thinnest {say.length(wall.z_mm - part.z0_mm)} up"
            yield say.figure("Wall, thinnest to keep", wall.thickness_mm, at)


def _several(bench: LatheBench, part: WorkedPart) -> bool:
    return sum(stack.part == part.id for stack in bench.piece.stacks) > 1


def _joint(bench: LatheBench, step: Step) -> Iterator[Figure]:
    say = _Say(bench)
    joint = next(joint for joint in bench.piece.joints if joint.id == step.joint)
    measured = bench.reading(joint.id, MORTISE)
    if step.work is not Work.TENON:
        yield say.figure("Mortise across", joint.mortise_diameter_mm)
        yield say.figure("Mortise deep", joint.mortise_depth_mm)
        return
    if measured is None:
        yield say.figure("Tenon, as drawn", joint.diameter_mm, "measure the mortise first")
        return
    try:
        tenon = tenon_to_turn(joint, measured, bench.reading(joint.id, MORTISE_DEPTH))
    except CraftError as error:
        yield say.figure("Mortise, as measured", measured, str(error))
        return
    between = f"from {say.fine(tenon.least_mm)} to {say.fine(tenon.most_mm)} fits"
    yield say.fine_figure("Tenon to turn", tenon.diameter_mm, between)
    now = bench.reading(joint.id, TENON)
    if now is not None:
        yield say.fine_figure("Tenon now", now, VERDICTS[tenon.judge(now)])
    yield say.figure("Tenon long", tenon.length_mm, f"mortise measured {say.fine(measured)}")


def _run_out(bench: LatheBench, step: Step) -> Iterator[Figure]:
    say = _Say(bench)
    yield say.fine_figure("Runs out, at most", MOST_RUN_OUT_MM, say.other(MOST_RUN_OUT_MM))
    now = bench.reading(step.subject, RUN_OUT)
    if now is not None:
        true = now <= MOST_RUN_OUT_MM
        yield say.fine_figure("Runs out now", now, "bore it" if true else "tap it true")


def _foot(bench: LatheBench, step: Step, part: WorkedPart) -> Iterator[Figure]:
    say = _Say(bench)
    hold = step.hold
    if hold is not None and hold.size_mm is not None and step.work in (Work.REVERSE, Work.READY):
        yield say.figure("The hold takes Ø", hold.size_mm)
    if part.inside is not None:
        floor = floor_thickness(part.outside, part.inside, part.floor_mm)
        if floor is not None:
            deep = max((j.mortise_depth_mm for j in _mortises_below(bench, part)), default=0.0)
            over = f"{say.length(floor.thickness_mm - deep)} over the mortise" if deep else ""
            yield say.figure("Floor that is left", floor.thickness_mm, over)
    foot = part.outside.radii_at(part.z0_mm)
    at_the_bottom = any(name.endswith(":bottom") for name in (*step.works, *step.finishes))
    if foot and part.part.kind != "spindle" and at_the_bottom:
        joined = joints_at(bench.planned.work, part.id, "bottom")
        yield say.figure("Shoulder across" if joined else "Foot across", 2 * foot[-1])


def _mortises_below(bench: LatheBench, part: WorkedPart) -> list[Joint]:
    """Joints whose mortise goes into the bottom of a part."""
    below = (part.id, "bottom")
    return [j for j in bench.piece.joints if (j.mortise.part, j.mortise.end) == below]


def _speed(bench: LatheBench, step: Step, part: WorkedPart) -> Figure | None:
    band = speed_of(bench, step, part)
    if band is None:
        return None
    across = format_length(band.diameter_mm, bench.piece.display_units, 0)
    most = most_rpm(band)
    rpm = min(band.high_rpm, most) // 10 * 10
    rim = rim_speed_m_s(band.diameter_mm, rpm)
    limited = band.runs_true and band.high_rpm > most
    why = "the lathe’s own limit if lower" if limited else _state(step, band)
    value = Markup("{:.0f}<small>rpm</small>").format(rpm)
    return Figure("Speed, not above", value, f"rim {rim:.1f} m/s at Ø {across}, {why}")


def _state(step: Step, band: SpeedBand) -> str:
    if band.runs_true:
        return "runs true"
    light = step.hold is not None and step.hold.strength is not Strength.FIRM
    return "a hold for light cuts" if light else "not round yet"
