"""A stack on its faceplate, drawn to scale from the plan: the line says what is there.

Wide line and wood: it is on. Blue: in the press. Phantom line and a pale tint: still to come.
The whole stack is shown as the person at the lathe sees it, the faceplate below.
"""

import math
from dataclasses import dataclass
from typing import Literal

from server.exports.dimensions import leader, spread
from server.exports.drawing import Anchor, Drawing, Letter, Paint, Path, Pen, Point, Round, Tone

State = Literal["on", "press", "to-come"]

WIDTH, HEIGHT = 220.0, 334.0
CENTRE_X = 132.0
HALF_WIDTH = 84.0
LABEL_X = 34.0
LABEL_GAP = 33.0
MOST_LABELS = 9
FACEPLATE_MM = (84.0, 5.0)
SPIGOT_MM = (30.0, 4.0)
GAP_WAITING = 20.0
GAP_PRESS = 112.0
GAP_BETWEEN = 7.0
MARK_SIZE = 26.0
DARKEST = 0.42
SHADE = "#120a04"


@dataclass(frozen=True, slots=True)
class Facet:
    """One segment of a ring's outside: from and to in degrees, and its colours."""

    start_deg: float
    end_deg: float
    face: str
    joint: str


@dataclass(frozen=True, slots=True)
class DrawnRing:
    """A ring in the stack: `radius_mm` to its corners, `facets` as the person gluing sees them.

    `id` is the ring's in the piece, for what the page marks on it.
    """

    label: str
    state: State
    radius_mm: float
    height_mm: float
    facets: tuple[Facet, ...]
    id: str = ""


@dataclass(frozen=True, slots=True)
class DrawnStack:
    """What is to be drawn, rings first at the faceplate. `press_words` stand beside the press."""

    title: str
    rings: tuple[DrawnRing, ...]
    block_radius_mm: float
    block_height_mm: float
    press_words: tuple[str, str] = ("", "")

    @property
    def pressing(self) -> bool:
        """Whether a ring is in the press."""
        return any(ring.state == "press" for ring in self.rings)

    @property
    def widest_mm(self) -> float:
        """Half of what must fit across."""
        return max([FACEPLATE_MM[0] / 2, self.block_radius_mm, *(r.radius_mm for r in self.rings)])

    @property
    def tall_mm(self) -> float:
        """What must fit upright, without the gaps that have a fixed size on the sheet."""
        wood = self.block_height_mm + sum(ring.height_mm for ring in self.rings)
        return wood + FACEPLATE_MM[1] + SPIGOT_MM[1]

    @property
    def gaps(self) -> float:
        """The gaps of fixed size, in sheet units."""
        waiting = sum(ring.state == "to-come" for ring in self.rings)
        first = GAP_PRESS if self.pressing else GAP_WAITING if waiting else 0.0
        return first + GAP_BETWEEN * max(0, waiting - 1)


def common_scale(stacks: list[DrawnStack]) -> float:
    """Sheet units for a millimetre, the same for all stacks that stand side by side."""
    across = [HALF_WIDTH / stack.widest_mm for stack in stacks]
    upright = [(HEIGHT - 12 - stack.gaps) / stack.tall_mm for stack in stacks]
    return min([*across, *upright], default=1.0)


def draw_stack(stack: DrawnStack, scale: float) -> Drawing:
    """The drawing; `scale` in sheet units for a millimetre."""
    sheet = Drawing(WIDTH, HEIGHT, stack.title)
    _axis(sheet, HEIGHT - 3 - stack.tall_mm * scale - stack.gaps)
    _faceplate(sheet, stack, scale)
    for ring, bottom, top in _placed(stack, scale):
        _ring(sheet, ring, scale, bottom, top)
    middles = [(ring, (bottom + top) / 2) for ring, bottom, top in _placed(stack, scale)]
    _press(sheet, stack, scale, middles)
    _labels(sheet, middles, scale)
    return sheet


def mark_corners(stack: DrawnStack, scale: float) -> dict[str, Point]:
    """By ring id, the upper left corner of a sign MARK_SIZE wide at the ring's right end."""
    found: dict[str, Point] = {}
    for ring, bottom, top in _placed(stack, scale):
        beside = CENTRE_X + ring.radius_mm * scale + 3
        x = min(beside, WIDTH - MARK_SIZE)
        y = (bottom + top - MARK_SIZE) / 2
        found[ring.id] = (x, min(max(y, 0.0), HEIGHT - MARK_SIZE))
    return found


def _placed(stack: DrawnStack, scale: float) -> list[tuple[DrawnRing, float, float]]:
    """The rings with their lower and upper edges, those still to come hanging above the others."""
    top = HEIGHT - 3 - (FACEPLATE_MM[1] + SPIGOT_MM[1] + stack.block_height_mm) * scale
    found, waiting = [], False
    for ring in stack.rings:
        if ring.state == "to-come":
            top -= GAP_BETWEEN if waiting else (GAP_PRESS if stack.pressing else GAP_WAITING)
            waiting = True
        bottom, top = top, top - ring.height_mm * scale
        found.append((ring, bottom, top))
    return found


def _faceplate(sheet: Drawing, stack: DrawnStack, scale: float) -> None:
    """Faceplate and waste block."""
    y = HEIGHT - 3
    for across, high in (FACEPLATE_MM, SPIGOT_MM):
        y -= high * scale
        half = across / 2 * scale
        sheet.box((CENTRE_X - half, y), (2 * half, high * scale), Tone.HATCH)
    if stack.block_height_mm > 0:
        half, high = stack.block_radius_mm * scale, stack.block_height_mm * scale
        y -= high
        sheet.box((CENTRE_X - half, y), (2 * half, high), Tone.PAPER_2, Pen.WIDE)
        if high >= 20 and half >= 30:
            sheet.text((CENTRE_X, y + high / 2 + 6), "waste", Letter.PLAIN)


def _ring(sheet: Drawing, ring: DrawnRing, scale: float, bottom: float, top: float) -> None:
    ghost = ring.state == "to-come"
    half = 0.0
    for facet in ring.facets:
        span = _visible(facet)
        if span is None:
            continue
        x0, x1 = (CENTRE_X + ring.radius_mm * scale * math.sin(a) for a in span)
        half = max(half, abs(x0 - CENTRE_X), abs(x1 - CENTRE_X))
        corners = ((x0, bottom), (x0, top), (x1, top), (x1, bottom))
        if ghost:
            sheet.area(corners, Paint(facet.face, 0.3))
            continue
        sheet.area(corners, Paint(facet.face), Pen.JOINT, facet.joint)
        dark = DARKEST * math.sin(sum(span) / 2) ** 2
        sheet.area(corners, Paint(SHADE, dark))
    pen = {"on": Pen.WIDE, "press": Pen.HAND, "to-come": Pen.PHANTOM}[ring.state]
    half = half or ring.radius_mm * scale
    sheet.box((CENTRE_X - half, top), (2 * half, bottom - top), None, pen)


def _visible(facet: Facet) -> tuple[float, float] | None:
    """The part of a segment's outside that faces the viewer, in radians from the middle."""
    for turn in (-360.0, 0.0, 360.0):
        start, end = facet.start_deg + turn, facet.end_deg + turn
        start, end = max(start, -90.0), min(end, 90.0)
        if end - start > 0.05:
            return math.radians(start), math.radians(end)
    return None


def _axis(sheet: Drawing, top: float) -> None:
    sheet.line((CENTRE_X, top - 8), (CENTRE_X, HEIGHT), Pen.AXIS)


def _press(
    sheet: Drawing, stack: DrawnStack, scale: float, labels: list[tuple[DrawnRing, float]]
) -> None:
    """The tailstock, the plate as wide as the ring, and what presses."""
    pressed = [(ring, y) for ring, y in labels if ring.state == "press"]
    if not pressed:
        return
    ring, middle = pressed[-1]
    y = middle - ring.height_mm * scale / 2 - 2
    half = min(ring.radius_mm * scale, HALF_WIDTH)
    sheet.box((CENTRE_X - half, y - 10), (2 * half, 10), Tone.HATCH)
    quill = min(17.0, half * 0.5)
    foot = quill * 1.7
    cone: tuple[Point, ...] = (
        (CENTRE_X - foot, y - 10),
        (CENTRE_X - quill, y - 40),
        (CENTRE_X - quill, y - 84),
        (CENTRE_X + quill, y - 84),
        (CENTRE_X + quill, y - 40),
        (CENTRE_X + foot, y - 10),
    )
    sheet.area(cone, Tone.PAPER, Pen.WIDE)
    sheet.box((CENTRE_X - quill, y - 84), (2 * quill, 26), Tone.HATCH)
    for side, words in zip((-1, 1), stack.press_words, strict=True):
        x = CENTRE_X + side * max(half * 0.72, foot + 14)
        sheet.line((x, y - 52), (x, y - 30), Pen.HAND)
        sheet.add(
            Path(((x - 8, y - 32), (x + 8, y - 32), (x, y - 13)), Pen.NONE, Tone.ARROW_HAND, True)
        )
        if words:
            edge = CENTRE_X + side * (quill + 6)
            anchor: Anchor = "end" if side < 0 else "start"
            sheet.text((edge, y - 60), words, Letter.HAND_NOTE, anchor)


def _labels(sheet: Drawing, labels: list[tuple[DrawnRing, float]], scale: float) -> None:
    shown = _worth_a_label(labels)
    heights = spread([y for _ring, y in shown], LABEL_GAP)
    lowest = max(heights, default=0.0)
    lift = max(0.0, lowest - (HEIGHT - 14))
    for (ring, at), height in zip(shown, heights, strict=True):
        y = max(height - lift, 16.0)
        letter = Letter.NUMBER_TO_COME if ring.state == "to-come" else Letter.NUMBER
        sheet.text((LABEL_X, y + 11), ring.label, letter, "end")
        edge = CENTRE_X - min(ring.radius_mm * scale, HALF_WIDTH) - 3
        leader(sheet, (LABEL_X + 4, y), (LABEL_X + 9, y), (max(edge, LABEL_X + 10), at))
        if ring.state == "press":
            sheet.add(Round((LABEL_X - 9 * len(ring.label), y), 19, 19, Pen.HAND_NARROW))


def _worth_a_label(labels: list[tuple[DrawnRing, float]]) -> list[tuple[DrawnRing, float]]:
    """All of a short stack; of a tall one its ends, what is in hand and what comes next."""
    if len(labels) <= MOST_LABELS:
        return labels
    wanted = {0, len(labels) - 1}
    states = [ring.state for ring, _ in labels]
    wanted |= {n for n, state in enumerate(states) if state == "press"}
    wanted |= {n for n in range(1, len(states)) if states[n] != states[n - 1]}
    wanted |= {n - 1 for n in range(1, len(states)) if states[n] != states[n - 1]}
    return [label for n, label in enumerate(labels) if n in sorted(wanted)[:MOST_LABELS]]
