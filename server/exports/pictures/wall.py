"""The wall of a part unrolled: every ring as a strip from 0° to 360°."""

from collections.abc import Callable, Iterator, Mapping, Sequence

from server.exports.dimensions import spread
from server.exports.drawing import Anchor, Data, Drawing, Letter, Paint, Path, Pen, Sign
from server.exports.pictures.bodies import TAU, Body, Sector, Slice

_LEFT, _RIGHT, _TOP, _FOOT = 44.0, 16.0, 6.0, 34.0
_LABEL_LEAST = 17.0


def unrolled_wall(
    body: Body,
    name: str,
    *,
    width: float = 336.0,
    height: float = 250.0,
    labels: Mapping[str, str] | None = None,
    chosen: str | None = None,
    faulty: frozenset[str] = frozenset(),
    touch: Mapping[tuple[str, int | None], Data] | None = None,
    faces: bool = True,
) -> Drawing:
    """The rings of one part, bottom to top, at the heights they have.

    `touch` gives the attributes of each segment's face by ring and number. Without `faces` it is
    what lies over `wall_faces` of the same size, which is the same for any ring chosen.
    """
    drawing = Drawing(width, height, f"{name}: its wall unrolled, 0° at the left")
    rings, level = _levels(body, height)
    across = width - _LEFT - _RIGHT
    if faces:
        drawing.extend(wall_faces(body, width=width, height=height, touch=touch))
    top, foot = level(rings[-1].top_mm), level(rings[0].bottom_mm)
    drawing.box((_LEFT, top), (across, foot - top), None, Pen.WIDE)
    for ring in rings:
        top = level(ring.top_mm)
        corner, size = (_LEFT, top), (across, level(ring.bottom_mm) - top)
        if ring.ring in faulty:
            drawing.box(corner, size, None, Pen.FAULT)
        if ring.ring == chosen:
            drawing.box(corner, size, None, Pen.HAND)
    _labels(drawing, rings, level, labels or {}, faulty)
    _degrees(drawing, height - _FOOT, across)
    return drawing


def wall_faces(
    body: Body,
    *,
    width: float = 336.0,
    height: float = 250.0,
    touch: Mapping[tuple[str, int | None], Data] | None = None,
) -> Iterator[Path]:
    """The faces alone of an `unrolled_wall` of that size."""
    rings, level = _levels(body, height)
    across = width - _LEFT - _RIGHT
    for ring in rings:
        yield from _strip(ring, level(ring.top_mm), level(ring.bottom_mm), across, touch or {})


def _levels(body: Body, height: float) -> tuple[list[Slice], Callable[[float], float]]:
    """The rings of a part, bottom to top, and where a height (mm) lies on a sheet so high."""
    rings = [ring for ring in body.slices if ring.ring is not None]
    low, high = rings[0].bottom_mm, rings[-1].top_mm
    scale = (height - _TOP - _FOOT) / max(high - low, 1e-9)
    return rings, lambda z: height - _FOOT - (z - low) * scale


def _strip(
    ring: Slice,
    top: float,
    bottom: float,
    across: float,
    touch: Mapping[tuple[str, int | None], Data],
) -> Iterator[Path]:
    for sector in ring.sectors:
        for start, end in _within_turn(sector):
            x0, x1 = _LEFT + start / TAU * across, _LEFT + end / TAU * across
            points = ((x0, bottom), (x0, top), (x1, top), (x1, bottom))
            data = touch.get((ring.ring, sector.index), ()) if ring.ring is not None else ()
            yield Path(
                points, Pen.JOINT, Paint(sector.face.colour), True, sector.face.grain, data=data
            )


def _within_turn(sector: Sector) -> Iterator[tuple[float, float]]:
    for turns in (-1, 0, 1, 2):
        start = max(0.0, sector.start + turns * TAU)
        end = min(TAU, sector.end + turns * TAU)
        if end - start > 1e-6:
            yield start, end


def _labels(
    drawing: Drawing,
    rings: Sequence[Slice],
    level: Callable[[float], float],
    labels: Mapping[str, str],
    faulty: frozenset[str],
) -> None:
    wanted = [level((ring.bottom_mm + ring.top_mm) / 2) for ring in rings]
    for ring, at, y in zip(rings, wanted, spread(wanted, _LABEL_LEAST), strict=True):
        name = ring.ring or ""
        words = labels.get(name, name)
        letter = Letter.FAULT if ring.ring in faulty else Letter.NOTE
        drawing.text((_LEFT - 18, y + 5.5), words, letter, "end")
        drawing.polyline(((_LEFT - 14, y), (_LEFT - 3, at)), Pen.NARROW)
        if ring.ring in faulty:
            drawing.add(Sign((0, y - 8), "stop", 16, True))


def _degrees(drawing: Drawing, y: float, across: float) -> None:
    for quarter in range(5):
        x = _LEFT + across * quarter / 4
        drawing.line((x, y), (x, y + 7), Pen.NARROW)
        anchor: Anchor = "start" if quarter == 0 else "end" if quarter == 4 else "middle"
        shift = -6 if quarter == 0 else 8 if quarter == 4 else 0
        drawing.text((x + shift, y + 25), f"{quarter * 90}°", Letter.SMALL, anchor)
