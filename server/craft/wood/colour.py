"""How far two colours look apart: sRGB to CIELAB (IEC 61966-2-1, D65) and CIEDE2000."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
"""Linear sRGB to XYZ with white D65 (IEC 61966-2-1)."""

_WHITE = np.array([0.95047, 1.0, 1.08883])


def lab_of_hex(colour_hex: str) -> Floats:
    """L*, a*, b* of a colour written `#rrggbb`."""
    rgb = np.array([int(colour_hex[k : k + 2], 16) for k in (1, 3, 5)], dtype=float) / 255.0
    return lab_of_srgb(rgb)


def lab_of_srgb(rgb: Floats) -> Floats:
    """L*, a*, b* of sRGB colours in 0..1; the last axis has the three channels."""
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    xyz = linear @ _TO_XYZ.T / _WHITE
    delta = 6.0 / 29.0
    f = np.where(xyz > delta**3, np.cbrt(xyz), xyz / (3 * delta**2) + 4.0 / 29.0)
    x, y, z = np.moveaxis(f, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def ciede2000(one: Floats, other: Floats) -> Floats:
    """The colour difference ΔE₀₀ (CIE 142-2001) of L*a*b* colours; shapes as numpy spreads them."""
    (l1, a1, b1), (l2, a2, b2) = np.moveaxis(one, -1, 0), np.moveaxis(other, -1, 0)
    mean7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    stretch = 1.5 - 0.5 * np.sqrt(mean7 / (mean7 + 25.0**7))
    c1, c2 = np.hypot(a1 * stretch, b1), np.hypot(a2 * stretch, b2)
    h1 = np.degrees(np.arctan2(b1, a1 * stretch)) % 360
    h2 = np.degrees(np.arctan2(b2, a2 * stretch)) % 360
    grey = c1 * c2 == 0
    turn = (h2 - h1 + 180) % 360 - 180
    d_hue = np.where(grey, 0.0, 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2)))
    hue = np.where(grey, h1 + h2, (h1 + turn / 2) % 360)
    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    weight = (
        1
        - 0.17 * np.cos(np.radians(hue - 30))
        + 0.24 * np.cos(np.radians(2 * hue))
        + 0.32 * np.cos(np.radians(3 * hue + 6))
        - 0.20 * np.cos(np.radians(4 * hue - 63))
    )
    s_light = 1 + 0.015 * (light - 50) ** 2 / np.sqrt(20 + (light - 50) ** 2)
    s_chroma, s_hue = 1 + 0.045 * chroma, 1 + 0.015 * chroma * weight
    turned = np.radians(60 * np.exp(-(((hue - 275) / 25) ** 2)))
    rotation = -2 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7)) * np.sin(turned)
    dl, dc, dh = (l2 - l1) / s_light, (c2 - c1) / s_chroma, d_hue / s_hue
    result: Floats = np.sqrt(np.maximum(0.0, dl**2 + dc**2 + dh**2 + rotation * dc * dh))
    return result


def nearest_colours(wanted: Floats, palette: Floats) -> NDArray[np.intp]:
    """For each wanted L*a*b* colour (n, 3) the number of the nearest looking one in the palette."""
    apart = ciede2000(wanted[:, None, :], palette[None, :, :])
    result: NDArray[np.intp] = np.argmin(apart, axis=1)
    return result
