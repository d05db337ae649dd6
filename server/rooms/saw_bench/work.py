"""What the saw bench stands on: one piece worked out, its floor, and what is to be sawn."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from server.craft.document import Piece
from server.craft.document.ring_labels import ring_labels
from server.craft.floor import Floor
from server.craft.ledger import Entry
from server.craft.planned import Planned, work_out
from server.craft.results import StripRow
from server.craft.wood.properties import Species
from server.craft.worked.rings import WorkedRing
from server.rooms.saw_bench.tally import Tally, needed, tallies

KIND_WORDS = {
    "segment": ("segment", "segments"),
    "stave": ("stave", "staves"),
    "spacer": ("spacer", "spacers"),
    "plug": ("plug", "plugs"),
    "disc": ("disc", "discs"),
    "veneer": ("veneer", "veneers"),
    "spindle": ("blank", "blanks"),
}


@dataclass(frozen=True, slots=True)
class Cut:
    """One strip with its tally; `needed` go into the piece, the rest of `wanted` is to spare."""

    row: StripRow
    wood: Species
    tally: Tally
    needed: int

    @property
    def wanted(self) -> int:
        """How many to cut: those needed, and spares or what broke, whichever is more."""
        return max(self.row.count, self.needed + self.tally.broken) - self.tally.broken

    @property
    def done(self) -> bool:
        """Enough for the piece."""
        return self.tally.cut >= self.needed

    @property
    def words(self) -> str:
        """What these are called, in the plural."""
        return self.noun(2)

    def noun(self, count: int) -> str:
        """What so many of these are called."""
        one, more = KIND_WORDS.get(self.row.kind, (self.row.kind, self.row.kind))
        return one if count == 1 else more


@dataclass(frozen=True, slots=True)
class Job:
    """Everything sawn for one ring, or for a part that is turned from one blank."""

    id: str
    part: str
    title: str
    short: str
    cuts: tuple[Cut, ...]
    worked: WorkedRing | None
    spare_ring: str | None = None

    @property
    def done(self) -> bool:
        """Nothing more to saw for it."""
        return self.spare_ring is not None or all(cut.done for cut in self.cuts)

    def cut(self, strip_id: str | None) -> Cut:
        """The strip of that id, else the first that is not done, else the first."""
        named = next((cut for cut in self.cuts if cut.row.id == strip_id), None)
        return named or next((cut for cut in self.cuts if not cut.done), self.cuts[0])


@dataclass(frozen=True)
class SawWork:
    """A piece at the saw. `now` is aware and in the shop's zone; `known` the piece worked out.

    `uses` are all uses of the rack by any piece: a board sawn for several may serve this one.
    """

    piece_id: str
    piece: Piece
    floor: Floor
    now: datetime
    known: Planned | None = None
    uses: tuple[Entry, ...] = ()

    @cached_property
    def planned(self) -> Planned:
        """The drawing worked out."""
        return self.known or work_out(self.piece)

    @cached_property
    def labels(self) -> dict[str, str]:
        """What each ring is called in its part."""
        return ring_labels(self.piece)

    @cached_property
    def tallies(self) -> dict[str, Tally]:
        """The tally of each strip."""
        return tallies(self.floor, self.planned.strips)

    @cached_property
    def spare_rings(self) -> dict[str, str]:
        """Rings that a spare ring from the rack stands for: ring id to rack item."""
        return {
            str(entry.data["ring"]): item
            for item, entries in self.floor.used.items()
            for entry in entries
            if entry.data.get("ring") in self.labels
        }

    @cached_property
    def jobs(self) -> tuple[Job, ...]:
        """All there is to saw, in the order of the drawing, each ring from the bottom up."""
        groups: dict[str, list[StripRow]] = {}
        for row in self.planned.strips:
            groups.setdefault(row.ring or row.id, []).append(row)
        return tuple(self._job(name, rows) for name, rows in groups.items())

    @cached_property
    def unmade(self) -> tuple[tuple[str, str], ...]:
        """Rings that cannot be made, and why."""
        return tuple(
            (self.title_of(ring), str(ring.fault))
            for ring in self.planned.work.by_ring.values()
            if ring.fault is not None
        )

    def cuts(self) -> Iterator[Cut]:
        """Every strip of the piece."""
        for job in self.jobs:
            yield from job.cuts

    def job(self, name: str | None) -> Job | None:
        """The job of that ring, else the first with something to do, else the first."""
        named = next((job for job in self.jobs if job.id == name), None)
        if named is not None or not self.jobs:
            return named
        return next((job for job in self.jobs if not job.done), self.jobs[0])

    def title_of(self, ring: WorkedRing) -> str:
        """A ring by its part and place: Bowl ring 5."""
        return f"{self.piece.part(ring.part).title} ring {self.labels[ring.id]}"

    def _job(self, name: str, rows: list[StripRow]) -> Job:
        worked = self.planned.work.by_ring.get(name)
        part = self.piece.part(rows[0].part)
        title = self.title_of(worked) if worked else f"{part.title}, one blank"
        short = self.labels[name] if worked else part.title
        cuts = tuple(self._cut(row) for row in rows)
        return Job(name, part.title, title, short, cuts, worked, self.spare_rings.get(name))

    def _cut(self, row: StripRow) -> Cut:
        wood = self.planned.woods[row.wood]
        tally = self.tallies[row.id]
        return Cut(row, wood, tally, needed(row, self.piece.saw.spare_segments))
