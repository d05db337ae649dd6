"""A drawing as values: shapes, lettering and washes in sheet units, with line kinds by ISO 128.

Sheet units are millimetres on paper and CSS pixels at full size on a page; x goes right and y
down. A writer of each format decides how a pen or a tone looks: `svg.py` for pages.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]
Data = tuple[tuple[str, str], ...]


class Pen(StrEnum):
    """What a line says. Wide is there, blue is in hand, phantom still to come, red wrong or cut."""

    WIDE = "wide"
    HEAVY = "heavy"
    NARROW = "narrow"
    THIN_INK = "thin-ink"
    JOINT = "joint"
    HIDDEN = "hidden"
    AXIS = "axis"
    PHANTOM = "phantom"
    ROUGH = "rough"
    EMPTY = "empty"
    HAND = "hand"
    HAND_NARROW = "hand-narrow"
    FAULT = "fault"
    FAULT_NARROW = "fault-narrow"
    CUT = "cut"
    CHALK = "chalk"
    GRAIN = "grain"
    NONE = "none"


class Tone(StrEnum):
    """What a face is filled with when it is no wood."""

    PAPER = "paper"
    PAPER_2 = "paper-2"
    LIT = "lit"
    HATCH = "hatch"
    OFFCUT = "offcut"
    ARROW = "arrow"
    ARROW_HAND = "arrow-hand"
    ARROW_INK = "arrow-ink"
    ARROW_FAULT = "arrow-fault"
    HIT = "hit"
    SHADOW = "shadow"


class Letter(StrEnum):
    """Sizes of lettering, and what they are for."""

    SMALL = "small"
    PLAIN = "plain"
    NOTE = "note"
    LARGE = "large"
    FIGURE = "figure"
    NUMBER = "number"
    NUMBER_TO_COME = "number-to-come"
    HAND = "hand"
    HAND_NOTE = "hand-note"
    FAULT = "fault"


@dataclass(frozen=True, slots=True)
class Paint:
    """A colour of wood, or a shade laid over one; `colour` as #rrggbb."""

    colour: str
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Wash:
    """A gradient across a face from its left edge to its right one, by the name of its stops."""

    name: str


Fill = Paint | Tone | Wash


@dataclass(frozen=True, slots=True)
class Path:
    """A polyline or polygon. `line` replaces the pen's own colour, for joints in a wood's tone.

    `holes` are further closed outlines cut out of it. `crisp` avoids seams between washes.
    """

    points: tuple[Point, ...]
    pen: Pen = Pen.NONE
    fill: Fill | None = None
    closed: bool = False
    line: str | None = None
    holes: tuple[tuple[Point, ...], ...] = ()
    data: Data = ()
    crisp: bool = False


@dataclass(frozen=True, slots=True)
class Round:
    """A circle or an ellipse."""

    centre: Point
    rx: float
    ry: float
    pen: Pen = Pen.NONE
    fill: Fill | None = None
    line: str | None = None


@dataclass(frozen=True, slots=True)
class Text:
    """Lettering; `turned` reads from the right hand side of the sheet (ISO 129)."""

    at: Point
    words: str
    letter: Letter = Letter.PLAIN
    anchor: Anchor = "middle"
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Sign:
    """A sign of the page's sprite, `size` square, its left upper corner at `at`."""

    at: Point
    name: str
    size: float = 24.0
    fault: bool = False


Item = Path | Round | Text | Sign


@dataclass(slots=True)
class Drawing:
    """A sheet being drawn: items in painting order, the later ones on top."""

    width: float
    height: float
    title: str
    items: list[Item] = field(default_factory=list)

    def add(self, *items: Item) -> None:
        """Lay items on top."""
        self.items.extend(items)

    def extend(self, items: Iterable[Item]) -> None:
        """Lay items on top."""
        self.items.extend(items)

    def line(self, a: Point, b: Point, pen: Pen) -> None:
        """A straight line."""
        self.items.append(Path((a, b), pen))

    def polyline(self, points: Sequence[Point], pen: Pen) -> None:
        """An open line through points."""
        self.items.append(Path(tuple(points), pen))

    def area(
        self,
        points: Sequence[Point],
        fill: Fill | None,
        pen: Pen = Pen.NONE,
        line: str | None = None,
        data: Data = (),
    ) -> None:
        """A closed face."""
        self.items.append(Path(tuple(points), pen, fill, True, line, data=data))

    def box(
        self,
        corner: Point,
        size: Point,
        fill: Fill | None,
        pen: Pen = Pen.NONE,
        data: Data = (),
    ) -> None:
        """An upright rectangle from its left upper corner."""
        (x, y), (w, h) = corner, size
        self.area(((x, y), (x + w, y), (x + w, y + h), (x, y + h)), fill, pen, data=data)

    def text(
        self,
        at: Point,
        words: str,
        letter: Letter = Letter.PLAIN,
        anchor: Anchor = "middle",
        turned: bool = False,
    ) -> None:
        """Lettering."""
        self.items.append(Text(at, words, letter, anchor, turned))
