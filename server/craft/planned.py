"""Everything that is worked out for a plan and that its checks look at."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from server.craft.document.piece import Piece
from server.craft.glue.adhesives import Glue, all_glues
from server.craft.lathe.steps import LatheShop, Step
from server.craft.lathe.steps_piece import lathe_steps
from server.craft.results import SegmentRow, StackPlan, StripRow
from server.craft.wood.moisture import equilibrium_moisture_percent
from server.craft.wood.movement import Grain
from server.craft.wood.properties import MissingPropertyError, Species
from server.craft.wood.seasons import SeasonGap, worst_season_gap
from server.craft.wood.species import all_species
from server.craft.worked.gluing import GlueJoint, glue_joints, stack_joins
from server.craft.worked.joints import WorkedJoint, work_joints
from server.craft.worked.piece import WorkedPiece, work_piece
from server.craft.worked.rings import WorkedRing
from server.craft.worked.stacks import stack_plan
from server.craft.worked.strips import segment_rows, strip_rows
from server.craft.worked.weights import Balance, Weight, balance, ring_weights

WoodGap = tuple[SeasonGap, str]
"""A gap and the wood that works by it."""

_Joint = tuple[tuple[str, ...], int, float, Grain]
"""A ring's woods, its segments, the moisture it was built at (%), how its wood was sawn."""


@dataclass(frozen=True)
class Planned:
    """A piece worked out; what is asked for is computed once."""

    work: WorkedPiece

    @property
    def piece(self) -> Piece:
        """The drawing."""
        return self.work.piece

    @cached_property
    def woods(self) -> Mapping[str, Species]:
        """Built-in and own woods by id; an own wood goes before a built-in of the same id."""
        own = {wood.id: wood.as_species() for wood in self.piece.woods}
        return {species.id: species for species in all_species()} | own

    @cached_property
    def density(self) -> Mapping[str, float]:
        """Density in kg/m³ by wood."""
        return {name: species.density_kg_m3 for name, species in self.woods.items()}

    @cached_property
    def glues(self) -> Mapping[str, Glue]:
        """Built-in and own glues by id."""
        own = {glue.id: glue.as_glue() for glue in self.piece.glues}
        return {glue.id: glue for glue in all_glues()} | own

    @cached_property
    def gluing(self) -> Mapping[str, GlueJoint]:
        """For each ring its joint with the one it is glued on."""
        return glue_joints(self.work)

    @cached_property
    def joins(self) -> tuple[GlueJoint, ...]:
        """The joints between neighbours that no stack presses."""
        return stack_joins(self.work, self.gluing)

    @cached_property
    def joints(self) -> tuple[WorkedJoint, ...]:
        """Mortises and tenons with the wood around them."""
        return work_joints(self.work)

    @cached_property
    def stacks(self) -> tuple[StackPlan, ...]:
        """The stacks on their faceplates."""
        return tuple(stack_plan(self.work, stack, self.joins) for stack in self.piece.stacks)

    @cached_property
    def usual_steps(self) -> tuple[Step, ...]:
        """The lathe's steps with the usual jaws and cure."""
        return lathe_steps(self.work, LatheShop())

    @cached_property
    def closing_steps(self) -> tuple[Step, ...]:
        """Those that must come before a ring closes the form."""
        return tuple(step for step in self.usual_steps if step.holds_back)

    @cached_property
    def segments(self) -> Mapping[str, tuple[SegmentRow, ...]]:
        """The different segments of each ring."""
        return {name: segment_rows(ring) for name, ring in self.work.by_ring.items()}

    @cached_property
    def strips(self) -> tuple[StripRow, ...]:
        """What to cut."""
        return strip_rows(self.work, self.segments)

    @cached_property
    def weights(self) -> Mapping[str, Weight]:
        """Volume and mass of each ring."""
        weights: dict[str, Weight] = {}
        for part in self.work.parts:
            weights |= ring_weights(part, self.density)
        return weights

    @cached_property
    def balance(self) -> Balance:
        """Mass, contents, centre of gravity, tipping."""
        return balance(self.work, self.weights, self.density)

    @cached_property
    def seasons_percent(self) -> tuple[float, ...]:
        """The moisture that wood comes to in each season of the climate."""
        return tuple(
            equilibrium_moisture_percent(season.temperature_c, season.humidity_percent)
            for season in self.piece.climate
        )

    @cached_property
    def _season_gaps(self) -> dict[_Joint, WoodGap | None]:
        return {}

    def season_gap_of_one_mm(
        self, woods: tuple[str, ...], segments: int, built_percent: float, grain: Grain
    ) -> WoodGap | None:
        """The widest gap over the year for each millimetre of wall, and in which of the woods.

        None where no shrinkage is known. Most rings of a piece have the same woods and segments.
        """
        asked = (woods, segments, built_percent, grain)
        if asked not in self._season_gaps:
            gaps = [
                (gap, wood)
                for wood in dict.fromkeys(woods)
                if (gap := self._season_gap(wood, segments, built_percent, grain))
            ]
            widest = max(gaps, key=lambda found: found[0].gap_mm, default=None)
            self._season_gaps[asked] = widest
        return self._season_gaps[asked]

    def _season_gap(
        self, wood: str, segments: int, built_percent: float, grain: Grain
    ) -> SeasonGap | None:
        try:
            return worst_season_gap(
                self.woods[wood], segments, 1.0, built_percent, self.seasons_percent, grain
            )
        except MissingPropertyError:
            return None

    @cached_property
    def _room_percent(self) -> float:
        room = self.piece.room
        return equilibrium_moisture_percent(room.temperature_c, room.humidity_percent)

    def built_percent(self, ring: WorkedRing) -> float:
        """A ring's moisture when it is glued: as measured, or what the shop's air gives."""
        measured = ring.ring.moisture_percent
        return self._room_percent if measured is None else measured


def work_out(piece: Piece) -> Planned:
    """Work a piece out."""
    return Planned(work_piece(piece))
