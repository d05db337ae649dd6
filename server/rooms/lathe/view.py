"""The context of `lathe/_bench.html`, all of it."""

import re
from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup

from server.craft.floor import clock
from server.craft.lathe.gauges_reach import reach
from server.craft.lathe.joints import RUN_OUT, TENON
from server.craft.lathe.steps import CAUTION_WORDS, Caution, Step, Work
from server.craft.lathe.steps_gates import Gate, StepState
from server.craft.units import format_length
from server.craft.worked.piece import WorkedPart
from server.exports.svg import to_svg
from server.rooms.lathe.bench import TOGETHER, LatheBench
from server.rooms.lathe.figures import (
    DEPTH,
    ECCENTRIC,
    Figure,
    GaugeRow,
    figures,
    gauge_rows,
)
from server.rooms.lathe.picture import picture
from server.rooms.lathe.says import Button, done_button, newest_done, undo_button
from server.rooms.lathe.stems import PART_HEIGHT, beside, stem_of
from server.rooms.lathe.words import gate_words, hold_size, hold_words, reach_words

FOLD_FROM = 3


@dataclass(frozen=True, slots=True)
class Group:
    """One part's tab: how many of its steps are done."""

    id: str
    name: str
    done: int
    count: int
    here: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One step in the list."""

    id: str
    number: int
    title: str
    hold: str
    icon: str
    gate: str
    small: str
    here: bool


@dataclass(frozen=True, slots=True)
class Measure:
    """A measuring form: what is measured of which subject, with the newest value.

    `id` is made of letters, digits and hyphens, so that it can stand in a selector.
    """

    id: str
    subject: str
    quantity: str
    label: str
    last: str
    part: str


@dataclass(frozen=True, slots=True)
class Now:
    """The step that is shown large."""

    id: str
    number: int
    title: str
    words: str
    hold: str
    size: str
    gate: str
    done: str
    shut: tuple[str, ...]
    early: tuple[str, ...]
    picture: Markup | None
    act: Button | None
    undo: Button | None
    measures: tuple[Measure, ...]
    sheet: str
    mind: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LatheView:
    """`seq` is the newest line of the ledger that this sheet knows of."""

    seq: int
    groups: tuple[Group, ...]
    folded: tuple[Line, ...]
    lines: tuple[Line, ...]
    now: Now | None
    figures: tuple[Figure, ...]
    gauges: tuple[GaugeRow, ...]
    subjects: tuple[tuple[str, str], ...]
    units: str


def view(bench: LatheBench, seq: int) -> LatheView:
    """Everything that the sheet shows."""
    state = bench.current
    group = bench.group(state.step) if state else ""
    own = [one for one in bench.states if bench.group(one.step) == group]
    lines = tuple(_line(bench, one, k, state) for k, one in enumerate(own, start=1))
    folded = _folded(lines)
    return LatheView(
        seq=seq,
        groups=_groups(bench, group),
        folded=lines[:folded],
        lines=lines[folded:],
        now=_now(bench, state, own.index(state) + 1) if state else None,
        figures=figures(bench),
        gauges=gauge_rows(bench),
        subjects=tuple((one.step.id, one.step.title) for one in own),
        units=bench.piece.display_units,
    )


def _folded(lines: tuple[Line, ...]) -> int:
    """How many steps at the beginning fold away: those done, but for the last two."""
    count = 0
    for line in lines:
        if line.gate != Gate.DONE.value or line.here:
            break
        count += 1
    return count - 2 if count > FOLD_FROM else 0


def _groups(bench: LatheBench, here: str) -> tuple[Group, ...]:
    names = dict.fromkeys(bench.group(state.step) for state in bench.states)
    return tuple(_group(bench, name, name == here) for name in names)


def _group(bench: LatheBench, name: str, here: bool) -> Group:
    own = [state for state in bench.states if bench.group(state.step) == name]
    done = sum(state.gate is Gate.DONE for state in own)
    called = "Together" if name == TOGETHER else bench.names.get(name, name)
    return Group(name, called, done, len(own), here)


def _line(bench: LatheBench, state: StepState, number: int, shown: StepState | None) -> Line:
    small = hold_words(state.step.hold)
    if state.done_at is not None:
        when = clock(state.done_at, bench.now)
        small = f"ticked {when}" if state.gate is Gate.EARLY else f"done {when}"
        small += ", before its turn" if state.out_of_turn else ""
    return Line(
        id=state.step.id,
        number=number,
        title=state.step.title,
        hold=hold_words(state.step.hold),
        icon=state.step.hold.way.value if state.step.hold else "bench",
        gate=state.gate.value,
        small=small,
        here=shown is not None and state.step.id == shown.step.id,
    )


def _now(bench: LatheBench, state: StepState, number: int) -> Now:
    step, part = state.step, bench.part
    drawn = to_svg(picture(bench, step, part), "turn") if part is not None else None
    held = hold_words(step.hold)
    undoable = step if state.done_at is not None else newest_done(bench)
    return Now(
        id=step.id,
        number=number,
        title=step.title,
        words=step.words,
        hold=f"{held[0].upper()}{held[1:]}",
        size=" ".join(
            said
            for said in (hold_size(step.hold, bench.piece.display_units), _reach(bench))
            if said
        ),
        gate=state.gate.value,
        done=clock(state.done_at, bench.now) if state.done_at else "",
        shut=gate_words(state, bench.now),
        early=state.out_of_turn,
        picture=drawn,
        act=done_button(state),
        undo=undo_button(bench, undoable) if undoable else None,
        measures=_measures(bench, step) if state.gate in (Gate.OPEN, Gate.DONE) else (),
        sheet=_sheet(bench, step, part),
        mind="Before switching on" if Caution.SWITCH_ON in step.cautions else "Mind",
        cautions=tuple(CAUTION_WORDS[one] for one in step.cautions),
    )


def _sheet(bench: LatheBench, step: Step, part: WorkedPart | None) -> str:
    """Where the stem's outline at full size is printed, as long as it is to be."""
    if step.work is not Work.SIZE or part is None or stem_of(bench, part).visible_mm <= 0:
        return ""
    return f"/pieces/{bench.piece_id}/lathe/stem.pdf?{urlencode({'part': part.id})}"


def _reach(bench: LatheBench) -> str:
    """What a straight tool gets at, for hollowing through the finished mouth."""
    state, part = bench.current, bench.part
    if state is None or part is None or state.step.work is not Work.INSIDE:
        return ""
    whole = state.step.stack is None or len(bench.piece.stacks) == 1
    return reach_words(reach(part), part, bench.piece.display_units) if whole else ""


def _measures(bench: LatheBench, step: Step) -> tuple[Measure, ...]:
    if step.quantity is not None:
        label = "Runs out by" if step.quantity == RUN_OUT else "Mortise, across"
        return (_measure(bench, step, step.subject, step.quantity, label),)
    if step.work is Work.SIZE and step.part is not None:
        return tuple(
            _measure(bench, step, part, PART_HEIGHT, f"{bench.names[part]}, shoulder to end")
            for part in beside(bench, step.part)
        )
    if step.work is Work.ROUGH and bench.part is not None and bench.part.rings:
        return (_measure(bench, step, step.subject, ECCENTRIC, "Off the axis by"),)
    if step.work is Work.INSIDE:
        return (_measure(bench, step, step.subject, DEPTH, "Depth from the rim, now"),)
    if step.work is Work.TENON and step.joint is not None:
        return (_measure(bench, step, step.joint, TENON, "Tenon, as it is now"),)
    return ()


def _measure(bench: LatheBench, step: Step, subject: str, quantity: str, label: str) -> Measure:
    value = bench.reading(subject, quantity)
    last = "" if value is None else format_length(value, bench.piece.display_units)
    name = re.sub(r"[^A-Za-z0-9]+", "-", f"m-{step.id}-{subject}-{quantity}")
    return Measure(name, subject, quantity, label, last, step.part or "")
