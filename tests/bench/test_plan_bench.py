"""How long a plan takes: a goblet of 20 rings, and 200 rings of 72 segments.

Where a wood is changed, as while painting, the form is known from the plan before; where the form
is changed, as while dragging, everything is worked out anew.
"""

from itertools import count
from typing import Any

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from server.craft.document import parse_piece
from server.craft.document.piece import Piece
from server.craft.plan import plan

_TURN = count(1)
_WOODS = ("maple-sugar", "walnut-black", "cherry-black")


def _vessel(rings: int, segments: int, thickness_mm: float, form: float) -> dict[str, Any]:
    """A goblet's bowl or a tall vase; `form` widens its belly by millionths of a millimetre."""
    high = rings * thickness_mm

    def curve(*points: tuple[float, float]) -> dict[str, Any]:
        ends = (0, len(points) - 1)
        return {
            "points": [
                {"r_mm": r, "z_mm": z, "corner": k in ends} for k, (r, z) in enumerate(points)
            ]
        }

    return {
        "format": "ringwright.piece",
        "version": 1,
        "name": "Measured",
        "parts": [
            {
                "id": "body",
                "kind": "ringed",
                "outside": curve((40, 0), (60 + 1e-6 * form, 0.5 * high), (70, high)),
                "inside": curve((0, 0.05 * high), (52, 0.5 * high), (64, high)),
                "rings": [
                    {
                        "id": f"r{k}",
                        "thickness_mm": thickness_mm,
                        "segments": segments,
                        "phase": 0.5 * (k % 2),
                        "woods": list(_WOODS),
                    }
                    for k in range(rings)
                ],
            }
        ],
        "stacks": [
            {
                "id": "s",
                "part": "body",
                "rings": [f"r{k}" for k in range(rings)],
                "mounted": "bottom",
                "glue": "pva-yellow",
            }
        ],
    }


def _repainted(rings: int, segments: int, thickness_mm: float) -> Piece:
    drawing = _vessel(rings, segments, thickness_mm, 0)
    changed = next(_TURN)
    drawing["parts"][0]["rings"][changed % rings]["woods"] = [_WOODS[changed % len(_WOODS)]]
    return parse_piece(drawing)


def _reshaped(rings: int, segments: int, thickness_mm: float) -> Piece:
    return parse_piece(_vessel(rings, segments, thickness_mm, next(_TURN)))


@pytest.mark.parametrize("make", [_repainted, _reshaped])
@pytest.mark.parametrize(("rings", "segments", "thickness_mm"), [(20, 12, 9.0), (200, 72, 6.0)])
def test_plan(
    benchmark: BenchmarkFixture, make: Any, rings: int, segments: int, thickness_mm: float
) -> None:
    def afresh() -> tuple[tuple[Piece], dict[str, Any]]:
        return (make(rings, segments, thickness_mm),), {}

    planned = benchmark.pedantic(plan, setup=afresh, rounds=20, warmup_rounds=1)
    assert planned.totals.segments == rings * segments
