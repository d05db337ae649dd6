"""What has to be cut for each ring and part: one row for each ring and different segment."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

from server.craft.document.shop import Saw
from server.craft.lathe.joints import SPARE_MM
from server.craft.results import SegmentRow, StripRow
from server.craft.rings.angles import Angles
from server.craft.rings.discs import panel_boards
from server.craft.saw.strips import strip_length_mm
from server.craft.worked.piece import WorkedPart, WorkedPiece
from server.craft.worked.rings import WorkedRing

MOST_PANEL_BOARDS = 40
"""From more boards than this nobody glues a panel; the disc is then one blank."""


def segment_rows(ring: WorkedRing) -> tuple[SegmentRow, ...]:
    """The different segments of a ring, each with how many there are."""
    made = ring.flat or ring.stave
    if made is None:
        return ()
    kinds = _kinds(ring.woods, made.halves)
    rows = [(wood, made.segments[first], count) for wood, first, count in kinds]
    return tuple(
        SegmentRow(
            wood=wood,
            count=count,
            mitre_deg=shape.mitre_deg,
            bevel_deg=shape.bevel_deg,
            outer_edge_mm=shape.outer_edge_mm,
            inner_edge_mm=shape.inner_edge_mm,
            width_mm=shape.width_mm,
            board_thickness_mm=ring.stave.board_thickness_mm if ring.stave else None,
            blank_length_mm=ring.stave.blank_length_mm if ring.stave else None,
        )
        for wood, shape, count in rows
    )


@lru_cache(maxsize=1024)
def _kinds(woods: tuple[str, ...], halves_deg: Angles) -> tuple[tuple[str, int, int], ...]:
    """Wood, first segment and number of each kind: segments of one half angle are alike."""
    kinds = list(zip(woods, halves_deg, strict=True))
    return tuple((kind[0], kinds.index(kind), count) for kind, count in Counter(kinds).items())


Rows = Mapping[str, tuple[SegmentRow, ...]]
"""The segment rows of each ring by its id."""


def strip_rows(work: WorkedPiece, segments: Rows) -> tuple[StripRow, ...]:
    """All strips and blanks of a piece, part by part, ring by ring."""
    rows: list[StripRow] = []
    for part in work.parts:
        for ring in part.rings:
            rows += _ring_strips(work, part, ring, segments[ring.id])
        if part.part.kind != "ringed":
            rows.append(_solid_blank(work, part))
    return tuple(rows)


def _ring_strips(
    work: WorkedPiece, part: WorkedPart, ring: WorkedRing, segments: tuple[SegmentRow, ...]
) -> Iterator[StripRow]:
    if not ring.is_made or ring.outside_mm is None:
        return
    if ring.ring.is_segmented:
        for number, row in enumerate(segments):
            yield _segment_strip(work, ring, row, number)
    else:
        yield from _disc_blanks(work, ring, ring.outside_mm)
    level = ring.flat or (ring.stave.big_end if ring.stave else None)
    spacer, plug = ring.ring.spacer, ring.ring.plug
    if level is not None and spacer is not None:
        wood = spacer.wood or part.part.own_wood
        yield _spacer_strip(work, ring, wood, spacer.thickness_mm, level.spacer_length_mm)
    if plug is not None:
        wood = plug.wood or part.part.own_wood
        yield _round_blank(work, ring, "plug", wood, plug.diameter_mm)


def _segment_strip(work: WorkedPiece, ring: WorkedRing, row: SegmentRow, number: int) -> StripRow:
    count = row.count + work.piece.saw.spare_segments
    stave = row.board_thickness_mm is not None
    flatten = work.piece.allowance.flatten_mm
    return StripRow(
        id=f"{ring.id}/{row.wood}" + (f"/{number + 1}" if number else ""),
        part=ring.part,
        ring=ring.id,
        kind="stave" if stave else "segment",
        wood=row.wood,
        thickness_mm=row.board_thickness_mm or ring.ring.thickness_mm + flatten,
        width_mm=row.width_mm,
        mitre_deg=row.mitre_deg,
        bevel_deg=row.bevel_deg,
        outer_edge_mm=row.outer_edge_mm,
        inner_edge_mm=row.inner_edge_mm,
        count=count,
        length_mm=_strip_length(work.piece.saw, row, count),
    )


def _strip_length(saw: Saw, row: SegmentRow, count: int) -> float:
    """Segments nest along the strip; stave blanks follow each other with square cuts."""
    if row.blank_length_mm is not None:
        return strip_length_mm(count, row.blank_length_mm, row.width_mm, 0.0, saw.blade_kerf_mm)
    return strip_length_mm(
        count,
        row.outer_edge_mm,
        row.width_mm,
        row.mitre_deg,
        saw.blade_kerf_mm,
        flip=saw.flip,
    )


def _spacer_strip(
    work: WorkedPiece, ring: WorkedRing, wood: str, thickness_mm: float, long_mm: float
) -> StripRow:
    """Spacers are ripped off a board's edge as wide as they are thick, then cut square."""
    saw = work.piece.saw
    count = ring.ring.segments + saw.spare_segments
    length = strip_length_mm(count, long_mm, thickness_mm, 0.0, saw.blade_kerf_mm)
    return _square_row(work, ring, "spacer", wood, thickness_mm, long_mm, count, length)


def _disc_blanks(work: WorkedPiece, ring: WorkedRing, radius_mm: float) -> Iterator[StripRow]:
    """One blank, or the boards of a panel where the ring's own board is narrower than the disc."""
    kind, wood, across = ring.ring.kind, ring.woods[0], 2 * radius_mm
    board = ring.ring.board_width_mm
    if board is None or not across / MOST_PANEL_BOARDS <= board < across:
        yield _round_blank(work, ring, kind, wood, across)
        return
    boards = panel_boards(radius_mm, board)
    wide, kerf = boards[0].width_mm, work.piece.saw.blade_kerf_mm
    for number, (long, count) in enumerate(Counter(b.length_mm for b in boards).items()):
        length = strip_length_mm(count, long, wide, 0.0, kerf) if count > 1 else long
        row = _square_row(work, ring, kind, wood, wide, long, count, length)
        yield replace(row, id=f"{row.id}/{number + 1}") if number else row


def _round_blank(
    work: WorkedPiece, ring: WorkedRing, kind: str, wood: str, across_mm: float
) -> StripRow:
    return _square_row(work, ring, kind, wood, across_mm, across_mm, 1, across_mm)


def _square_row(
    work: WorkedPiece,
    ring: WorkedRing,
    kind: str,
    wood: str,
    width_mm: float,
    edge_mm: float,
    count: int,
    length_mm: float,
) -> StripRow:
    return StripRow(
        id=f"{ring.id}/{kind}",
        part=ring.part,
        ring=ring.id,
        kind=kind,
        wood=wood,
        thickness_mm=ring.ring.thickness_mm + work.piece.allowance.flatten_mm,
        width_mm=width_mm,
        mitre_deg=0.0,
        bevel_deg=0.0,
        outer_edge_mm=edge_mm,
        inner_edge_mm=edge_mm,
        count=count,
        length_mm=length_mm,
    )


def _solid_blank(work: WorkedPiece, part: WorkedPart) -> StripRow:
    """The square blank of a spindle, its tenons and what is parted off it included, or of a disc
    turned from one board."""
    radius = part.outside.bounds[2] + work.piece.allowance.outside_mm
    tenons = math.fsum(j.depth_mm for j in work.piece.joints if j.tenon.part == part.id)
    spindle = part.part.kind == "spindle"
    height = part.height_mm + tenons + (2 * SPARE_MM if spindle else 0.0)
    return StripRow(
        id=f"{part.id}/{part.part.kind}",
        part=part.id,
        ring=None,
        kind=part.part.kind,
        wood=part.part.own_wood,
        thickness_mm=2 * radius if spindle else height,
        width_mm=2 * radius,
        mitre_deg=0.0,
        bevel_deg=0.0,
        outer_edge_mm=height if spindle else 2 * radius,
        inner_edge_mm=height if spindle else 2 * radius,
        count=1,
        length_mm=height if spindle else 2 * radius,
    )
