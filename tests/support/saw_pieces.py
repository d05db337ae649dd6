"""A piece with one plain ring, and boards for it: small enough to work a whole way through."""

from typing import Any


def band_ring(name: str, wood: str, segments: int = 12) -> dict[str, Any]:
    """A cylinder of one ring, 60 mm outside and 48 mm inside radius, 20 mm high."""
    return {
        "format": "ringwright.piece",
        "version": 1,
        "name": name,
        "saw": {"spare_segments": 1},
        "parts": [
            {
                "id": "band",
                "name": "Band",
                "kind": "ringed",
                "outside": {
                    "points": [
                        {"r_mm": 60, "z_mm": 0, "corner": True},
                        {"r_mm": 60, "z_mm": 20, "corner": True},
                    ]
                },
                "inside": {
                    "points": [
                        {"r_mm": 48, "z_mm": 0, "corner": True},
                        {"r_mm": 48, "z_mm": 20, "corner": True},
                    ]
                },
                "rings": [{"id": "r1", "thickness_mm": 20, "segments": segments, "woods": [wood]}],
            }
        ],
    }


def boards_for(wood: str) -> list[dict[str, Any]]:
    """Two boards that hold the ring, one with a knot."""
    return [
        {
            "kind": "board",
            "wood": wood,
            "name": "Wide one",
            "thickness_mm": 25.4,
            "width_mm": 150,
            "length_mm": 900,
            "price_per_board_foot": 8,
            "nominal_thickness_mm": 25.4,
            "defects": [{"x_mm": 100, "y_mm": 20, "length_mm": 60, "width_mm": 30}],
        },
        {
            "kind": "offcut",
            "wood": wood,
            "name": "Short one",
            "thickness_mm": 25.4,
            "width_mm": 40,
            "length_mm": 420,
            "price_per_board_foot": 4,
            "offcut": True,
        },
    ]
