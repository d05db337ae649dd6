"""The lit panel: what matters now, read from two metres."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from server.craft.floor import Timer, clock
from server.craft.ledger import Kind
from server.rooms.glue_bench.advice import advice
from server.rooms.glue_bench.bench import Bench
from server.rooms.glue_bench.disputes import Dispute, dispute
from server.rooms.glue_bench.says import (
    Button,
    more_minutes,
    tick_button,
    tick_data,
    undo_button,
)

Mode = Literal["pressing", "over", "waiting", "next", "empty"]


@dataclass(frozen=True, slots=True)
class Running:
    """The countdown of the panel; moments as ISO 8601 for the device."""

    timer: Timer
    name: str
    started: str
    deadline: str
    figure: str
    from_words: str
    span_words: str


@dataclass(frozen=True, slots=True)
class InHand:
    """The ring in question: its number, `of` how many, its woods and thickness in words."""

    label: str
    of: str
    woods: tuple[tuple[str, str], ...]
    thickness: str


@dataclass(frozen=True, slots=True)
class Panel:
    """All that the panel shows."""

    mode: Mode
    letter: str
    lead: str
    running: Running | None
    ring: InHand | None
    strong: str
    next: str
    why: str
    how: tuple[str, ...]
    act: Button | None
    quiet: tuple[Button, ...]
    disputes: tuple[Dispute, ...]
    off_words: str = ""


def panel(bench: Bench) -> Panel:
    """The panel as it is now: a press that runs or is over comes first, else what is next."""
    presses = [timer for timer in bench.floor.timers if timer.kind == "press"]
    made = _pressing(bench, presses[0]) if presses else _next(bench)
    if made.mode != "over" and _rings(bench):
        made = replace(made, quiet=(_quiet(), *made.quiet[-2:]))
    return replace(made, disputes=tuple(dispute(bench, c) for c in bench.floor.contests))


def _rings(bench: Bench) -> bool:
    """Whether half rings have set and nobody has said that it was heard."""
    now = bench.floor.now
    return any(t.kind == "halves" and t.over(now) and not t.heard for t in bench.floor.timers)


def _quiet() -> Button:
    return Button("Quiet", small="on all devices", icon="mute", quiet=True, id="quiet")


def _pressing(bench: Bench, timer: Timer) -> Panel:
    now = bench.floor.now
    over = timer.over(now)
    plate = timer.faceplate or ""
    until = clock(timer.deadline, bench.now)
    out = tick_button(bench, Kind.RELEASED, timer.subject, id="out")
    more = more_minutes(bench, timer.subject, timer.stack)
    undo = undo_button(bench)
    made = Panel(
        mode="over" if over else "pressing",
        letter=plate,
        lead=f"Press time is over, since {until}" if over else f"In the press until {until}",
        running=_running(bench, timer),
        ring=_in_hand(bench, timer.subject),
        strong="",
        next="",
        why="",
        how=(),
        act=None,
        quiet=(),
        disputes=(),
        off_words=_off_words(bench, timer) if over else "",
    )
    if over:
        return _overdue(made, out, (more, undo))
    early = replace(out, small="early")
    return replace(_with_next(made, bench), quiet=(early, more, undo))


def _overdue(made: Panel, out: Button, others: tuple[Button, Button]) -> Panel:
    """Nothing is ticked by itself: look first, then say so."""
    label = f"{made.letter} is out of the press".strip()
    return replace(
        made,
        strong="Nothing is ticked for you.",
        next=f"Look at the squeeze-out, then tick {made.letter or 'it'} out.",
        act=replace(out, label=label, icon="done", id="act"),
        quiet=(_quiet(), *others),
    )


def _next(bench: Bench) -> Panel:
    thing = bench.next
    stack = bench.order(thing.stack) or bench.stack_of(thing.ring or "")
    letter = stack.faceplate if stack else ""
    made = Panel(
        mode="waiting" if thing.action == "wait" else "next",
        letter=letter,
        lead=f"{stack.name}" if stack else "Glue bench",
        running=_soonest(bench) if thing.action == "wait" else None,
        ring=_in_hand(bench, thing.ring) if thing.ring else None,
        strong="",
        next="",
        why="",
        how=(),
        act=None,
        quiet=(undo_button(bench),),
        disputes=(),
    )
    if thing.action == "nothing":
        return replace(made, mode="empty", next=thing.do, why=thing.why)
    return _with_next(made, bench)


def _with_next(made: Panel, bench: Bench) -> Panel:
    thing = bench.next
    return replace(
        made,
        strong="Next:",
        next=f"{thing.do[0].lower()}{thing.do[1:]}.",
        why=thing.why,
        how=advice(bench, thing),
        act=_act(bench),
    )


def _act(bench: Bench) -> Button | None:
    """The one blue button."""
    thing = bench.next
    letter = thing.faceplate or ""
    if thing.action == "cut":
        href = f"/pieces/{bench.piece_id}/saw-bench?ring={thing.ring}"
        return Button("To the saw bench", href=href, letter=letter, id="act")
    if thing.action == "turn":
        return Button(
            "To the lathe", href=f"/pieces/{bench.piece_id}/lathe", letter=letter, id="act"
        )
    if thing.kind is None or thing.ring is None or thing.action == "settle":
        return None
    button = tick_button(bench, thing.kind, thing.ring, letter=letter, id="act")
    if thing.kind is Kind.CLAMPED:
        minutes = tick_data(bench, thing.kind, thing.ring, bench.order(thing.stack))["minutes"]
        return replace(button, small=f"starts {minutes:.0f} min")
    return button


def _running(bench: Bench, timer: Timer) -> Running:
    left = timer.left_s(bench.floor.now)
    label = bench.labels.get(timer.subject, timer.subject)
    total = timer.minutes + timer.added_minutes
    added = f", {timer.added_minutes:.0f} added" if timer.added_minutes else ""
    verb = {"press": "in", "halves": "glued", "rest": "out", "cure": "out"}[timer.kind]
    return Running(
        timer=timer,
        name=f"Ring {label} on {timer.faceplate}." if timer.faceplate else f"Ring {label}.",
        started=timer.started_at.isoformat(),
        deadline=timer.deadline.isoformat(),
        figure=figure(left),
        from_words=f"{verb} at {clock(timer.started_at, bench.now)}",
        span_words=f"{total:.0f} min{added}" if total < 600 else f"{total / 60:.0f} h",
    )


def _soonest(bench: Bench) -> Running | None:
    waits = [timer for timer in bench.floor.timers if timer.kind != "cure"]
    return _running(bench, waits[0]) if waits else None


def figure(left_s: float) -> str:
    """The countdown's first painting; the device goes on from there."""
    over = left_s <= 0
    seconds = int(-left_s) if over else int(-(-left_s // 1))
    minutes, second = divmod(seconds, 60)
    text = f"{minutes}:{second:02d}" if minutes < 100 else f"{round(minutes / 60)} h"
    return f"+{text}" if over and seconds else text


def _in_hand(bench: Bench, ring_id: str) -> InHand | None:
    if ring_id not in bench.labels:
        return None
    worked = bench.worked(ring_id)
    count = len(bench.planned.work.by_part[worked.part].rings)
    return InHand(
        label=bench.labels[ring_id],
        of=f"Ring {bench.labels[ring_id]} of {count}",
        woods=tuple((wood.colour_hex, wood.name) for wood in bench.woods(ring_id)),
        thickness=bench.written(worked.ring.thickness_mm),
    )


def _off_words(bench: Bench, timer: Timer) -> str:
    """Said while an alarm has not been heard whose time came while the server was off."""
    if bench.off is None or timer.heard:
        return ""
    went, came = bench.off
    if not went < timer.deadline <= came:
        return ""
    return f"It finished {ago(bench.now, timer.deadline)} ago, while the server was off."


def ago(now: datetime, then: datetime) -> str:
    """A stretch of time in words: 12 min, 3 h 12 min, 2 days."""
    minutes = max(0, round((now - then).total_seconds() / 60))
    hours, rest = divmod(minutes, 60)
    if hours >= 48:
        return f"{hours // 24} days"
    return f"{hours} h {rest} min" if hours else f"{rest} min"
