"""Where the lumber of a layout goes: segments, offcuts, and waste by kind; and its money."""

import math
from dataclasses import dataclass

from server.craft.saw.layout.answer import LaidBoard, LaidStrip, Layout
from server.craft.saw.layout.convert import price_of, spoilt_mm2
from server.craft.saw.request import Board, CuttingRequest, Strip
from server.craft.saw.sequence import Cut, cut_sequence
from server.craft.units import board_feet


@dataclass(frozen=True, slots=True)
class Yield:
    """Board feet by where they went, on actual thickness; they add up to `opened`.

    `strip_ends` is what the mitres' slant, the tail to hold and a strip's overlength leave;
    `other` is what is left over: end trims, defects and rests too small to keep.
    """

    opened: float
    segments: float
    planing: float
    mitre_kerf: float
    strip_ends: float
    rip_kerf: float
    cross_kerf: float
    offcuts: float
    other: float
    lumber_cost: float
    opened_value: float

    @property
    def part(self) -> float:
        """Segments against the wood that does not go back on the rack; 0 when none was used."""
        used = self.opened - self.offcuts
        return self.segments / used if used > 0 else 0.0


def layout_yield(request: CuttingRequest, layout: Layout) -> Yield:
    """Yield and lumber cost of a whole layout."""
    boards = {board.id: board for board in request.rack}
    strips = {strip.id: strip for strip in request.strips}
    total = [0.0] * 8
    opened_value = 0.0
    for laid in layout.boards:
        board = boards[laid.id]
        opened_value += price_of(board)
        for place, volume in enumerate(_volumes_mm3(board, laid, strips, request)):
            total[place] += volume
    feet = [board_feet(volume, 1.0, 1.0) for volume in total]
    opened, segments, planing, mitre, ends, rips, crosses, offcuts = feet
    other = opened - math.fsum(feet[1:])
    return Yield(
        opened=opened,
        segments=segments,
        planing=planing,
        mitre_kerf=mitre,
        strip_ends=ends,
        rip_kerf=rips,
        cross_kerf=crosses,
        offcuts=offcuts,
        other=other,
        lumber_cost=layout.cost,
        opened_value=opened_value,
    )


def _volumes_mm3(
    board: Board, laid: LaidBoard, strips: dict[str, Strip], request: CuttingRequest
) -> list[float]:
    """Opened, segments, planing, mitre kerf, strip ends, rip kerf, cross kerf, offcuts."""
    thick = board.thickness_mm
    segments = planing = mitre = ends = 0.0
    for strip in laid.strips:
        made, sawn, area, thin = _strip_mm3(strip, strips, request)
        segments += made
        mitre += sawn
        ends += area * thin - made - sawn
        planing += area * (thick - thin)
    cuts = cut_sequence(board, laid, request.saw)
    rips = sum(_kerf_mm2(cut) for cut in cuts if cut.kind == "rip")
    crosses = sum(_kerf_mm2(cut) for cut in cuts if cut.kind == "crosscut")
    kept = sum(o.length_mm * o.width_mm - spoilt_mm2(board, o) for o in laid.offcuts)
    whole = board.length_mm * board.width_mm * thick
    return [whole, segments, planing, mitre, ends, rips * thick, crosses * thick, kept * thick]


def _strip_mm3(
    laid: LaidStrip, strips: dict[str, Strip], request: CuttingRequest
) -> tuple[float, float, float, float]:
    """Segments and mitre kerf in mm³, the strip's face in mm², its finished thickness in mm."""
    first = strips[laid.pieces[0].strip]
    theta = math.radians(first.mitre_deg)
    pieces = sum(p.count for p in laid.pieces)
    edges = sum(
        p.count * (strips[p.strip].outer_edge_mm - first.width_mm * math.tan(theta))
        for p in laid.pieces
    )
    sawn = (pieces + 1) * request.saw.blade_kerf_mm / math.cos(theta)
    face = first.width_mm * first.thickness_mm
    return edges * face, sawn * face, laid.length_mm * laid.width_mm, first.thickness_mm


def _kerf_mm2(cut: Cut) -> float:
    """Face area that a cut turns to dust: no more than the part has on that side of the mark."""
    part = cut.part
    low, high = (part.x0_mm, part.x1_mm) if cut.kind == "crosscut" else (part.y0_mm, part.y1_mm)
    room = high - cut.mark_mm if cut.kerf_beyond else cut.mark_mm - low
    return min(cut.kerf_mm, room) * cut.length_mm
