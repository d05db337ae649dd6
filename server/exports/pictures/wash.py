"""The wash over a picture: light from the upper left, by the tilt of the wall.

A wash is a gradient across a level band of a turned surface: at the share u of its radius the
normal points to u sideways, so that one gradient serves every band of the same tilt.
"""

import math
from collections.abc import Iterable

from markupsafe import Markup

from server.exports.drawing import Drawing, Path, Wash

STEPS = 12
"""Tilts from level to upright and on to overhanging, in steps of 90° / STEPS."""

_LIGHT = (-0.50, 0.60, 0.62)  # right, up, towards the viewer; of length 1
_AMBIENT, _DIFFUSE = 0.40, 0.68
_NEUTRAL = 0.90
"""The brightness at which the wood shows its own colour."""

_SHADE, _GLOSS = "#2a1206", "#fff4da"
_STOPS = (-1.0, -0.93, -0.8, -0.6, -0.35, -0.1, 0.2, 0.5, 0.75, 0.92, 1.0)


def wash_name(radial: float, up: float, inside: bool) -> str:
    """The wash of a band whose normal points (outward or to the axis, up)."""
    tilt = math.degrees(math.atan2(up, abs(radial)))
    return f"wash-{'i' if inside else 'o'}{round(tilt * STEPS / 90)}"


def wash_names(drawings: Iterable[Drawing]) -> set[str]:
    """Which washes these drawings use."""
    return {
        item.fill.name
        for drawing in drawings
        for item in drawing.items
        if isinstance(item, Path) and isinstance(item.fill, Wash)
    }


def wash_defs(names: Iterable[str]) -> Markup:
    """The gradients of these names, to stand once on a page that shows pictures."""
    body = "".join(_gradient(name) for name in sorted(names))
    return Markup(
        f'<svg class="sprite" width="0" height="0" aria-hidden="true"><defs>{body}</defs></svg>'
    )


def _gradient(name: str) -> str:
    inside, step = name[5] == "i", int(name[6:])
    tilt = math.radians(step * 90 / STEPS)
    stops = "".join(_stop(u, math.cos(tilt), math.sin(tilt), inside) for u in _STOPS)
    return f'<linearGradient id="{name}">{stops}</linearGradient>'


def _stop(u: float, level: float, up: float, inside: bool) -> str:
    """One stop. Outside the near half is seen, inside the far one, which faces us too."""
    sideways = (-u if inside else u) * level
    towards = math.sqrt(max(0.0, 1 - u * u)) * level
    lit = sideways * _LIGHT[0] + up * _LIGHT[1] + towards * _LIGHT[2]
    bright = _AMBIENT + _DIFFUSE * max(0.0, lit)
    if bright < _NEUTRAL:
        colour, alpha = _SHADE, min(0.66, (_NEUTRAL - bright) * 1.12)
    else:
        gloss = 0.45 * max(0.0, lit) ** 18 * (0.4 if inside else 1.0)
        colour, alpha = _GLOSS, min(0.42, (bright - _NEUTRAL) * 0.9 + gloss)
    return f'<stop offset="{(u + 1) / 2:.3g}" stop-color="{colour}" stop-opacity="{alpha:.2g}"/>'
