"""The section at the lathe, headstock left: the wood as it is, what it is to be, the hold."""

import shapely

from server.craft.form.outline import polygons
from server.craft.lathe.gauges import depth_to_floor_mm
from server.craft.lathe.holds import Hold, Way
from server.craft.lathe.steps import Step, Work
from server.craft.units import format_length
from server.craft.worked.piece import WorkedPart
from server.exports.dimensions import dimension_across, dimension_upright
from server.exports.drawing import Drawing, Letter, Paint, Path, Pen, Point
from server.rooms.lathe.bench import LatheBench
from server.rooms.lathe.hold_drawing import Bed, draw_hold, hold_reach_mm
from server.rooms.lathe.wood import Wood, mirrored, mortise_of, wood_now

WIDTH, HEIGHT = 620.0, 430.0
LEFT, RIGHT, TOP, BOTTOM = 118.0, 84.0, 44.0, 86.0
TO_GO = 0.42
NO_HOLD = Hold(Way.BY_HAND)


def picture(bench: LatheBench, step: Step, part: WorkedPart) -> Drawing:
    """The drawing of one step, everything to one scale."""
    hold = step.hold or NO_HOLD
    wood = wood_now(bench, step, part)
    view = _View(bench, step, part, wood, hold)
    sheet = Drawing(WIDTH, HEIGHT, f"{step.title}: section of {part.part.title} in its hold")
    draw_hold(sheet, view.bed, hold, view.clamp_along())
    view.slabs(sheet)
    view.target(sheet)
    view.axis(sheet)
    view.say(sheet)
    return sheet


class _View:
    """One step's section: from (r, z) of the part to the sheet."""

    def __init__(
        self, bench: LatheBench, step: Step, part: WorkedPart, wood: Wood, hold: Hold
    ) -> None:
        self.bench, self.step, self.part, self.wood, self.hold = bench, step, part, wood, hold
        self.flipped = hold.held == "top"
        long = wood.high_mm - wood.low_mm
        reach = hold_reach_mm(hold, wood.radius_mm)
        room = min(
            (WIDTH - LEFT - RIGHT) / max(long, 1e-6),
            (HEIGHT - TOP - BOTTOM) / (2 * reach),
        )
        used = long * room
        left = LEFT + (WIDTH - LEFT - RIGHT - used) / 2
        axis = TOP + (HEIGHT - TOP - BOTTOM) / 2
        self.bed = Bed(left, left + used, axis, room, wood.radius_mm, reach)

    def along(self, z: float) -> float:
        return self.wood.high_mm - z if self.flipped else z - self.wood.low_mm

    def point(self, r: float, z: float) -> Point:
        return self.bed.at(self.along(z), r)

    def clamp_along(self) -> float | None:
        return None if self.hold.at_mm is None else self.along(self.hold.at_mm)

    def _path(self, shape: shapely.Polygon) -> tuple[Point, ...]:
        return tuple(self.point(r, z) for r, z in shape.exterior.coords[:-1])

    def _fill(self, sheet: Drawing, shape: shapely.Polygon, paint: Paint, grain: str) -> None:
        for side in (shape, mirrored(shape)):
            sheet.area(self._path(side), paint, Pen.JOINT, grain)

    def slabs(self, sheet: Drawing) -> None:
        """Wood that stays in its full colour, wood that is to go paler."""
        stays = shapely.union_all(list(self.wood.target))
        for slab in self.wood.slabs:
            for shape in slab.shapes:
                self._fill(sheet, shape, Paint(slab.colour, TO_GO), slab.grain)
                for kept in polygons(shapely.intersection(shape, stays)):
                    self._fill(sheet, kept, Paint(slab.colour), slab.grain)
        whole = shapely.union_all([s for slab in self.wood.slabs for s in slab.shapes])
        both = shapely.union(whole, mirrored(whole))
        for shape in getattr(both, "geoms", [both]):
            if isinstance(shape, shapely.Polygon):
                holes = tuple(
                    tuple(self.point(r, z) for r, z in hole.coords[:-1]) for hole in shape.interiors
                )
                sheet.add(Path(self._path(shape), Pen.WIDE, None, True, holes=holes))

    def target(self, sheet: Drawing) -> None:
        whole = shapely.union_all(list(self.wood.target))
        both = shapely.union(whole, mirrored(whole))
        for shape in getattr(both, "geoms", [both]):
            if isinstance(shape, shapely.Polygon):
                sheet.add(Path(self._path(shape), Pen.PHANTOM, None, True))
        if self.step.work is Work.BORE and self.step.joint:
            hole = mortise_of(self.part, self.step.joint, self.bench)
            both = shapely.union(hole, mirrored(hole))
            sheet.add(Path(self._path(both), Pen.CUT, None, True))

    def axis(self, sheet: Drawing) -> None:
        y = self.bed.axis
        sheet.line((self.bed.left - 60, y), (self.bed.right + 40, y), Pen.AXIS)

    # What is written

    def say(self, sheet: Drawing) -> None:
        match self.step.work:
            case Work.INSIDE | Work.FINISH_INSIDE | Work.RIM if self.hold.held == "bottom":
                self._depth(sheet)
            case Work.BORE | Work.MEASURE if self.step.joint:
                self._mortise(sheet)
            case Work.PART_OFF:
                self._parting(sheet)
            case Work.REVERSE | Work.BOTTOM if self.hold.way is Way.RING_CLAMP:
                self._clamp(sheet)
                self._length(sheet)
            case _:
                self._length(sheet)

    def _words(self, mm: float) -> str:
        return format_length(mm, self.bench.piece.display_units)

    def _below(self) -> float:
        return self.bed.axis + self.bed.reach_mm * self.bed.scale + 38

    def _length(self, sheet: Drawing) -> None:
        words = self._words(self.wood.high_mm - self.wood.low_mm)
        if self.step.work is Work.SIZE:  # what is measured stands among the figures
            words += " as drawn"
        edge = self.bed.axis + self.bed.radius_mm * self.bed.scale
        dimension_across(
            sheet, self.bed.left, self.bed.right, self._below(), words, from_y=(edge, edge)
        )

    def _depth(self, sheet: Drawing) -> None:
        depth = depth_to_floor_mm(self.part)
        if depth is None or self.wood.high_mm < self.part.z1_mm - 1e-6:
            self._length(sheet)
            return
        right = self.bed.right
        left = right - depth * self.bed.scale
        words = f"{self._words(depth)} to the floor"
        edge = self.bed.axis + self.bed.radius_mm * self.bed.scale
        dimension_across(sheet, left, right, self._below(), words, from_y=(self.bed.axis, edge))

    def _mortise(self, sheet: Drawing) -> None:
        joint = next(j for j in self.bench.piece.joints if j.id == self.step.joint)
        deep = joint.mortise_depth_mm * self.bed.scale
        end = self.part.z0_mm if joint.mortise.end == "bottom" else self.part.z1_mm
        x = self.bed.left + self.along(end) * self.bed.scale
        x1, x2 = sorted((x, x - deep if self.along(end) > 0 else x + deep))
        half = joint.mortise_diameter_mm / 2 * self.bed.scale
        words = f"{self._words(joint.mortise_depth_mm)} deep"
        start = self.bed.axis + half
        # Below the line: a short mortise is narrower than its words.
        dimension_across(sheet, x1, x2, self._below(), words, from_y=(start, start), lift=-33)
        dimension_upright(
            sheet,
            self.bed.axis - half,
            self.bed.axis + half,
            self.bed.right + 36,
            f"Ø {self._words(joint.mortise_diameter_mm)}",
            from_x=(self.bed.right, self.bed.right),
            lift=-31,
        )

    def _clamp(self, sheet: Drawing) -> None:
        if self.hold.size_mm is None or self.hold.at_mm is None:
            return
        half = self.hold.size_mm / 2 * self.bed.scale
        sheet.text(
            (self.bed.right + 6, self.bed.axis - half - 8),
            f"Ø {self._words(self.hold.size_mm)}",
            Letter.PLAIN,
            "start",
        )

    def _parting(self, sheet: Drawing) -> None:
        end = self.step.id.rsplit(":", 1)[-1]
        ends = {"top": (self.wood.high_mm,), "bottom": (self.wood.low_mm,)}
        reach = self.bed.radius_mm * self.bed.scale + 20
        for z in ends.get(end, (self.wood.low_mm, self.wood.high_mm)):
            x = self.bed.left + self.along(z) * self.bed.scale
            sheet.line((x, self.bed.axis - reach), (x, self.bed.axis + reach), Pen.CUT)
            sheet.text((x, self.bed.axis + reach + 24), "part here", Letter.FAULT)
