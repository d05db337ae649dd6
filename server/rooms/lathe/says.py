"""What each button of the lathe writes into the ledger, as JSON for the device's queue."""

import json
from dataclasses import dataclass
from typing import Any

from server.craft.lathe import steps_said
from server.craft.lathe.steps import Step, Work
from server.craft.lathe.steps_gates import Gate, StepState
from server.craft.ledger import Entry, Kind
from server.rooms.lathe.bench import LatheBench

DONE_WORDS = {
    Work.ROUGH: "It is round",
    Work.OUTSIDE: "Outside is done",
    Work.INSIDE: "Inside is done",
    Work.FACE: "The face is true",
    Work.RIM: "The rim is true",
    Work.BORE: "It is bored",
    Work.TENON: "The tenon fits",
    Work.MOUNT: "The block is glued on",
    Work.JOIN: "Glued together",
    Work.TRUE_JOINT: "The joint is true",
    Work.PART_OFF: "It is off",
    Work.READY: "The hold is ready",
    Work.REVERSE: "It runs true",
    Work.BOTTOM: "The bottom is done",
    Work.FINISH_INSIDE: "Inside is sealed",
    Work.FINISH_OUTSIDE: "Outside is finished",
    Work.FINISH_END: "It is finished",
    Work.SIZE: "The length is settled",
    Work.DRY_FIT: "It all fits",
    Work.ASSEMBLE: "Glued in",
    Work.SIGN: "Signed",
}


@dataclass(frozen=True, slots=True)
class Button:
    """`say` is what goes into the ledger; `mark` ties it to a tick that waits on the device."""

    label: str
    say: str
    mark: str = ""
    small: str = ""


def done_button(state: StepState) -> Button | None:
    """The one blue button: the open step is done. None for a step that is shut, done, measured."""
    step = state.step
    if state.gate is not Gate.OPEN or step.quantity is not None:
        return None
    words = DONE_WORDS.get(step.work, "Done")
    said = {"kind": step.ticked.value, "subject": step.subject, "words": step.title}
    if step.part is not None:
        said["part"] = step.part
    return Button(words, _json(said), mark_of(step))


def undo_button(bench: LatheBench, step: Step) -> Button | None:
    """Takes back that the step is done."""
    entry = said_done(bench, step)
    if entry is None:
        return None
    said = {
        "kind": Kind.UNDONE.value,
        "subject": entry.subject,
        "undoes": entry.id,
        "words": f"{step.title}, undone",
        "mark": mark_of(step),
    }
    return Button("Undo", _json(said), mark_of(step), step.title)


def newest_done(bench: LatheBench) -> Step | None:
    """The step that was ticked last."""
    done = [
        (entry.seq, state.step)
        for state in bench.states
        if (entry := said_done(bench, state.step)) is not None
    ]
    return max(done, key=lambda pair: pair[0])[1] if done else None


def said_done(bench: LatheBench, step: Step) -> Entry | None:
    """The line of the ledger that made a step done."""
    mark = steps_said.said_done(step, bench.floor)
    if mark is None:
        return None
    return next((said for said in bench.floor.journal if said.id == mark.entry_id), None)


def mark_of(step: Step) -> str:
    """The mark that ties buttons to the tick of a step."""
    return f"{step.ticked.value}:{step.subject}"


def _json(said: dict[str, Any]) -> str:
    return json.dumps(said, ensure_ascii=False, separators=(",", ":"))
