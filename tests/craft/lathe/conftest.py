"""Pieces to turn, made from a few numbers."""

from collections.abc import Callable
from typing import Any

import pytest

from server.craft.document import parse_piece
from server.craft.worked.piece import WorkedPiece, work_piece

RING_MM = 15.0


def curve(*points: tuple[float, float, bool]) -> dict[str, Any]:
    return {"points": [{"r_mm": r, "z_mm": z, "corner": corner} for r, z, corner in points]}


def vessel(
    name: str, rings: int, foot: float, belly: float, mouth: float, floor_rings: int
) -> dict[str, Any]:
    """A ringed vessel; the floor is as high as `floor_rings`, the belly at 60 % of the height."""
    height = rings * RING_MM
    floor = floor_rings * RING_MM
    middle = max(0.6 * height, floor + 1)
    return {
        "id": name,
        "kind": "ringed",
        "outside": curve((foot, 0, True), (belly, middle, False), (mouth, height, True)),
        "inside": curve(
            (0, floor, True),
            (min(foot, belly) * 0.6, floor, True),
            (belly - 7, middle + 2, False),
            (mouth - 6, height, True),
        ),
        "rings": [
            {"id": f"{name}{i}", "thickness_mm": RING_MM, "segments": 12, "phase": 0.5 * (i % 2)}
            for i in range(rings)
        ],
    }


def base(name: str, rings: int, foot: float, neck: float) -> dict[str, Any]:
    """A solid ringed base, wide below."""
    height = rings * RING_MM
    return {
        "id": name,
        "kind": "ringed",
        "outside": curve((foot, 0, True), (foot * 0.8, height * 0.4, False), (neck, height, True)),
        "rings": [
            {"id": f"{name}{i}", "thickness_mm": RING_MM, "segments": 12} for i in range(rings)
        ],
    }


def stem(name: str, length: float = 80, radius: float = 9) -> dict[str, Any]:
    return {
        "id": name,
        "kind": "spindle",
        "wood": "ash-white",
        "outside": curve(
            (radius, 0, True), (radius * 0.8, length / 2, False), (radius, length, True)
        ),
    }


def stack(
    name: str, part: str, rings: list[str], mounted: str, block: float = 70
) -> dict[str, Any]:
    return {
        "id": name,
        "part": part,
        "rings": rings,
        "mounted": mounted,
        "faceplate": f"F-{name}",
        "waste_block": {"diameter_mm": block, "thickness_mm": 25},
        "glue": "pva-yellow",
    }


def joint(name: str, tenon: tuple[str, str], mortise: tuple[str, str]) -> dict[str, Any]:
    return {
        "id": name,
        "tenon": {"part": tenon[0], "end": tenon[1]},
        "mortise": {"part": mortise[0], "end": mortise[1]},
        "diameter_mm": 10,
        "depth_mm": 12,
    }


def document(
    parts: list[dict[str, Any]],
    stacks: list[dict[str, Any]] | None = None,
    joints: list[dict[str, Any]] | None = None,
    **more: Any,
) -> dict[str, Any]:
    return {
        "format": "ringwright.piece",
        "version": 1,
        "name": "To turn",
        "parts": parts,
        "stacks": stacks or [],
        "joints": joints or [],
        **more,
    }


class Makes:
    """What the tests make pieces with."""

    vessel = staticmethod(vessel)
    base = staticmethod(base)
    stem = staticmethod(stem)
    stack = staticmethod(stack)
    joint = staticmethod(joint)
    document = staticmethod(document)

    @staticmethod
    def worked(*args: Any, **kwargs: Any) -> WorkedPiece:
        return work_piece(parse_piece(document(*args, **kwargs)))

    @staticmethod
    def goblet(bowl_mounted: str = "top", split: bool = False) -> dict[str, Any]:
        """Base, stem and bowl; the bowl on one faceplate or in two halves."""
        bowl = vessel("bowl", 6, 20, 50, 42, 2)
        rings = [f"bowl{i}" for i in range(6)]
        if split:
            stacks = [
                stack("low", "bowl", rings[:4], "bottom"),
                stack("high", "bowl", rings[:3:-1], "top"),
            ]
        else:
            order = rings if bowl_mounted == "bottom" else rings[::-1]
            stacks = [stack("whole", "bowl", order, bowl_mounted)]
        stacks.append(stack("foot", "base", ["base0", "base1"], "bottom"))
        return document(
            [base("base", 2, 40, 15), stem("stem"), bowl],
            stacks,
            [
                joint("lower", ("stem", "bottom"), ("base", "top")),
                joint("upper", ("stem", "top"), ("bowl", "bottom")),
            ],
        )


@pytest.fixture(scope="session")
def make() -> Callable[[], type[Makes]]:
    return Makes  # type: ignore[return-value]
