"""What the drawing board shows: the rings as a list, the drawing, numbers, checks, forms."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from server.craft.document import Piece
from server.craft.document.ring_labels import ring_labels
from server.craft.findings import Check, Severity
from server.craft.results import Plan, RingPlan
from server.craft.units import Units, format_length, format_mm
from server.exports.drawing import Data, Drawing
from server.exports.pictures.bodies import Face, Sector, Slice, face
from server.exports.pictures.ring_plan import ring_from_above
from server.exports.pictures.section import Marks, write_on
from server.exports.pictures.wall import unrolled_wall, wall_faces
from server.exports.svg import fragment, to_svg
from server.rooms.drawing_board.board import Board
from server.rooms.drawing_board.desk import Place
from server.web.lengths import diagonal

WIDE = frozenset({"form", "pattern", "look"})
"""Panels with a large picture of their own in place of the list and the drawing."""

_SHORT_HEAD = 44
_WORST = {Severity.STOP: 0, Severity.WARN: 1, Severity.NOTE: 2}


@dataclass(frozen=True, slots=True)
class RingRow:
    """One ring in the list; sizes are words in the piece's units."""

    id: str
    label: str
    colours: tuple[str, ...]
    woods: str
    across: Markup
    wide: Markup
    thick: Markup
    severity: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class PartList:
    """One part in the list, its rings top to bottom."""

    id: str
    name: str
    about: str
    rings: tuple[RingRow, ...]
    severity: str
    ringed: bool


@dataclass(frozen=True, slots=True)
class Finding:
    """A check in the list, and the words of the button that mends it."""

    severity: str
    title: str
    words: str
    code: str
    ring: str
    part: str
    mend: str


@dataclass(frozen=True, slots=True)
class BoardView:
    """The computed part of the context of `drawing_board/_desk.html`."""

    parts: tuple[PartList, ...]
    drawing: Markup
    portrait: Markup | None
    wall: Markup | None
    washes: Markup
    findings: tuple[Finding, ...]
    counts: Mapping[str, int]
    plan: Plan
    piece: Piece
    colours: Mapping[str, Face]


@dataclass(frozen=True, slots=True)
class TrialView:
    """What is said of a form while it is pulled."""

    plan: Plan
    piece: Piece
    findings: tuple[Finding, ...]


def trial_view(board: Board) -> TrialView:
    """The numbers and findings of a form that is not kept yet."""
    checks = sorted(board.plan.checks, key=lambda check: _WORST[check.severity])
    return TrialView(board.plan, board.piece, _findings(board, checks))


def board_view(board: Board, place: Place, address: str) -> BoardView:
    """What to show of a board at a place; `address` is the page's own, for the links."""
    checks = sorted(board.plan.checks, key=lambda check: _WORST[check.severity])
    beside = place.show not in WIDE
    walls = _wall(board, place, checks) if place.show == "checks" else None
    return BoardView(
        parts=tuple(_part_lists(board, place, checks)) if beside else (),
        drawing=_sheet(board, place, checks, address) if beside else Markup(),
        portrait=board.portrait_svg if beside else None,
        wall=walls,
        washes=board.washes if beside else Markup(),
        findings=_findings(board, checks),
        counts={s.value: sum(c.severity is s for c in checks) for s in Severity},
        plan=board.plan,
        piece=board.piece,
        colours={name: face(board.planned.woods, name) for name in board.planned.woods},
    )


def _part_lists(board: Board, place: Place, checks: Sequence[Check]) -> list[PartList]:
    labels = ring_labels(board.piece)
    worst = _worst_by_ring(checks)
    lists = []
    for part, planned in zip(board.piece.parts, board.plan.parts, strict=True):
        rows = tuple(
            _row(board, ring, labels[ring.id], worst.get(ring.id, ""), place)
            for ring in reversed(planned.rings)
        )
        of_part = [c for c in checks if c.part == part.id and c.ring is None]
        severity = of_part[0].severity.value if of_part else ""
        lists.append(
            PartList(
                part.id, part.title, _about(board, part.id), rows, severity, part.kind == "ringed"
            )
        )
    return list(reversed(lists))


def _worst_by_ring(checks: Sequence[Check]) -> dict[str, str]:
    worst: dict[str, str] = {}
    for check in checks:
        if check.ring:
            worst.setdefault(check.ring, check.severity.value)
    return worst


def _about(board: Board, part_id: str) -> str:
    part = board.piece.part(part_id)
    if part.kind == "ringed":
        counts = {ring.segments for ring in part.rings if ring.is_segmented}
        if not part.rings:
            return "no rings yet"
        return f"{counts.pop()} segments each" if len(counts) == 1 else f"{len(part.rings)} rings"
    wood = face(board.planned.woods, part.own_wood)
    return f"{wood.name}, turned from one piece"


def _row(board: Board, ring: RingPlan, label: str, severity: str, place: Place) -> RingRow:
    worked = board.planned.work.by_ring[ring.id]
    names = list(dict.fromkeys(worked.woods))
    faces = [face(board.planned.woods, name) for name in names]
    return RingRow(
        id=ring.id,
        label=label,
        colours=tuple(f.colour for f in faces[:4]),
        woods=", ".join(f.name for f in faces[:2])
        + (f" and {len(faces) - 2} more" if len(faces) > 2 else ""),
        across=_short(ring.finished_outside_radius_mm, board.units, 2, 16),
        wide=_short(ring.board_width_mm, board.units, 1, 32),
        thick=_short(ring.z_top_mm - ring.z_bottom_mm, board.units, 1, 64),
        severity=severity,
        chosen=ring.id == place.ring,
    )


def _short(value_mm: float | None, units: Units, times: float, finest: int) -> Markup:
    """A length without its unit, for a column of them."""
    if value_mm is None:
        return Markup("–")
    if units == "mm":
        return Markup(format_mm(value_mm * times, 0 if times == 2 else 1))
    return diagonal(value_mm * times, "in", finest=finest).replace("″", "")


def _findings(board: Board, checks: Sequence[Check]) -> tuple[Finding, ...]:
    """One entry a check; those of one kind that nothing mends, or one tap, are said together."""
    grouped: dict[tuple[str, str, str, str], list[Check]] = {}
    for number, check in enumerate(checks):
        mended = repr(check.mend["changes"]) if check.mend else ""
        alone = str(number) if check.ring is None else mended
        key = (check.code, check.severity.value, check.part or "", alone)
        grouped.setdefault(key, []).append(check)
    return tuple(_finding(board, same) for same in grouped.values())


def _finding(board: Board, same: Sequence[Check]) -> Finding:
    check = same[0]
    where = _where(board, same)
    head, _, rest = check.message.partition(". ")
    offered = check.mend or {}
    title, words = where or head.rstrip("."), check.message if where else rest
    if len(same) > 1:
        words = f"{check.message.rstrip('.')}; the others alike."
    elif where and len(head) < _SHORT_HEAD:
        title, words = f"{where}: {head[:1].lower()}{head[1:]}".rstrip("."), rest
    return Finding(
        check.severity.value,
        title,
        words,
        check.code,
        check.ring or "",
        check.part or "",
        str(offered.get("title", "")),
    )


def _where(board: Board, same: Sequence[Check]) -> str:
    """Which rings of which part, in words."""
    check = same[0]
    if check.part is None:
        return ""
    many = len(board.piece.parts) > 1
    name = board.piece.part(check.part).title if many else ""
    if check.ring is None:
        return name
    labels = ring_labels(board.piece)
    rings = _runs(sorted((labels.get(c.ring or "", "") for c in same), key=_natural))
    word = "ring" if len(same) == 1 else "rings"
    return f"{name} {word} {rings}" if name else f"{word.capitalize()} {rings}"


def _runs(labels: Sequence[str]) -> str:
    """1, 2, 3, 5 as `1 to 3, 5`."""
    runs: list[list[str]] = []
    for label in labels:
        follows = runs and _natural(label)[0] == _natural(runs[-1][-1])[0] + 1
        if follows:
            runs[-1].append(label)
        else:
            runs.append([label])
    said = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs]
    return ", ".join(said)


def _natural(label: str) -> tuple[int, str]:
    return (int(label) if label.isdecimal() else 0, label)


def _sheet(board: Board, place: Place, checks: Sequence[Check], address: str) -> Markup:
    """The drawing with what is written on it."""
    stop = {c.ring: "" for c in checks if c.ring and c.severity is Severity.STOP}
    warn = {c.ring: "" for c in checks if c.ring and c.severity is Severity.WARN}
    labels = ring_labels(board.piece)
    links = {
        ring: (
            ("hx-get", f"{address}{place.at_ring(ring).query()}"),
            ("hx-target", "#desk"),
            ("hx-swap", "outerHTML"),
            ("hx-push-url", "true"),
        )
        for ring in labels
    }
    say = {part.id: _height(part.height_mm, board.units) for part in board.plan.parts} | {
        "": _height(board.plan.totals.height_mm, board.units)
    }
    marks = Marks(stop, warn, place.ring if place.show == "ring" else None, labels, links)
    across = f"Ø {_height(board.plan.totals.largest_diameter_mm, board.units)}"
    under = board.drawn.drawing
    drawing = Drawing(under.width, under.height, under.title)
    write_on(drawing, board.planned, board.drawn, marks, say_height=say, say_diameter=across)
    return to_svg(drawing, "board-drawing", board.drawn_svg)


def _height(value_mm: float, units: Units) -> str:
    if units == "mm":
        text = format_mm(value_mm)
        return text.removesuffix(".0")
    return format_length(value_mm, "in")


def _wall(board: Board, place: Place, checks: Sequence[Check]) -> Markup | None:
    ringed = [body for body in board.bodies if body.slices and body.slices[0].ring is not None]
    if not ringed:
        return None
    with_ring = [b for b in ringed if any(s.ring == place.ring for s in b.slices)]
    body = with_ring[0] if with_ring else max(ringed, key=lambda b: len(b.slices))
    faulty = frozenset(c.ring for c in checks if c.ring and c.severity is Severity.STOP)
    drawing = unrolled_wall(
        body,
        board.piece.part(body.part).title,
        labels=ring_labels(board.piece),
        chosen=place.ring,
        faulty=faulty,
        faces=False,
    )
    under = board.picture("wall", body.part, lambda: fragment(wall_faces(body)))
    return to_svg(drawing, under=under)


def wall_to_paint(board: Board, part_id: str) -> Markup:
    """The wall large, each segment named for the brush."""
    return board.picture("paint-wall", part_id, lambda: _painted_wall(board, part_id))


def _painted_wall(board: Board, part_id: str) -> Markup:
    body = next(body for body in board.bodies if body.part == part_id)
    touch = {
        (ring.ring, sector.index): _named(ring, sector)
        for ring in body.slices
        for sector in ring.sectors
        if ring.ring is not None and (sector.index is not None or len(ring.sectors) == 1)
    }
    name, labels = board.piece.part(part_id).title, ring_labels(board.piece)
    drawing = unrolled_wall(body, name, width=520, height=380, labels=labels, touch=touch)
    return to_svg(drawing, "paint-wall")


def ring_to_paint(board: Board, ring_id: str) -> Markup:
    """One ring from above, large, each segment named for the brush."""
    return board.picture("paint-ring", ring_id, lambda: _painted_ring(board, ring_id))


def ring_alone(board: Board, ring_id: str) -> Markup:
    """One ring from above."""

    def draw() -> Markup:
        worked = board.planned.work.by_ring[ring_id]
        shown = next(s for body in board.bodies for s in body.slices if s.ring == ring_id)
        return to_svg(ring_from_above(worked, shown, "The ring"))

    return board.picture("ring", ring_id, draw)


def _painted_ring(board: Board, ring_id: str) -> Markup:
    worked = board.planned.work.by_ring[ring_id]
    shown = next(s for body in board.bodies for s in body.slices if s.ring == ring_id)
    touch = {sector.index: _named(shown, sector) for sector in shown.sectors}
    name = f"Ring {ring_labels(board.piece)[ring_id]}"
    return to_svg(ring_from_above(worked, shown, name, size=380, touch=touch), "paint-ring")


def _named(ring: Slice, sector: Sector) -> Data:
    """A face's name for the brush: ring and number; what is of one piece is number 0."""
    return (("seg", f"{ring.ring}:{sector.index or 0}"),)
