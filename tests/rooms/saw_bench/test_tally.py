"""Counts at the saw out of ledger lines, checked against counts made by hand."""

from datetime import UTC, datetime
from typing import Any

from saw_pieces import band_ring

from server.craft.document import parse_piece
from server.craft.floor import fold
from server.craft.ledger import Entry, Kind
from server.rooms.saw_bench.work import SawWork

NOW = datetime(2026, 5, 2, 18, 0, tzinfo=UTC)


def line(seq: int, kind: Kind = Kind.CUT, subject: str = "r1", **more: Any) -> Entry:
    data = {key: value for key, value in more.items() if key != "undoes"}
    return Entry(
        id=f"e{seq}",
        seq=seq,
        piece="p",
        kind=kind,
        subject=subject,
        at=NOW,
        received_at=NOW,
        undoes=more.get("undoes"),
        data=data,
    )


def two_woods() -> dict[str, Any]:
    document = band_ring("Two woods", "ash-white")
    document["parts"][0]["rings"][0] |= {
        "woods": ["ash-white", "wenge"],
        "spacer": {"thickness_mm": 1.5, "wood": "holly"},
    }
    return document


def work(document: dict[str, Any], *lines: Entry) -> SawWork:
    return SawWork("p", parse_piece(document), fold(lines, now=NOW), NOW)


def counts(bench: SawWork) -> dict[str, tuple[int, int]]:
    return {name: (tally.cut, tally.broken) for name, tally in bench.tallies.items()}


def test_each_strip_of_a_ring_has_its_own_count() -> None:
    bench = work(
        two_woods(),
        line(1, count=3, strip="r1/ash-white", wood="ash-white"),
        line(2, count=2, strip="r1/wenge/2", wood="wenge"),
        line(3, subject="r1/spacer", count=5, strip="r1/spacer", wood="holly"),
    )
    assert counts(bench) == {
        "r1/ash-white": (3, 0),
        "r1/wenge/2": (2, 0),
        "r1/spacer": (5, 0),
    }


def test_a_line_that_names_only_the_wood_or_nothing_is_counted_where_it_belongs() -> None:
    bench = work(two_woods(), line(1, count=4, wood="wenge"), line(2, count=1))
    assert counts(bench)["r1/wenge/2"] == (4, 0)
    assert counts(bench)["r1/ash-white"] == (1, 0)


def test_an_undone_line_counts_no_more_but_is_remembered() -> None:
    bench = work(
        band_ring("One", "ash-white"),
        line(1, count=10, strip="r1/ash-white"),
        line(2, broken=1, strip="r1/ash-white"),
        line(3, Kind.UNDONE, undoes="e1"),
    )
    tally = bench.tallies["r1/ash-white"]
    assert (tally.cut, tally.broken) == (0, 1)
    assert [entry.id for entry in tally.undone] == ["e1"]
    assert tally.newest is not None
    assert tally.newest.id == "e2"


def test_what_breaks_is_first_taken_from_the_spare_ones() -> None:
    """12 needed and 1 spare: 13 to cut; one broken leaves 12 good to cut, two broken 12 as well."""
    for broken, good in ((0, 13), (1, 12), (2, 12), (5, 12)):
        lines = [line(1, broken=broken, strip="r1/ash-white")] if broken else []
        bench = work(band_ring("One", "ash-white"), *lines)
        (cut,) = bench.jobs[0].cuts
        assert cut.needed == 12
        assert cut.wanted == good, broken


def test_a_ring_is_done_when_what_is_needed_is_cut_spare_or_not() -> None:
    assert work(band_ring("One", "ash-white"), line(1, count=12)).jobs[0].done
    assert not work(band_ring("One", "ash-white"), line(1, count=11)).jobs[0].done


def test_a_spare_ring_from_the_rack_stands_for_a_ring() -> None:
    used = line(1, Kind.USED, subject="spare-1", count=1, ring="r1")
    bench = work(band_ring("One", "ash-white"), used)
    assert bench.jobs[0].spare_ring == "spare-1"
    assert bench.jobs[0].done
    undone = work(band_ring("One", "ash-white"), used, line(2, Kind.UNDONE, undoes="e1"))
    assert undone.jobs[0].spare_ring is None
