"""What each button writes into the ledger, as the JSON that the device's queue takes."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.craft.floor import Contest, Floor, StackOrder
from server.craft.ledger import Entry, Kind
from server.rooms.glue_bench.bench import Bench

MORE_MINUTES = 5


@dataclass(frozen=True, slots=True)
class Button:
    """A button on the bench: what it says to the reader, and what it says to the ledger.

    `say` None and `href` set makes it a link; `mark` ties it to a tick that waits on the device.
    """

    label: str
    say: str | None = None
    small: str = ""
    icon: str = ""
    letter: str = ""
    mark: str = ""
    href: str = ""
    id: str = ""
    undo_unsent: bool = False
    quiet: bool = False


def entry(
    kind: Kind, subject: str, words: str, data: Mapping[str, Any] | None = None, **more: Any
) -> dict[str, Any]:
    """One line to be written; `words` is what the device calls it while it waits."""
    said: dict[str, Any] = {"kind": kind.value, "subject": subject, "words": words, **more}
    if data:
        said["data"] = dict(data)
    return said


def as_json(said: Any) -> str:
    """For the attribute `data-say`."""
    return json.dumps(said, ensure_ascii=False, separators=(",", ":"))


def mark_of(kind: Kind, subject: str) -> str:
    """The mark that ties buttons to a tick on the same thing."""
    return f"{kind.value}:{subject}"


TICKED = {
    Kind.DRY_FITTED: "Ring {ring} dry-fits",
    Kind.HALVES_GLUED: "Halves of {ring} glued",
    Kind.TRUED: "Halves of {ring} trued",
    Kind.CLOSED: "Ring {ring} closed",
    Kind.FLATTENED: "Ring {ring} flat",
    Kind.CLAMPED: "Ring {ring} is in",
    Kind.RELEASED: "{plate} is out",
    Kind.STACKED: "Ring {ring} is on",
    Kind.CUT: "{ring} cut",
}


def ticked(bench: Bench, kind: Kind, ring: str) -> str:
    """What is so once the button is tapped."""
    stack = bench.stack_of(ring)
    plate = stack.faceplate if stack else "It"
    return TICKED[kind].format(ring=bench.labels.get(ring, ring), plate=plate)


def tick_data(bench: Bench, kind: Kind, ring: str, stack: StackOrder | None) -> dict[str, Any]:
    """What goes along with a tick: the press's times, the glue, the shop's air."""
    if kind is Kind.HALVES_GLUED and stack is not None:
        return {"minutes": round(stack.press_minutes, 2), "faceplate": stack.faceplate}
    if stack is None or kind not in (Kind.CLAMPED, Kind.RELEASED, Kind.STACKED):
        return {}
    data: dict[str, Any] = {"stack": stack.id}
    if kind is Kind.CLAMPED:
        data |= {
            "faceplate": stack.faceplate,
            "minutes": round(stack.press_minutes, 2),
            "glue": bench.glue(stack.id).id,
            "temperature_c": bench.temperature_c,
            "humidity_percent": bench.humidity_percent,
        }
    else:
        data |= {"faceplate": stack.faceplate, "rest_minutes": round(stack.rest_minutes, 2)}
        if _is_last(bench.floor, stack, ring):
            data["cure_hours"] = round(stack.cure_hours, 2)
    return data


def _is_last(floor: Floor, stack: StackOrder, ring: str) -> bool:
    return all(r.id == ring or floor.ring(r.id).place == "on" for r in stack.rings)


def tick_button(bench: Bench, kind: Kind, ring: str, **more: Any) -> Button:
    """The button that ticks the next thing of a ring."""
    words = ticked(bench, kind, ring)
    said = entry(kind, ring, words, tick_data(bench, kind, ring, bench.stack_of(ring)))
    return Button(words, as_json(said), mark=mark_of(kind, ring), **more)


def more_minutes(bench: Bench, ring: str, stack: str | None) -> Button:
    """Five minutes more in the press."""
    data: dict[str, Any] = {"add_minutes": MORE_MINUTES}
    if stack is not None:
        data["stack"] = stack
    label = bench.labels.get(ring, ring)
    said = entry(Kind.CLAMPED, ring, f"5 min more for ring {label}", data, mark=f"more:{ring}")
    return Button("+5 min", as_json(said), mark=f"more:{ring}", id="more-minutes")


def undo_button(bench: Bench) -> Button:
    """Takes back the newest thing said of this piece, by whomever, or what waits unsent."""
    newest = newest_said(bench.floor)
    if newest is None:
        return Button("Undo", small="nothing yet", icon="undo", undo_unsent=True, id="undo")
    words = describe(bench, newest)
    said = undo_entry(newest, f"{words}, undone")
    return Button("Undo", as_json(said), words, "undo", undo_unsent=True, id="undo")


def undo_entry(target: Entry, words: str, mark: str | None = None) -> dict[str, Any]:
    """The line that takes another one back."""
    said = entry(Kind.UNDONE, target.subject, words, undoes=target.id)
    return said | {"mark": mark} if mark else said


def newest_said(floor: Floor) -> Entry | None:
    """The newest line that still counts and that is no undo and no quieted alarm."""
    for said in sorted(floor.journal, key=lambda e: e.seq, reverse=True):
        if said.kind is Kind.UNDONE or "heard" in said.data or said.id in floor.undone:
            continue
        return said
    return None


def describe(bench: Bench, said: Entry) -> str:
    """A line of the ledger in a few words."""
    if said.kind in TICKED and said.subject in bench.labels:
        if said.kind is Kind.CUT:
            return f"{said.data.get('count', '')} cut, ring {bench.labels[said.subject]}".strip()
        if "add_minutes" in said.data:
            return f"+{said.data['add_minutes']:g} min, ring {bench.labels[said.subject]}"
        return ticked(bench, said.kind, said.subject)
    return {Kind.PHOTO: "photo", Kind.NOTE: "note", Kind.MEASURED: "measured"}.get(
        said.kind, said.kind.value
    )


def settle(bench: Bench, contest: Contest, *, yes: bool) -> str:
    """What to write so that one tap settles it: the other side's newest word is taken back."""
    entries = bench.said
    claims = sorted((*contest.standing, *contest.held), key=lambda claim: claim.mark.seq)
    label = bench.labels.get(contest.subject, contest.subject)
    words = f"ring {label} settled"
    if yes and contest.against is not None:
        rival = bench.floor.ring(contest.against).since
        held = entries[contest.held[-1].mark.entry_id]
        again = entry(held.kind, held.subject, words, held.data)
        if rival is None:
            return as_json(again)
        return as_json([undo_entry(entries[rival.entry_id], words), again])
    others = [claim for claim in claims if claim.holds is not yes]
    if others:
        return as_json(undo_entry(entries[others[-1].mark.entry_id], words))
    same = entries[claims[-1].mark.entry_id]
    return as_json(entry(same.kind, same.subject, words, same.data))
