"""Spare rings on the rack that fit the ring in hand, and the one that was taken."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.craft.checks.rack import spare_fits
from server.craft.floor import clock
from server.craft.ledger import Kind
from server.craft.stock import Stock
from server.rooms.saw_bench.says import as_json
from server.rooms.saw_bench.work import Job, SawWork


@dataclass(frozen=True, slots=True)
class SpareView:
    """A spare ring and the tap that takes it, or puts it back."""

    name: str
    place: str
    words: str
    say: str
    mark: str


def fitting(job: Job, stock: Iterable[Stock]) -> SpareView | None:
    """The first spare ring that fits, None where none does or one was taken already."""
    if job.worked is None or job.spare_ring is not None:
        return None
    for row in stock:
        if row.kind != "spare-ring" or not row.left or not spare_fits(job.worked, row.document):
            continue
        name = str(row.document.get("name") or "Spare ring")
        across = float(row.document.get("outside_diameter_mm", 0.0))
        hole = float(row.document.get("inside_diameter_mm", 0.0))
        said = {
            "kind": Kind.USED.value,
            "subject": row.id,
            "words": f"{name} for {job.title}",
            "mark": f"used:{row.id}",
            "data": {"count": 1, "ring": job.id},
        }
        words = f"Ø {across:.0f} and {hole:.0f}, {row.document.get('thickness_mm', 0):.4g} thick"
        place = str(row.document.get("place") or "")
        return SpareView(name, place, words, as_json(said), f"used:{row.id}")
    return None


def taken(work: SawWork, job: Job, stock: Iterable[Stock]) -> SpareView | None:
    """The spare ring that stands for this ring."""
    if job.spare_ring is None:
        return None
    row = next((row for row in stock if row.id == job.spare_ring), None)
    name = str(row.document.get("name") or "Spare ring") if row else "Spare ring"
    entry = next(e for e in work.floor.used[job.spare_ring] if e.data.get("ring") == job.id)
    undo = {
        "kind": Kind.UNDONE.value,
        "subject": job.spare_ring,
        "undoes": entry.id,
        "words": f"{name}, put back",
    }
    when = clock(entry.at, work.now)
    return SpareView(name, "", f"taken {when}", as_json(undo), f"used:{entry.id}")
