"""The hold drawn to scale around the wood: faceplate, jaws, clamp, jam chuck, centres, steady."""

from dataclasses import dataclass

from server.craft.lathe.holds import CLAMP_LINING_MM, JAM_DEPTH_MM, Hold, Way
from server.exports.drawing import Drawing, Letter, Pen, Point, Round, Tone

BLOCK_MM = 25.0
PLATE_MM = 9.0
BARE_BLOCK_RADIUS_MM = 30.0


@dataclass(frozen=True, slots=True)
class Bed:
    """Where the wood lies on the sheet: its left face, the axis, and sheet units for a mm."""

    left: float
    right: float
    axis: float
    scale: float
    radius_mm: float
    reach_mm: float = 0.0

    def at(self, along_mm: float, across_mm: float) -> Point:
        """A point `along_mm` from the held face and `across_mm` off the axis, down positive."""
        return self.left + along_mm * self.scale, self.axis + across_mm * self.scale


def hold_reach_mm(hold: Hold, radius_mm: float) -> float:
    """How far off the axis the hold and the wood reach together."""
    size = (hold.size_mm or 0.0) / 2
    match hold.way:
        case Way.RING_CLAMP:
            return radius_mm + 18
        case Way.FACEPLATE | Way.GLUED_GROOVE | Way.JAM_CHUCK:
            return max(radius_mm, size * 1.2 + 8)
        case _:
            return max(radius_mm, size)


def draw_hold(sheet: Drawing, bed: Bed, hold: Hold, clamp_along_mm: float | None = None) -> None:
    """The hold at the left, then tailstock and steady. `clamp_along_mm`: a ring clamp's place."""
    radius = (hold.size_mm or 2 * BARE_BLOCK_RADIUS_MM) / 2
    match hold.way:
        case Way.FACEPLATE:
            _block(sheet, bed, radius, "waste")
        case Way.GLUED_GROOVE:
            _block(sheet, bed, max(radius * 1.15, radius + 8), "block")
            _box(sheet, bed, (-6.0, radius - 4, 6.0, 6.0), Tone.PAPER)
        case Way.JAM_CHUCK:
            _block(sheet, bed, max(radius * 1.1, radius + 6), "jam")
            _box(sheet, bed, (0.0, -radius, JAM_DEPTH_MM, 2 * radius), Tone.PAPER_2, mirror=False)
        case Way.RING_CLAMP:
            _ring_clamp(sheet, bed, hold, clamp_along_mm)
        case Way.RECESS | Way.TENON:
            _jaws(sheet, bed, radius)
        case Way.BETWEEN_CENTRES:
            _spur(sheet, bed)
        case _:
            return
    if hold.tailstock:
        _tailstock(sheet, bed)
    if hold.steady:
        _steady(sheet, bed)


def _box(
    sheet: Drawing,
    bed: Bed,
    box: tuple[float, float, float, float],
    tone: Tone,
    pen: Pen = Pen.WIDE,
    mirror: bool = True,
) -> None:
    """A box in mm: along, across, long, high; on both sides of the axis when `mirror`."""
    along, across, long, high = box
    size = (long * bed.scale, high * bed.scale)
    sheet.box(bed.at(along, across), size, tone, pen)
    if mirror:
        sheet.box(bed.at(along, -across - high), size, tone, pen)


def _block(sheet: Drawing, bed: Bed, radius: float, words: str) -> None:
    _headstock(sheet, bed, BLOCK_MM, max(radius * 1.15, 25))
    _box(sheet, bed, (-BLOCK_MM, -radius, BLOCK_MM, 2 * radius), Tone.PAPER_2, mirror=False)
    if BLOCK_MM * bed.scale >= 18 and radius * bed.scale > 30:
        x, y = bed.at(-BLOCK_MM / 2, -radius / 2)
        sheet.text((x + 5, y), words, Letter.PLAIN, turned=True)


def _headstock(sheet: Drawing, bed: Bed, gap: float, radius: float) -> None:
    _box(sheet, bed, (-gap - PLATE_MM, -radius, PLATE_MM, 2 * radius), Tone.HATCH, mirror=False)
    _box(sheet, bed, (-gap - 3 * PLATE_MM, -15, 2 * PLATE_MM, 30), Tone.HATCH, mirror=False)


def _jaws(sheet: Drawing, bed: Bed, radius: float) -> None:
    _headstock(sheet, bed, 12, max(radius, 30))
    _box(sheet, bed, (-12, radius * 0.45, 18, radius * 0.55), Tone.HATCH)


def _ring_clamp(sheet: Drawing, bed: Bed, hold: Hold, along: float | None) -> None:
    outer = bed.radius_mm + 14
    _headstock(sheet, bed, 10, outer)
    _box(sheet, bed, (-10, -outer, 10, 2 * outer), Tone.PAPER_2, mirror=False)
    place = (bed.right - bed.left) / bed.scale if along is None else along
    opening = (hold.size_mm or 0) / 2
    _box(sheet, bed, (place, opening + CLAMP_LINING_MM, 9, outer - opening), Tone.PAPER_2)
    _box(sheet, bed, (0, outer - 7, place, 4), Tone.HATCH, Pen.NARROW)


def _spur(sheet: Drawing, bed: Bed) -> None:
    _box(sheet, bed, (-30, -9, 30, 18), Tone.HATCH, mirror=False)
    tip = bed.at(5, 0)
    sheet.area((bed.at(0, -6), tip, bed.at(0, 6)), Tone.PAPER, Pen.WIDE)


def _tailstock(sheet: Drawing, bed: Bed) -> None:
    x, y = bed.right, bed.axis
    sheet.area(((x, y), (x + 22, y - 13), (x + 22, y + 13)), Tone.PAPER, Pen.WIDE)
    sheet.box((x + 22, y - 17), (34, 34), Tone.HATCH, Pen.WIDE)


def _steady(sheet: Drawing, bed: Bed) -> None:
    x = bed.left + 0.62 * (bed.right - bed.left)
    for side in (-1, 1):
        y = bed.axis + side * (bed.radius_mm * bed.scale + 12)
        sheet.box((x - 8, y if side > 0 else y - 36), (16, 36), Tone.PAPER_2, Pen.WIDE)
        sheet.add(Round((x, y), 12, 12, Pen.WIDE, Tone.LIT))
        sheet.add(Round((x, y), 2, 2, Pen.THIN_INK))
