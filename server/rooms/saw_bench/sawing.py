"""What is laid out at once: the piece at the saw, or several that are sawn from the same boards."""

from dataclasses import dataclass
from functools import cached_property

from server.craft.units import Units
from server.craft.wood.properties import Species
from server.rooms.saw_bench.work import Cut, Job, SawWork


@dataclass(frozen=True, slots=True)
class ToCut:
    """One strip of one of the pieces."""

    work: SawWork
    job: Job
    cut: Cut


@dataclass(frozen=True)
class Sawing:
    """The pieces that share a layout; the saw is set as the first one's drawing says."""

    works: tuple[SawWork, ...]

    @property
    def alone(self) -> bool:
        """Whether it is one piece."""
        return len(self.works) == 1

    @property
    def name(self) -> str:
        """The same pieces have the same name."""
        return " ".join(work.piece_id for work in self.works)

    @property
    def units(self) -> Units:
        """What lengths are shown in."""
        return self.works[0].piece.display_units

    @cached_property
    def strips(self) -> dict[str, ToCut]:
        """Every strip by the id that it has in the layout."""
        return {
            self.key(work, cut): ToCut(work, job, cut)
            for work in self.works
            for job in work.jobs
            for cut in job.cuts
        }

    def key(self, work: SawWork, cut: Cut) -> str:
        """A strip's id in the layout: its own, with its piece before it where there are several."""
        return cut.row.id if self.alone else f"{work.piece_id}/{cut.row.id}"

    def title(self, strip: str) -> str:
        """A strip by its ring or part, its piece before it where there are several."""
        to_cut = self.strips[strip]
        title = to_cut.job.title
        return title if self.alone else f"{to_cut.work.piece.name}, {title}"

    def short_title(self, strip: str) -> str:
        """The same for a picture: pieces by their place in the list."""
        to_cut = self.strips[strip]
        if self.alone:
            return to_cut.job.title
        ids = [work.piece_id for work in self.works]
        return f"{ids.index(to_cut.work.piece_id) + 1}: {to_cut.job.title}"

    def wood(self, wood: str) -> Species:
        """A wood of one of the pieces."""
        known = (work.planned.woods for work in self.works)
        return next(woods[wood] for woods in known if wood in woods)

    @property
    def saws_differ(self) -> bool:
        """Whether another piece's drawing sets the saw another way."""
        first = self.works[0].piece.saw
        spare = {"spare_segments": first.spare_segments}
        return any(work.piece.saw.model_copy(update=spare) != first for work in self.works)
