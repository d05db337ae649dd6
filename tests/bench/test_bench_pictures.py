"""How long the board's pictures take; measured, never asserted."""

from collections.abc import Callable
from typing import Any

from piece_makers import curve, piece, ring

from server.craft.document import parse_piece
from server.craft.planned import Planned, work_out
from server.exports.pictures.portrait import portrait
from server.exports.pictures.section import Marks, section_elevation
from server.exports.svg import to_svg


def tall(rings: int, segments: int) -> Planned:
    part = {
        "id": "t",
        "kind": "ringed",
        "outside": curve((40, 0), (60, rings * 5.0), (50, rings * 10.0)),
        "inside": curve((0, 10), (34, 10), (54, rings * 5.0), (44, rings * 10.0)),
        "rings": [ring(f"r{k}", 10.0, segments) for k in range(rings)],
    }
    return work_out(parse_piece(piece([part])))


def test_section_of_twenty_rings(benchmark: Callable[..., Any]) -> None:
    planned = tall(20, 16)
    benchmark(lambda: to_svg(section_elevation(planned, Marks())))


def test_portrait_of_twenty_rings(benchmark: Callable[..., Any]) -> None:
    planned = tall(20, 16)
    benchmark(lambda: to_svg(portrait(planned)))
