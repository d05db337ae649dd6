"""A picture laid round a wall: each segment takes the wood that looks nearest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.craft.errors import CraftError
from server.craft.wood.colour import lab_of_hex, lab_of_srgb, nearest_colours

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Band:
    """A ring on the unrolled wall: heights in mm, segment count, phase in pitches."""

    bottom_mm: float
    top_mm: float
    segments: int
    phase: float


def picture_pattern(
    pixels: NDArray[np.uint8], bands: Sequence[Band], woods: Sequence[tuple[str, str]]
) -> list[tuple[str, ...]]:
    """Woods of each band, bottom to top, from RGB pixels (rows, columns, 3), the first row on top.

    The picture spans the whole turn, its left edge at 0°, and the whole height of the bands.
    `woods` are pairs of id and `#rrggbb`. A segment takes the mean of its part of the picture in
    linear light, and the wood of least ΔE₀₀ to it.
    """
    if not woods:
        raise CraftError("There is no wood to choose from.")
    palette = np.stack([lab_of_hex(colour) for _, colour in woods])
    light = _linear(pixels.astype(float) / 255.0)
    low, high = bands[0].bottom_mm, bands[-1].top_mm
    found = []
    for band in bands:
        rows = _span(high - band.top_mm, high - band.bottom_mm, high - low, light.shape[0])
        means = _cells(light[rows], band)
        chosen = nearest_colours(lab_of_srgb(_srgb(means)), palette)
        found.append(tuple(woods[k][0] for k in chosen))
    return found


def _span(start: float, end: float, whole: float, count: int) -> slice:
    first = min(count - 1, int(start / whole * count))
    return slice(first, max(first + 1, int(np.ceil(end / whole * count))))


def _cells(rows: Floats, band: Band) -> Floats:
    """The mean of each segment's columns; columns go round."""
    column = rows.mean(axis=0)
    count = len(column)
    edges = (np.arange(band.segments + 1) + band.phase) / band.segments * count
    means = np.empty((band.segments, 3))
    for k in range(band.segments):
        first = int(np.floor(edges[k]))
        last = max(first + 1, int(np.ceil(edges[k + 1])))
        means[k] = column[np.arange(first, last) % count].mean(axis=0)
    return means


def _linear(rgb: Floats) -> Floats:
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def _srgb(linear: Floats) -> Floats:
    return np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)
