"""What a template is drawn with: strokes and words in mm on paper, x right and y down."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from html import escape

import numpy as np
import shapely

from server.craft.form.slopes import Floats

Box = tuple[float, float, float, float]
"""Least x and y, greatest x and y."""


class Pen(StrEnum):
    """Cut along the wide line; the others are to look at."""

    CUT = "cut"
    THIN = "thin"
    HIDDEN = "hidden"
    AXIS = "axis"
    MARK = "mark"
    SOLID = "solid"


@dataclass(frozen=True, eq=False, slots=True)
class Stroke:
    """A line through points (n, 2)."""

    points: Floats
    pen: Pen = Pen.THIN
    closed: bool = False

    def moved(self, x: float, y: float) -> "Stroke":
        """The same elsewhere."""
        return Stroke(self.points + np.array([x, y]), self.pen, self.closed)


@dataclass(frozen=True, slots=True)
class Words:
    """Lettering; `at` is the left end, the middle or the right end of its base line."""

    at: tuple[float, float]
    text: str
    size_mm: float = 3.2
    bold: bool = False
    anchor: str = "start"

    def moved(self, x: float, y: float) -> "Words":
        """The same elsewhere."""
        at = (self.at[0] + x, self.at[1] + y)
        return Words(at, self.text, self.size_mm, self.bold, self.anchor)


@dataclass(slots=True)
class Template:
    """One drawing at full size; it fills `width_mm` × `height_mm` from its left upper corner."""

    title: str
    width_mm: float
    height_mm: float
    strokes: list[Stroke] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)

    def line(
        self, points: Floats | Sequence[tuple[float, float]], pen: Pen, *, closed: bool = False
    ) -> None:
        """Draw a line."""
        self.strokes.append(Stroke(np.asarray(points, dtype=float), pen, closed))

    def say(self, at: tuple[float, float], text: str, size_mm: float = 3.2, **more: str) -> None:
        """Letter something."""
        self.words.append(Words(at, text, size_mm, anchor=more.get("anchor", "start")))


STYLE = (
    "path{fill:none;stroke:#000;stroke-linejoin:round}"
    ".cut{stroke-width:.35}.thin{stroke-width:.15}.mark{stroke-width:.2}"
    ".hidden{stroke-width:.18;stroke-dasharray:2 1}"
    ".axis{stroke-width:.15;stroke-dasharray:6 1.2 .8 1.2}"
    ".solid{stroke:none;fill:#000}"
    "text{font-family:National Park}"
)


def stroke_svg(stroke: Stroke) -> str:
    """A stroke, to a thousandth of a millimetre."""
    steps = "L".join(f"{n(x)} {n(y)}" for x, y in stroke.points.tolist())
    return f'<path class="{stroke.pen}" d="M{steps}{"Z" if stroke.closed else ""}"/>'


def words_svg(words: Words) -> str:
    """Lettering as SVG."""
    x, y = words.at
    anchor = "" if words.anchor == "start" else f' text-anchor="{words.anchor}"'
    weight = ' font-weight="700"' if words.bold else ""
    return (
        f'<text x="{n(x)}" y="{n(y)}" font-size="{n(words.size_mm)}"{anchor}{weight}>'
        f"{escape(words.text)}</text>"
    )


def inside(strokes: Iterable[Stroke], box: Box) -> list[Stroke]:
    """The strokes of which something lies in the box."""
    window = shapely.box(*box)
    shapely.prepare(window)
    kept = []
    for stroke in strokes:
        low, high = stroke.points.min(axis=0), stroke.points.max(axis=0)
        if low[0] > box[2] or low[1] > box[3] or high[0] < box[0] or high[1] < box[1]:
            continue
        line = np.concatenate([stroke.points, stroke.points[:1]]) if stroke.closed else None
        if shapely.intersects(window, shapely.LineString(stroke.points if line is None else line)):
            kept.append(stroke)
    return kept


def n(value: float) -> str:
    """A coordinate as short as it can be written to a thousandth."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def circle(centre: tuple[float, float], radius_mm: float, stray_mm: float = 0.005) -> Floats:
    """Points round a circle whose chords stray by no more."""
    step = 2 * np.arccos(max(0.0, 1 - stray_mm / max(radius_mm, stray_mm)))
    count = int(min(2000, max(24, np.ceil(2 * np.pi / max(step, 1e-3)))))
    angle = np.arange(count) * 2 * np.pi / count
    points: Floats = np.stack([np.cos(angle), np.sin(angle)], axis=1) * radius_mm + centre
    return points
