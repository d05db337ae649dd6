"""How long the files of a goblet take, and of the largest pieces: 200 rings of 72 segments."""

from datetime import UTC, datetime
from typing import Any

from exports_pieces import goblet, worked
from pytest_benchmark.fixture import BenchmarkFixture

from server.craft.document import parse_piece
from server.craft.plan import plan
from server.exports.glb import piece_glb
from server.exports.ics import gluing_ics
from server.exports.sheets.pdf import sheets_pdf
from server.exports.stl import piece_stl
from server.exports.templates.pdf import templates_pdf
from server.exports.typeset.paper import Paper

NOW = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)


def _large() -> dict[str, Any]:
    points = ((100, 0), (180, 500), (120, 1000))
    outside = [{"r_mm": r, "z_mm": z, "corner": z in (0, 1000)} for r, z in points]
    inside = [{"r_mm": 0, "z_mm": 8, "corner": True}, {"r_mm": 92, "z_mm": 8, "corner": True}]
    inside += [{"r_mm": r - 8, "z_mm": z, "corner": z == 1000} for r, z in points[1:]]
    rings = [
        {
            "id": f"r{k}",
            "thickness_mm": 5,
            "segments": 72,
            "phase": 0.5 * (k % 2),
            "woods": ["maple-sugar", "sapele"] if k % 2 else ["ash-white"],
        }
        for k in range(200)
    ]
    part = {"id": "body", "kind": "ringed", "rings": rings}
    part |= {"outside": {"points": outside}, "inside": {"points": inside}}
    return {"format": "ringwright.piece", "version": 1, "name": "Large", "parts": [part]}


def test_glb_of_a_goblet(benchmark: BenchmarkFixture) -> None:
    planned = worked(goblet())
    assert benchmark(piece_glb, planned).startswith(b"glTF")


def test_glb_of_200_rings(benchmark: BenchmarkFixture) -> None:
    planned = worked(_large())
    assert benchmark(piece_glb, planned).startswith(b"glTF")


def test_stl_of_a_goblet(benchmark: BenchmarkFixture) -> None:
    planned = worked(goblet())
    assert len(benchmark(piece_stl, planned)) > 84


def test_stl_of_200_rings(benchmark: BenchmarkFixture) -> None:
    planned = worked(_large())
    assert len(benchmark(piece_stl, planned)) > 84


def test_templates_of_a_goblet(benchmark: BenchmarkFixture) -> None:
    planned = worked(goblet())
    assert benchmark(templates_pdf, planned, Paper.A4, NOW).startswith(b"%PDF")


def test_templates_of_200_rings(benchmark: BenchmarkFixture) -> None:
    planned = worked(_large())
    assert benchmark(templates_pdf, planned, Paper.A4, NOW).startswith(b"%PDF")


def test_sheets_of_a_goblet(benchmark: BenchmarkFixture) -> None:
    planned, done = worked(goblet()), plan(parse_piece(goblet()))
    assert benchmark(sheets_pdf, planned, done, Paper.A4, NOW).startswith(b"%PDF")


def test_sheets_of_200_rings(benchmark: BenchmarkFixture) -> None:
    planned, done = worked(_large()), plan(parse_piece(_large()))
    assert benchmark(sheets_pdf, planned, done, Paper.A4, NOW).startswith(b"%PDF")


def test_calendar_of_a_goblet(benchmark: BenchmarkFixture) -> None:
    planned = worked(goblet())
    assert benchmark(gluing_ics, planned, NOW).startswith(b"BEGIN:VCALENDAR")


def test_calendar_of_200_rings(benchmark: BenchmarkFixture) -> None:
    planned = worked(_large())
    assert benchmark(gluing_ics, planned, NOW).startswith(b"BEGIN:VCALENDAR")
