"""Painting the pattern: what was touched on the wall, and what the palette does to whole parts."""

import io
import json
import warnings
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from server.craft.errors import CraftError
from server.craft.rings import patterns
from server.craft.rings.picture import Band, picture_pattern
from server.rooms.drawing_board.edits import Document, part_of, ring_of
from server.web.fields import Fields

MOST_TOUCHES = 5000
_PICTURE_PX = 1200
_DEFAULT_WOOD = "maple-sugar"


def pattern_of(part: Mapping[str, Any], ring: Mapping[str, Any]) -> patterns.Pattern:
    """The woods of a ring, one a segment."""
    return patterns.whole(
        ring.get("woods") or [part.get("wood") or _DEFAULT_WOOD], ring.get("segments", 12)
    )


def set_pattern(ring: Document, pattern: patterns.Pattern) -> None:
    """Write a pattern the short way."""
    ring["woods"] = list(patterns.shortest(pattern))


def segmented(part: Document) -> Iterator[Document]:
    """The rings that are made of segments, bottom to top."""
    for ring in part.get("rings", ()):
        if ring.get("kind", "flat") in ("flat", "stave"):
            yield ring


def touch(document: Document, fields: Fields, woods: tuple[str, ...]) -> str | None:
    """Segments that a finger went over take a wood: one, every k-th, or the whole ring.

    What is not made of segments is of one wood. Returns the ring that was touched last.
    """
    wood = fields.choice("wood", woods)
    brush = fields.choice("brush", ("one", "every", "ring"))
    every = fields.whole("every", low=2, high=180, required=False) or 2
    touched = _touched(fields)
    for ring_id, indices in touched.items():
        part, ring = _ring_with_part(document, ring_id)
        pattern = pattern_of(part, ring)
        if brush == "ring" or ring.get("kind", "flat") in ("disc", "veneer"):
            set_pattern(ring, (wood,) * len(pattern))
            continue
        step = every if brush == "every" else 0
        set_pattern(ring, patterns.painted(pattern, indices, wood, step))
    return next(reversed(touched), None)


def _touched(fields: Fields) -> dict[str, list[int]]:
    try:
        sent = json.loads(fields.typed.get("touched", ""))
        pairs = [(str(ring), int(index)) for ring, index in sent]
    except (ValueError, TypeError, RecursionError):
        raise CraftError("What was painted cannot be read.") from None
    if len(pairs) > MOST_TOUCHES:
        raise CraftError("That is more than can be painted at once.")
    found: dict[str, list[int]] = {}
    for ring, index in pairs:
        found.setdefault(ring, []).append(index)
    return found


def _ring_with_part(document: Document, ring_id: str) -> tuple[Document, Document]:
    ring = ring_of(document, ring_id)
    part = next(p for p in document["parts"] if ring in p.get("rings", ()))
    return part, ring


def fill(document: Document, part_id: str, fields: Fields, woods: tuple[str, ...]) -> None:
    """A pattern over a whole part."""
    part = part_of(document, part_id)
    rings = list(segmented(part))
    if not rings:
        raise CraftError("This part has no rings of segments.")
    kind = fields.choice("fill", tuple(FILLS))
    FILLS[kind](part, rings, fields, woods)


def _gradient(
    _part: Document, rings: list[Document], fields: Fields, woods: tuple[str, ...]
) -> None:
    first, second = fields.choice("first", woods), fields.choice("second", woods)
    for ring, pattern in zip(
        rings, patterns.gradient([r.get("segments", 12) for r in rings], first, second), strict=True
    ):
        set_pattern(ring, pattern)


def _stripes(part: Document, rings: list[Document], fields: Fields, turn_back: int) -> None:
    stripes = fields.whole("stripes", low=1, high=180) or 1
    step = fields.number("step", low=-10, high=10)
    if step is None or not fields.ok:
        return
    plain = [pattern_of(part, ring) for ring in rings]
    climbed = patterns.climbing(
        plain, fields.typed.get("second", ""), stripes=stripes, step=step, turn_back=turn_back
    )
    for ring, pattern in zip(rings, climbed, strict=True):
        set_pattern(ring, pattern)


def _spiral(part: Document, rings: list[Document], fields: Fields, woods: tuple[str, ...]) -> None:
    fields.choice("second", woods)
    _stripes(part, rings, fields, 0)


def _zigzag(part: Document, rings: list[Document], fields: Fields, woods: tuple[str, ...]) -> None:
    fields.choice("second", woods)
    _stripes(part, rings, fields, fields.whole("turn_back", low=1, high=100) or 3)


def _brick(
    _part: Document, rings: list[Document], _fields: Fields, _woods: tuple[str, ...]
) -> None:
    for ring, phase in zip(rings, patterns.brick_phases(len(rings)), strict=True):
        ring["phase"] = phase


def _twist(_part: Document, rings: list[Document], fields: Fields, _woods: tuple[str, ...]) -> None:
    step = fields.number("step", low=-10, high=10)
    if step is None:
        return
    for ring, phase in zip(rings, patterns.spiral_phases(len(rings), step), strict=True):
        ring["phase"] = phase


Filler = Callable[[Document, list[Document], Fields, tuple[str, ...]], None]
FILLS: Mapping[str, Filler] = {
    "gradient": _gradient,
    "spiral": _spiral,
    "zigzag": _zigzag,
    "brick": _brick,
    "twist": _twist,
}
FILL_NAMES = (
    ("gradient", "gradient between two woods"),
    ("spiral", "climbing stripes"),
    ("zigzag", "zigzag"),
    ("brick", "bricks: turn every second ring"),
    ("twist", "twist: turn each ring further"),
)


def copy_pattern(document: Document, fields: Fields) -> None:
    """One ring's woods, joints and turn on other rings of the same count."""
    _, source = _ring_with_part(document, fields.text("from_ring"))
    targets = [ring_of(document, name) for name in fields.all("to_ring")]
    if not targets:
        raise CraftError("Tick the rings that are to get the pattern.")
    for ring in targets:
        for key in ("woods", "segments", "spacer", "gap", "shares"):
            if key in source:
                ring[key] = source[key]
            else:
                ring.pop(key, None)


def read_pixels(sent: bytes) -> NDArray[np.uint8]:
    """The pixels of a JPEG or PNG, RGB, shrunk to what a wall can show. Raises CraftError."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(sent), formats=["JPEG", "PNG"]) as picture:
                picture.draft("RGB", (_PICTURE_PX, _PICTURE_PX))
                picture.thumbnail((_PICTURE_PX, _PICTURE_PX))
                return np.asarray(picture.convert("RGB"))
    except (OSError, SyntaxError, ValueError, EOFError, Image.DecompressionBombError) as error:
        raise CraftError("That is no JPEG or PNG picture that can be read.") from error
    except Image.DecompressionBombWarning as error:
        raise CraftError("This picture has too many pixels.") from error


def lay_picture(
    document: Document, part_id: str, pixels: NDArray[np.uint8], woods: list[tuple[str, str]]
) -> None:
    """Every segment of a part takes the wood nearest to its place in a picture."""
    part = part_of(document, part_id)
    rings = list(segmented(part))
    if not rings:
        raise CraftError("This part has no rings of segments.")
    at, bands = 0.0, []
    for ring in rings:
        high = at + ring["thickness_mm"]
        bands.append(Band(at, high, ring.get("segments", 12), ring.get("phase", 0.0)))
        at = high
    for ring, pattern in zip(rings, picture_pattern(pixels, bands, woods), strict=True):
        set_pattern(ring, pattern)
