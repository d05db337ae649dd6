"""What the buttons of the tally write into the ledger, as the JSON that the queue takes."""

import json
from typing import Any

from server.craft.ledger import Entry, Kind
from server.rooms.saw_bench.tally import amount, subject_of
from server.rooms.saw_bench.work import Cut, Job


def as_json(said: Any) -> str:
    """For the attribute `data-say`."""
    return json.dumps(said, ensure_ascii=False, separators=(",", ":"))


def cut_line(job: Job, cut: Cut, count: int) -> str:
    """So many more good ones."""
    return as_json(_line(cut, f"{count} cut, {job.title}", {"count": count}))


def broken_line(job: Job, cut: Cut) -> str:
    """One that was counted nowhere came out wrong."""
    return as_json(_line(cut, f"1 broken, {job.title}", {"broken": 1}))


def undo_line(job: Job, entry: Entry) -> str:
    """Takes a line back."""
    return as_json(
        {
            "kind": Kind.UNDONE.value,
            "subject": entry.subject,
            "undoes": entry.id,
            "words": f"{describe(entry)}, {job.title}, undone",
        }
    )


def describe(entry: Entry) -> str:
    """A line in a few words."""
    cut, broken = amount(entry, "count"), amount(entry, "broken")
    parts = [f"{cut} cut"] if cut else []
    parts += [f"{broken} broken"] if broken else []
    return ", ".join(parts) or "a tick"


def _line(cut: Cut, words: str, counts: dict[str, int]) -> dict[str, Any]:
    data = {**counts, "wood": cut.row.wood, "strip": cut.row.id}
    return {
        "kind": Kind.CUT.value,
        "subject": subject_of(cut.row),
        "part": cut.row.part,
        "words": words,
        "data": data,
    }
