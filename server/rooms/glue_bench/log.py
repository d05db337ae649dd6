"""What was measured at the bench: stays in the press, the shop's air, notes and photos."""

from dataclasses import dataclass

from server.craft.floor import PressRun, clock
from server.craft.ledger import Entry
from server.rooms.glue_bench.bench import Bench

NEWEST = 12


@dataclass(frozen=True, slots=True)
class Run:
    """One stay in the press, in words."""

    letter: str
    ring: str
    times: str
    minutes: str
    glue: str
    air: str


@dataclass(frozen=True, slots=True)
class Remark:
    """A note or photo; `photo` is the picture's address, if there is one."""

    ring: str
    words: str
    who: str
    photo: str


@dataclass(frozen=True, slots=True)
class Log:
    """The bench's own book, newest first, and what a note can be about."""

    runs: tuple[Run, ...]
    remarks: tuple[Remark, ...]
    air: tuple[str, ...]
    subjects: tuple[tuple[str, str], ...]
    air_subject: str


def log(bench: Bench) -> Log:
    """The newest of each."""
    subjects = [(order.id, f"Faceplate {order.faceplate}, {order.name}") for order in bench.orders]
    subjects += [
        (ring.id, f"Ring {ring.label} on {order.faceplate}")
        for order in bench.orders
        for ring in order.rings
    ]
    newest = sorted(_said(bench), key=lambda entry: entry.seq, reverse=True)[:NEWEST]
    return Log(
        runs=tuple(_run(bench, run) for run in reversed(bench.floor.runs[-NEWEST:])),
        remarks=tuple(_remark(bench, said) for said in newest),
        air=tuple(_air(bench)),
        subjects=tuple(subjects),
        air_subject=subjects[0][0] if subjects else bench.piece.parts[0].id,
    )


def _said(bench: Bench) -> list[Entry]:
    floor = bench.floor
    return [
        said for shelf in (floor.notes, floor.photos) for many in shelf.values() for said in many
    ]


def _run(bench: Bench, run: PressRun) -> Run:
    since = clock(run.clamped.at, bench.now)
    out = clock(run.released.at, bench.now) if run.released else None
    air = []
    if run.temperature_c is not None:
        air.append(bench.degrees(run.temperature_c))
    if run.humidity_percent is not None:
        air.append(f"{run.humidity_percent:.0f} %")
    known = bench.planned.glues.get(run.glue or "")
    planned = f" of {run.planned_minutes:.0f}" if run.planned_minutes is not None else ""
    return Run(
        letter=run.faceplate or "",
        ring=bench.labels.get(run.ring, run.ring),
        times=f"{since} to {out}" if out else f"in since {since}",
        minutes=f"{run.minutes:.0f}{planned} min" if run.minutes is not None else "",
        glue=known.name if known else (run.glue or ""),
        air=", ".join(air),
    )


def _remark(bench: Bench, said: Entry) -> Remark:
    when = clock(min(said.at, said.received_at), bench.now)
    who = f"{when}, {said.device}" if said.device else when
    picture = said.data.get("sha256")
    photo = f"/api/pieces/{said.piece}/photos/{picture}" if picture else ""
    return Remark(_about(bench, said.subject), said.note or "", who, photo)


def _about(bench: Bench, subject: str) -> str:
    """What a note is about; one that was written at the lathe names a step there."""
    order, label = bench.order(subject), bench.labels.get(subject)
    if order is not None:
        return f"Faceplate {order.faceplate}"
    if label:
        return f"Ring {label}"
    parts = {part.id: part.title for part in bench.piece.parts}
    return parts.get(subject, "At the lathe" if ":" in subject else "The piece")


def _air(bench: Bench) -> list[str]:
    found = []
    for reading in bench.floor.readings:
        if reading.quantity == "temperature_c":
            found.append((reading.mark.seq, bench.degrees(reading.value), reading.mark))
        elif reading.quantity == "humidity_percent":
            found.append((reading.mark.seq, f"{reading.value:.0f} %", reading.mark))
    newest = sorted(found, key=lambda item: item[0], reverse=True)[:4]
    return [f"{words} at {clock(mark.at, bench.now)}" for _seq, words, mark in newest]
