"""The boards of a layout as the page shows them: picture, cuts in order, what each strip is for."""

import math
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from markupsafe import Markup

from server.craft.errors import CraftError
from server.craft.saw.layout import LaidBoard, LaidStrip, Layout
from server.craft.saw.request import Board, CuttingRequest
from server.craft.saw.sequence import Cut, cut_sequence
from server.craft.stock import Stock
from server.craft.wood.properties import Species
from server.exports.pictures.board_layout import (
    DEEPEST,
    UPRIGHT_LONG,
    BoardFigure,
    CutFigure,
    Place,
    StripFigure,
    board_layout,
)
from server.exports.svg import to_svg
from server.rooms.saw_bench.says import as_json
from server.rooms.saw_bench.work import SawWork

_NEAR_MM = 1e-3
BAND_DEEP = 92.0
"""Room across the grain where a board stands below the tally, in sheet units."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One cut of a step: its number, its mark from the end or edge, the strip's width freed."""

    number: int
    mark_mm: float
    free_mm: float | None


@dataclass(frozen=True, slots=True)
class Step:
    """One crosscut, or a run of rips through one part of the board."""

    numbers: str
    title: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class StripLine:
    """What a strip is for."""

    strip: str
    title: str
    count: int
    words: str
    length_mm: float
    width_mm: float
    mitre: str


@dataclass(frozen=True, slots=True)
class BoardView:
    """One board of the layout, in the order to saw them."""

    number: int
    id: str
    name: str
    place: str
    wood: Species
    size: tuple[float, float, float]
    lying: Markup
    upright: Markup
    steps: tuple[Step, ...]
    strips: tuple[StripLine, ...]
    offcuts: tuple[tuple[float, float], ...]
    say: str
    mark: str


def board_views(
    work: SawWork,
    request: CuttingRequest,
    layout: Layout,
    stock: dict[str, Stock],
    lit: frozenset[str] | None = None,
) -> tuple[BoardView, ...]:
    """All boards, or with `lit` those that hold one of these strips, the others' strips pale."""
    boards = {board.id: board for board in request.rack}
    views = []
    for number, laid in enumerate(layout.boards, start=1):
        if lit is not None and not any(p.strip in lit for s in laid.strips for p in s.pieces):
            continue
        views.append(_view(work, request, boards[laid.id], laid, stock[laid.id], number, lit))
    return tuple(views)


def _view(
    work: SawWork,
    request: CuttingRequest,
    board: Board,
    laid: LaidBoard,
    row: Stock,
    number: int,
    lit: frozenset[str] | None,
) -> BoardView:
    cuts = _cuts(request, board, laid)
    wood = work.planned.woods[board.wood]
    name = str(row.document.get("name") or f"{wood.name} {row.kind}")
    figure = _figure(work, request, board, laid, cuts, wood, f"Board {number}, {name}", lit)
    return BoardView(
        number=number,
        id=board.id,
        name=name,
        place=str(row.document.get("place") or ""),
        wood=wood,
        size=(board.thickness_mm, board.width_mm, board.length_mm),
        lying=to_svg(board_layout(figure, deepest=BAND_DEEP if lit else DEEPEST), "lying"),
        upright=to_svg(board_layout(figure, upright=True, long=UPRIGHT_LONG), "upright"),
        steps=_steps(cuts),
        strips=tuple(
            _line(work, strip, part.strip, part.count)
            for strip in laid.strips
            for part in strip.pieces
        ),
        offcuts=tuple((o.length_mm, o.width_mm) for o in laid.offcuts),
        say=as_json(_used(board, laid, name)),
        mark=f"used:{board.id}:{laid.copy}",
    )


def _cuts(request: CuttingRequest, board: Board, laid: LaidBoard) -> list[Cut]:
    """The cuts in order; none where no order of straight cuts was found, and strips alone show."""
    try:
        return [cut for cut in cut_sequence(board, laid, request.saw) if not _is_tail(cut, laid)]
    except CraftError:
        return []


def _is_tail(cut: Cut, laid: LaidBoard) -> bool:
    """A cut that would only take the free end off one strip: it stays on, to hold the strip by."""
    return cut.kind == "crosscut" and any(
        abs(strip.x_mm + strip.length_mm - cut.mark_mm) < _NEAR_MM
        and abs(strip.y_mm - cut.part.y0_mm) < _NEAR_MM
        and abs(strip.y_mm + strip.width_mm - cut.part.y1_mm) < _NEAR_MM
        and abs(strip.x_mm - cut.part.x0_mm) < _NEAR_MM
        for strip in laid.strips
    )


def _figure(
    work: SawWork,
    request: CuttingRequest,
    board: Board,
    laid: LaidBoard,
    cuts: list[Cut],
    wood: Species,
    title: str,
    lit: frozenset[str] | None,
) -> BoardFigure:
    return BoardFigure(
        title=f"{title}: {len(laid.strips)} strips, {len(cuts)} cuts",
        length_mm=board.length_mm,
        width_mm=board.width_mm,
        colour=wood.colour_hex,
        grain=wood.grain_hex,
        strips=tuple(_strip(work, request, strip, lit) for strip in laid.strips),
        offcuts=tuple(Place(o.x_mm, o.y_mm, o.length_mm, o.width_mm) for o in laid.offcuts),
        defects=tuple(Place(d.x_mm, d.y_mm, d.length_mm, d.width_mm) for d in board.defects),
        cuts=tuple(
            CutFigure(
                number,
                cut.kind,
                cut.mark_mm,
                Place(
                    cut.part.x0_mm,
                    cut.part.y0_mm,
                    cut.part.x1_mm - cut.part.x0_mm,
                    cut.part.y1_mm - cut.part.y0_mm,
                ),
            )
            for number, cut in enumerate(cuts, start=1)
        ),
    )


def _strip(
    work: SawWork, request: CuttingRequest, strip: LaidStrip, lit: frozenset[str] | None
) -> StripFigure:
    first = strip.pieces[0].strip
    count = sum(part.count for part in strip.pieces)
    return StripFigure(
        Place(strip.x_mm, strip.y_mm, strip.length_mm, strip.width_mm),
        f"{work.name_of(first)}, {count}",
        lit is not None and any(part.strip in lit for part in strip.pieces),
        _joints(request, strip),
    )


def _joints(request: CuttingRequest, strip: LaidStrip) -> tuple[tuple[float, float], ...]:
    """The mitre cuts along a strip that is rolled over after each."""
    asked = {one.id: one for one in request.strips}
    first = asked[strip.pieces[0].strip]
    theta = math.radians(first.mitre_deg)
    lean = first.width_mm * math.tan(theta)
    kerf = request.saw.blade_kerf_mm / math.cos(theta)
    joints, base, turn = [(0.0, lean)], 0.0, 1
    for part in strip.pieces:
        for _ in range(part.count):
            base += asked[part.strip].outer_edge_mm - (lean if request.saw.flip else 0.0) + kerf
            flipped = turn % 2 and request.saw.flip
            joints.append((base + lean, base) if flipped else (base, base + lean))
            turn += 1
    return tuple(joints)


def _steps(cuts: list[Cut]) -> tuple[Step, ...]:
    numbered = list(enumerate(cuts, start=1))
    steps = []
    for (kind, _), run in groupby(numbered, key=lambda one: (one[1].kind, _run_key(one[1]))):
        marks = [_mark(number, cut) for number, cut in run]
        numbers = str(marks[0].number)
        if len(marks) > 1:
            numbers += f"–{marks[-1].number}"
        title = "Crosscut, from the left end" if kind == "crosscut" else "Rip, from the near edge"
        steps.append(Step(numbers, title, tuple(marks)))
    return tuple(steps)


def _run_key(cut: Cut) -> tuple[float, float]:
    """Rips through the same length of board belong together; so do crosscuts that follow."""
    if cut.kind == "crosscut":
        return (round(cut.part.y0_mm, 3), round(cut.part.y1_mm, 3))
    return (round(cut.part.x0_mm, 3), round(cut.part.x1_mm, 3))


def _mark(number: int, cut: Cut) -> Mark:
    if cut.kind == "crosscut" or not cut.kerf_beyond:
        return Mark(number, cut.mark_mm, None)
    return Mark(number, cut.mark_mm, cut.mark_mm - cut.part.y0_mm)


def _line(work: SawWork, strip: LaidStrip, name: str, count: int) -> StripLine:
    cut = next(one for one in work.cuts() if one.row.id == name)
    mitre = f"{cut.row.mitre_deg:.4g}°" if cut.row.mitre_deg else "square"
    noun = cut.words if count != 1 else cut.words.removesuffix("s")
    return StripLine(name, work.name_of(name), count, noun, strip.length_mm, strip.width_mm, mitre)


def _used(board: Board, laid: LaidBoard, name: str) -> dict[str, Any]:
    """The line that takes the board off the rack and brings its rests back."""
    pieces: dict[str, int] = {}
    for strip in laid.strips:
        for part in strip.pieces:
            pieces[part.strip] = pieces.get(part.strip, 0) + part.count
    rests = [
        {
            "length_mm": round(rest.length_mm, 3),
            "width_mm": round(rest.width_mm, 3),
            "defects": _defects_in(
                board, Place(rest.x_mm, rest.y_mm, rest.length_mm, rest.width_mm)
            ),
        }
        for rest in laid.offcuts
    ]
    return {
        "kind": "used",
        "subject": board.id,
        "words": f"{name} sawn",
        "mark": f"used:{board.id}:{laid.copy}",
        "data": {
            "count": 1,
            "wood": board.wood,
            "pieces": [{"strip": strip, "count": count} for strip, count in pieces.items()],
            "returns": rests,
        },
    }


def _defects_in(board: Board, rest: Place) -> list[dict[str, float]]:
    """The board's defects that a rest keeps, measured from the rest's own corner."""
    found = []
    for defect in board.defects:
        x0 = max(defect.x_mm, rest.x_mm)
        x1 = min(defect.x_mm + defect.length_mm, rest.x_mm + rest.length_mm)
        y0 = max(defect.y_mm, rest.y_mm)
        y1 = min(defect.y_mm + defect.width_mm, rest.y_mm + rest.width_mm)
        if x1 - x0 > _NEAR_MM and y1 - y0 > _NEAR_MM:
            found.append(
                {
                    "x_mm": round(x0 - rest.x_mm, 3),
                    "y_mm": round(y0 - rest.y_mm, 3),
                    "length_mm": round(x1 - x0, 3),
                    "width_mm": round(y1 - y0, 3),
                }
            )
    return found
