"""Two drawings of a piece side by side: picture, numbers, lumber, and the rings that differ."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from server.craft.document.ring_labels import ring_labels
from server.craft.results import Plan
from server.craft.units import Units, board_feet, format_length
from server.exports.pictures.wash import wash_defs, wash_names
from server.rooms.drawing_board.board import Board


@dataclass(frozen=True, slots=True)
class Row:
    """One thing that both drawings have, in words; `same` when nothing changed."""

    name: str
    before: str
    after: str

    @property
    def same(self) -> bool:
        """Whether both say the same."""
        return self.before == self.after


@dataclass(frozen=True, slots=True)
class Comparison:
    """The context of `drawing_board/_compare.html`."""

    before_number: int
    after_number: int
    before_picture: Markup
    after_picture: Markup
    washes: Markup
    numbers: tuple[Row, ...]
    lumber: tuple[Row, ...]
    rings: tuple[Row, ...]


def compare(before: Board, after: Board, numbers: tuple[int, int]) -> Comparison:
    """The older drawing at the left, the newer at the right."""
    units = after.units
    return Comparison(
        before_number=numbers[0],
        after_number=numbers[1],
        before_picture=before.beside_svg,
        after_picture=after.beside_svg,
        washes=wash_defs(wash_names([before.beside, after.beside])),
        numbers=tuple(_numbers(before.plan, after.plan, units)),
        lumber=tuple(_lumber(before, after)),
        rings=tuple(row for row in _rings(before, after, units) if not row.same),
    )


def _numbers(before: Plan, after: Plan, units: Units) -> Iterator[Row]:
    old, new = before.totals, after.totals

    def row(name: str, one: float | None, other: float | None, pattern: str) -> Row:
        return Row(name, *("–" if v is None else pattern.format(v) for v in (one, other)))

    yield Row("Height", *(format_length(t.height_mm, units) for t in (old, new)))
    yield Row("Widest", *(format_length(t.largest_diameter_mm, units) for t in (old, new)))
    yield row("Holds", old.capacity_ml, new.capacity_ml, "{:.0f} ml")
    yield row("Weighs", old.mass_kg, new.mass_kg, "{:.3f} kg")
    yield row("Tips, empty", old.tip_angle_deg, new.tip_angle_deg, "{:.0f}°")
    yield row("Rings", old.rings, new.rings, "{}")
    yield row("Segments", old.segments, new.segments, "{}")
    yield row("Lumber", old.board_feet, new.board_feet, "{:.2f} bd ft")
    stops = [sum(c.severity.value == "stop" for c in plan.checks) for plan in (before, after)]
    yield Row("Stops", *(str(count) for count in stops))


def _lumber(before: Board, after: Board) -> Iterator[Row]:
    feet = [lumber_by_wood(board.plan) for board in (before, after)]
    woods = dict.fromkeys([*feet[0], *feet[1]])
    for wood in woods:
        known = after.planned.woods.get(wood) or before.planned.woods.get(wood)
        yield Row(
            known.name if known else wood, *(f"{one.get(wood, 0.0):.2f} bd ft" for one in feet)
        )


def lumber_by_wood(plan: Plan) -> dict[str, float]:
    """Board feet of the strips and blanks by wood, most first."""
    feet: dict[str, float] = {}
    for strip in plan.strips:
        one = board_feet(strip.thickness_mm, strip.width_mm, strip.length_mm)
        feet[strip.wood] = feet.get(strip.wood, 0.0) + one
    return dict(sorted(feet.items(), key=lambda pair: -pair[1]))


def _rings(before: Board, after: Board, units: Units) -> Iterator[Row]:
    described = [_described(board, units) for board in (before, after)]
    labels = ring_labels(before.piece) | ring_labels(after.piece)
    for ring in dict.fromkeys([*described[0], *described[1]]):
        name = f"Ring {labels.get(ring, ring)}"
        yield Row(name, *(one.get(ring, "not there") for one in described))


def _described(board: Board, units: Units) -> Mapping[str, str]:
    found: dict[str, str] = {}
    for part in board.piece.parts:
        for ring in part.rings:
            names = [
                board.planned.woods[wood].name if wood in board.planned.woods else wood
                for wood in dict.fromkeys(ring.woods or (part.own_wood,))
            ]
            words: list[Any] = [
                format_length(ring.thickness_mm, units),
                f"{ring.segments} segments",
            ]
            if ring.phase:
                words.append(f"turned {ring.phase:.3g}")
            words.append(", ".join(names[:3]) + (" …" if len(names) > 3 else ""))
            if len(ring.woods or ()) > 1:
                words.append(f"pattern of {len(ring.woods or ())}")
            found[ring.id] = f"{part.title}: " + ", ".join(words)
    return found
