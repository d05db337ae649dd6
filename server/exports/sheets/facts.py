"""What the shop sheets say, as plain rows of text; `sheets.typ` lays them out."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from server.craft.document.assembly import Stack
from server.craft.document.ring_labels import ring_labels
from server.craft.findings import Check, Severity
from server.craft.planned import Planned
from server.craft.results import JointPlan, Plan, RingPlan, StackRing, StripRow
from server.craft.units import format_mm, inch_fraction
from server.craft.worked.rings import WorkedRing
from server.exports.gluing import glue_of, stack_times, stacks_to_glue
from server.exports.ring_names import cut_names
from server.exports.sheets.cautions import DUST, FINISH, GLUE, GOVERNS, LATHE, SAW
from server.exports.templates.said import angle, listed, size
from server.exports.words import one_line

MOST_ROWS = 2000
"""More rows of one kind are left to the tables."""

Row = dict[str, Any]
_SEVERITY = {Severity.STOP: "Stop", Severity.WARN: "Look again", Severity.NOTE: "Note"}
_KIND = {
    "segment": "Segments",
    "stave": "Staves",
    "spacer": "Spacers",
    "disc": "Disc",
    "veneer": "Veneer",
    "plug": "Plug",
    "spindle": "Spindle blank",
}


class Facts:
    """The rows of one piece, lengths in its display units."""

    def __init__(self, planned: Planned, plan: Plan) -> None:
        self.planned, self.plan = planned, plan
        self.units = planned.piece.display_units
        self.numbers, self.names = ring_labels(planned.piece), cut_names(planned)

    def length(self, length_mm: float | None) -> str:
        """A length in one unit, for tables; a dash where there is none."""
        if length_mm is None:
            return "–"
        if self.units == "in":
            return str(inch_fraction(length_mm))
        return format_mm(length_mm)

    def both(self, length_mm: float) -> str:
        """A length in both units."""
        return size(length_mm, self.units)

    def pair(self, length_mm: float) -> list[str]:
        """A length in the turner's units, and in the other ones."""
        inches, metric = str(inch_fraction(length_mm)), f"{format_mm(length_mm)} mm"
        return [inches, metric] if self.units == "in" else [metric, inches]

    def wood(self, wood: str) -> str:
        """What the wood is called."""
        known = self.planned.woods.get(wood)
        return one_line(known.name if known else wood, 40)

    def woods(self, ring: WorkedRing) -> str:
        """The woods of a ring in their order."""
        return listed([self.wood(wood) for wood in dict.fromkeys(ring.woods)])

    def summary(self) -> list[list[str]]:
        """The piece in pairs of word and value."""
        totals = self.plan.totals
        rows = [
            ["Height", self.both(totals.height_mm)],
            ["Widest", f"Ø {self.both(totals.largest_diameter_mm)}"],
            ["Rings", str(totals.rings)],
            ["Segments", str(totals.segments)],
            ["Lumber in the strips", f"{totals.board_feet:.2f} board feet"],
        ]
        if totals.mass_kg is not None:
            rows.append(["Finished weight", f"{1000 * totals.mass_kg:.0f} g"])
        if totals.capacity_ml > 0:
            rows.append(["Holds to the brim", f"{totals.capacity_ml:.0f} ml"])
        return rows

    def checks(self) -> Iterator[Row]:
        """What the plan has to say, the worst first."""
        order = list(_SEVERITY)
        for check in sorted(self.plan.checks, key=lambda check: order.index(check.severity)):
            yield _check(check)

    def rings(self) -> Iterator[Row]:
        """The ring table, part by part, the top ring first, as they lie."""
        for part in self.plan.parts:
            for ring in reversed(part.rings):
                yield self._ring(part.name, ring)

    def _ring(self, part: str, ring: RingPlan) -> Row:
        worked = self.planned.work.by_ring[ring.id]
        solid = ring.outside_radius_mm is not None and not ring.inside_radius_mm
        rough_inside = "solid" if solid else self.length(_double(ring.inside_radius_mm))
        return {
            "part": one_line(part, 24),
            "ring": self.numbers[ring.id],
            "pieces": str(ring.segment_count) if ring.segment_count else ring.kind,
            "woods": self.woods(worked),
            "height": self.length(ring.z_top_mm - ring.z_bottom_mm),
            "outside": self.length(_double(ring.outside_radius_mm)),
            "inside": rough_inside,
            "turned": self.length(_double(ring.finished_outside_radius_mm)),
            "phase": f"{ring.phase:.2f}".rstrip("0").rstrip("."),
            "press": "–" if ring.press_force_n is None else f"{ring.press_force_n:.0f} N",
            "clamps": "–" if ring.clamps_to_add is None else str(ring.clamps_to_add),
        }

    def cuts(self) -> Iterator[Row]:
        """The cut list, one entry a strip, settings first."""
        for strip in self.plan.strips:
            yield self._cut(strip)

    def _cut(self, strip: StripRow) -> Row:
        mitred = strip.kind in ("segment", "stave")
        settings = []
        if mitred:
            settings.append(["Mitre", angle(strip.mitre_deg), ""])
        if strip.bevel_deg:
            settings.append(["Bevel", angle(strip.bevel_deg), "board flat on the saw"])
        settings.append(["Strip wide", *self.pair(strip.width_mm)])
        settings.append(["Long edge" if mitred else "Long", *self.pair(strip.outer_edge_mm)])
        return {
            "ring": self.names[strip.ring or strip.part],
            "kind": _KIND.get(strip.kind, strip.kind),
            "wood": self.wood(strip.wood),
            "count": strip.count,
            "settings": settings,
            "thick": self.both(strip.thickness_mm),
            "length": self.both(strip.length_mm),
        }

    def stacks(self) -> Iterator[Row]:
        """The gluing, stack by stack, rings in the order in which they go on."""
        planned = {stack.id: stack for stack in self.plan.stacks}
        for stack in stacks_to_glue(self.planned):
            drawn = planned.get(stack.id)
            yield self._stack(stack, {ring.ring: ring for ring in drawn.rings} if drawn else {})

    def _stack(self, stack: Stack, seen: Mapping[str, StackRing]) -> Row:
        took = stack_times(self.planned, stack)
        glue = one_line(glue_of(self.planned, stack).name, 40)
        block = stack.waste_block
        return {
            "name": one_line(stack.title, 40),
            "faceplate": one_line(stack.faceplate or "", 40),
            "mounted": f"The part’s {stack.mounted} lies on the waste block",
            "block": f"Ø {self.both(block.diameter_mm)}, {self.both(block.thickness_mm)} thick"
            if block
            else "",
            "glue": f"{glue} at {self.planned.piece.room.temperature_c:g} °C: "
            f"{took.press_minutes:.0f} min in the press, {took.rest_minutes:.0f} min rest, "
            f"{took.cure_hours:.0f} h before turning",
            "cold": took.too_cold,
            "rings": [self._on_stack(name, seen.get(name)) for name in stack.rings],
        }

    def _on_stack(self, name: str, seen: StackRing | None) -> Row:
        ring = self.planned.work.by_ring[name]
        register = seen.register_mm if seen else None
        return {
            "ring": self.numbers[name],
            "pieces": str(ring.ring.segments) if ring.ring.is_segmented else ring.ring.kind,
            "woods": self.woods(ring),
            "register": self.length(register),
        }

    def joints(self) -> Iterator[Row]:
        """What is bored and what goes in."""
        titles = {part.id: one_line(part.title, 30) for part in self.planned.piece.parts}
        for joint in self.plan.joints:
            yield self._joint(joint, titles)

    def _joint(self, joint: JointPlan, titles: Mapping[str, str]) -> Row:
        tenon = f"Ø {self.both(joint.tenon_diameter_mm)}, {self.both(joint.tenon_length_mm)} long"
        bore = f"Ø {self.both(joint.mortise_diameter_mm)}, {self.both(joint.mortise_depth_mm)} deep"
        return {
            "tenon": f"{titles[joint.tenon_part]}: {tenon}",
            "mortise": f"{titles[joint.mortise_part]}, {joint.mortise_end}: {bore}",
            "rings": listed([self.numbers[ring] for ring in joint.bored_rings]),
        }


def _double(radius_mm: float | None) -> float | None:
    return None if radius_mm is None else 2 * radius_mm


def _check(check: Check) -> Row:
    return {
        "severity": _SEVERITY[check.severity],
        "message": one_line(check.message, 400),
    }


def cautions() -> Row:
    """Cautions by the place in the shop that they belong to."""
    return {
        "governs": GOVERNS,
        "saw": list(SAW),
        "lathe": list(LATHE),
        "dust": list(DUST),
        "finish": list(FINISH),
        "glue": list(GLUE),
    }


def capped(rows: Iterator[Row] | Sequence[Row]) -> Row:
    """The first rows, and how many there are beyond."""
    every = list(rows)
    return {"rows": every[:MOST_ROWS], "more": max(0, len(every) - MOST_ROWS)}
