"""Small pieces for tests, built by name instead of by copying JSON about."""

from typing import Any

from server.craft.document import Piece, parse_piece
from server.craft.findings import Check
from server.craft.plan import Plan, plan


def curve(*points: tuple[float, float]) -> dict[str, Any]:
    """A profile of straight lines through (r, z)."""
    return {"points": [{"r_mm": r, "z_mm": z, "corner": True} for r, z in points]}


def ring(name: str, thickness_mm: float = 20.0, segments: int = 12, **more: Any) -> dict[str, Any]:
    """A ring; neighbours are laid like bricks when the names end in odd and even numbers."""
    phase = 0.5 if name[-1:].isdigit() and int(name[-1]) % 2 else 0.0
    return {"id": name, "thickness_mm": thickness_mm, "segments": segments, "phase": phase} | more


def beaker(rings: int = 3, **more: Any) -> dict[str, Any]:
    """A plain beaker: outside radius 60, wall 12, floor 15, on one stack."""
    high = 20.0 * rings
    part = {
        "id": "body",
        "name": "Body",
        "kind": "ringed",
        "outside": curve((60, 0), (60, high)),
        "inside": curve((0, 15), (48, 15), (48, high)),
        "rings": [ring(f"r{number}") for number in range(rings)],
    }
    names = [f"r{number}" for number in range(rings)]
    return piece(
        [part],
        stacks=[stack("s", "body", names)],
        **more,
    )


def stack(name: str, part: str, rings: list[str], **more: Any) -> dict[str, Any]:
    """A stack on a wide waste block, glued with yellow PVA."""
    return {
        "id": name,
        "part": part,
        "rings": rings,
        "mounted": "bottom",
        "faceplate": "A",
        "waste_block": {"diameter_mm": 100, "thickness_mm": 25},
        "glue": "pva-yellow",
    } | more


def piece(parts: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    """A piece document with a steady climate, a long tail at the saw and a strong press."""
    return {
        "format": "ringwright.piece",
        "version": 1,
        "name": "Test piece",
        "saw": {"hold_tail_mm": 100},
        "lathe": {
            "swing_mm": 300,
            "between_centres_mm": 500,
            "press_force_n": 3000,
            "clamp_force_n": 800,
        },
        "room": {"temperature_c": 20, "humidity_percent": 45},
        "climate": [{"name": "always", "temperature_c": 20, "humidity_percent": 45}],
        "parts": parts,
    } | more


def planned(document: dict[str, Any]) -> Plan:
    """The plan of a document."""
    return plan(parsed(document))


def parsed(document: dict[str, Any]) -> Piece:
    """The piece of a document."""
    return parse_piece(document)


def found(document: dict[str, Any], code: str) -> list[Check]:
    """The checks of one code on a document."""
    return [check for check in planned(document).checks if check.code == code]


def codes(document: dict[str, Any]) -> set[str]:
    """The codes of all checks on a document."""
    return {check.code for check in planned(document).checks}
