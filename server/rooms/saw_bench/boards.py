"""The boards of a layout as the page shows them: picture, cuts in order, what each strip is for."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from markupsafe import Markup

from server.craft.saw.layout import LaidBoard, LaidStrip
from server.craft.saw.request import MOST_LEAVES, Board, CuttingRequest
from server.craft.saw.resaw import most_leaves
from server.craft.saw.sequence import Cut
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
from server.rooms.saw_bench.laid import Laid
from server.rooms.saw_bench.sawing import Sawing
from server.rooms.saw_bench.says import as_json
from server.rooms.saw_bench.used import resawn_line, used_line

_DRAWN = 256
"""Pictures of boards that are kept: a tick changes the tally, not the boards."""
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
class ResawView:
    """A board that is resawn before anything else: what to tell, and the tap that says it is."""

    thick_mm: float
    leaves: int
    leaf_mm: float
    leaf: int
    say: str
    mark: str


@dataclass(frozen=True, slots=True)
class BoardView:
    """One board of the layout, in the order to saw them.

    `could_give` is how many leaves of what its strips need it could be resawn into, if more
    than one.
    """

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
    resaw: ResawView | None
    could_give: int


def board_views(
    sawing: Sawing,
    whole: Laid,
    stock: dict[str, Stock],
    lit: frozenset[str] | None = None,
) -> tuple[BoardView, ...]:
    """All boards, or with `lit` those that hold one of these strips, the others' strips pale."""
    request = whole.request
    boards = {board.id: board for board in request.rack}
    views = []
    for number, (laid, cuts) in enumerate(zip(whole.layout.boards, whole.cuts, strict=True), 1):
        if lit is not None and not any(p.strip in lit for s in laid.strips for p in s.pieces):
            continue
        board, row = boards[laid.id], stock[laid.id]
        views.append(_view(sawing, request, board, laid, cuts, row, number, lit))
    return tuple(views)


def _view(
    sawing: Sawing,
    request: CuttingRequest,
    board: Board,
    laid: LaidBoard,
    cuts: Sequence[Cut],
    row: Stock,
    number: int,
    lit: frozenset[str] | None,
) -> BoardView:
    wood = sawing.wood(board.wood)
    name = str(row.document.get("name") or f"{wood.name} {row.kind}")
    figure = _figure(sawing, request, board, laid, cuts, wood, f"Board {number}, {name}", lit)
    return BoardView(
        number=number,
        id=board.id,
        name=name,
        place=str(row.document.get("place") or ""),
        wood=wood,
        size=(board.thickness_mm, board.width_mm, board.length_mm),
        lying=_lying(figure, BAND_DEEP if lit else DEEPEST),
        upright=_upright(figure),
        steps=_steps(cuts),
        strips=tuple(
            _line(sawing, strip, part.strip, part.count)
            for strip in laid.strips
            for part in strip.pieces
        ),
        offcuts=tuple((o.length_mm, o.width_mm) for o in laid.offcuts),
        say=as_json(used_line(sawing, request, board, laid, name)),
        mark=f"used:{board.id}:{laid.copy}",
        resaw=_resaw(board, laid, row, name),
        could_give=_could_give(request, board, laid),
    )


@lru_cache(maxsize=_DRAWN)
def _lying(figure: BoardFigure, deepest: float) -> Markup:
    return to_svg(board_layout(figure, deepest=deepest), "lying")


@lru_cache(maxsize=_DRAWN)
def _upright(figure: BoardFigure) -> Markup:
    return to_svg(board_layout(figure, upright=True, long=UPRIGHT_LONG), "upright")


def _resaw(board: Board, laid: LaidBoard, row: Stock, name: str) -> ResawView | None:
    """The rack's board is thicker than the one laid out, which is a leaf of it."""
    leaves = int(row.document.get("leaves") or 1)
    if leaves == 1:
        return None
    thick_mm = float(row.document["thickness_mm"])
    return ResawView(
        thick_mm=thick_mm,
        leaves=leaves,
        leaf_mm=board.thickness_mm,
        leaf=(laid.copy - 1) % leaves + 1,
        say=as_json(resawn_line(board, leaves, name)),
        mark=f"used:{board.id}:resawn",
    )


def _could_give(request: CuttingRequest, board: Board, laid: LaidBoard) -> int:
    asked = {strip.id: strip for strip in request.strips}
    needed_mm = max(asked[part.strip].thickness_mm for s in laid.strips for part in s.pieces)
    kerf_mm = request.saw.rip_kerf_mm
    leaves = most_leaves(board.thickness_mm, needed_mm + request.saw.plane_mm, kerf_mm)
    return min(leaves, MOST_LEAVES) if leaves > 1 else 0


def _figure(
    sawing: Sawing,
    request: CuttingRequest,
    board: Board,
    laid: LaidBoard,
    cuts: Sequence[Cut],
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
        strips=tuple(_strip(sawing, request, strip, lit) for strip in laid.strips),
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
    sawing: Sawing, request: CuttingRequest, strip: LaidStrip, lit: frozenset[str] | None
) -> StripFigure:
    first = strip.pieces[0].strip
    count = sum(part.count for part in strip.pieces)
    return StripFigure(
        Place(strip.x_mm, strip.y_mm, strip.length_mm, strip.width_mm),
        f"{sawing.short_title(first)}, {count}",
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


def _steps(cuts: Sequence[Cut]) -> tuple[Step, ...]:
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


def _line(sawing: Sawing, strip: LaidStrip, name: str, count: int) -> StripLine:
    cut = sawing.strips[name].cut
    mitre = f"{cut.row.mitre_deg:.4g}°" if cut.row.mitre_deg else "square"
    noun = cut.noun(count)
    title = sawing.title(name)
    return StripLine(name, title, count, noun, strip.length_mm, strip.width_mm, mitre)
