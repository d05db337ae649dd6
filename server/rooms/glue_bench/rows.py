"""Every ring with its states to tick: cut, dry-fitted, halves glued, trued, closed, flat, on."""

from dataclasses import dataclass
from functools import lru_cache

from markupsafe import Markup

from server.craft.floor import Mark, Ring, RingOrder, StackOrder, clock
from server.craft.ledger import Kind
from server.rooms.glue_bench.bench import Bench
from server.rooms.glue_bench.says import (
    as_json,
    describe,
    entry,
    mark_of,
    tick_data,
    ticked,
    undo_entry,
)
from server.web.templates import fragment

NAMES = {
    Kind.DRY_FITTED: "Dry-fitted",
    Kind.HALVES_GLUED: "Halves glued",
    Kind.TRUED: "Halves trued",
    Kind.CLOSED: "Closed",
    Kind.FLATTENED: "Flat",
    Kind.STACKED: "On the stack",
}


@dataclass(frozen=True, slots=True)
class Cell:
    """One tick. Tapped while it stands it is taken back; `small` says when, `who` which device."""

    id: str
    name: str
    ticked: bool
    small: str
    who: str
    say: str
    mark: str
    icon: str


@dataclass(frozen=True, slots=True)
class Row:
    """A ring's line. `current` rings lie open on a phone, the others fold away."""

    id: str
    label: str
    woods: tuple[tuple[str, str], ...]
    small: str
    current: bool
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Rows:
    """The rings of one faceplate, in gluing order; `rows` are drawn."""

    id: str
    letter: str
    name: str
    rows: tuple[Markup, ...]


def rows(bench: Bench) -> tuple[Rows, ...]:
    """All stacks, then rings that are on no stack."""
    made = [_rows(bench, order) for order in bench.orders]
    stacked = {ring.id for order in bench.orders for ring in order.rings}
    loose = [
        RingOrder(ring.id, bench.labels[ring.id], ring.segments if ring.is_segmented else 0)
        for part in bench.piece.parts
        for ring in part.rings
        if ring.id not in stacked
    ]
    if loose:
        drawn = tuple(_drawn(_row(bench, None, ring), "") for ring in loose)
        made.append(Rows("loose", "", "On no stack", drawn))
    return tuple(made)


def _rows(bench: Bench, order: StackOrder) -> Rows:
    found = tuple(_drawn(_row(bench, order, ring), order.faceplate) for ring in order.rings)
    return Rows(order.id, order.faceplate, order.name, found)


@lru_cache(maxsize=1024)
def _drawn(row: Row, letter: str) -> Markup:
    """Drawn again only when something about the ring has changed: a tick touches one or two."""
    return fragment("glue_bench/_row.html", row=row, letter=letter)


def _row(bench: Bench, order: StackOrder | None, ring: RingOrder) -> Row:
    state = bench.floor.ring(ring.id)
    thick = Markup("{} thick").format(bench.written(bench.worked(ring.id).ring.thickness_mm))
    cells = [_cell(bench, ring, kind, state.ticks.get(kind)) for kind in ring.ticks]
    if order is not None:
        cells.append(_on(bench, order, ring))
    return Row(
        id=ring.id,
        label=ring.label,
        woods=tuple((wood.colour_hex, wood.name) for wood in bench.woods(ring.id)),
        small=Markup(", ").join(part for part in (thick, _so_far(ring, state)) if part),
        current=_current(bench, order, ring.id),
        cells=tuple(cells),
    )


def _so_far(ring: RingOrder, state: Ring) -> str:
    if state.place is not None:
        return "on the stack" if state.place == "on" else "in the press"
    done = [NAMES[kind].lower() for kind in ring.ticks if kind in state.ticks]
    if done:
        return done[-1]
    return f"{state.cut} of {ring.segments} cut" if ring.segments else ""


def _current(bench: Bench, order: StackOrder | None, ring: str) -> bool:
    """The ring that its faceplate waits for, and one that is in the press."""
    if order is None:
        return False
    waiting = [r.id for r in order.rings if bench.floor.ring(r.id).place is None]
    return ring in waiting[:1] or bench.floor.ring(ring).place == "press"


def _cell(bench: Bench, ring: RingOrder, kind: Kind, mark: Mark | None) -> Cell:
    undone = bench.floor.ring(ring.id).undone.get(kind)
    cell_mark = mark_of(kind, ring.id)
    if mark is not None:
        said = _undo(bench, mark, cell_mark)
        small, icon = clock(mark.at, bench.now), "done"
    else:
        order = bench.stack_of(ring.id)
        words = ticked(bench, kind, ring.id)
        said = as_json(entry(kind, ring.id, words, tick_data(bench, kind, ring.id, order)))
        small = f"undone {clock(undone.at, bench.now)}" if undone else ""
        icon = "undo" if undone else ""
    who = (mark.device if mark else None) or ""
    cell_id = f"t-{ring.id}-{kind.value}"
    return Cell(cell_id, NAMES[kind], mark is not None, small, who, said, cell_mark, icon)


def _on(bench: Bench, order: StackOrder, ring: RingOrder) -> Cell:
    state = bench.floor.ring(ring.id)
    mark = mark_of(Kind.STACKED, ring.id)
    cell_id = f"t-{ring.id}-stacked"
    if state.place is None or state.since is None:
        words = ticked(bench, Kind.STACKED, ring.id)
        data = tick_data(bench, Kind.STACKED, ring.id, order)
        said = as_json(entry(Kind.STACKED, ring.id, words, data))
        return Cell(cell_id, NAMES[Kind.STACKED], False, "", "", said, mark, "")
    name = "In the press" if state.place == "press" else NAMES[Kind.STACKED]
    icon = "press" if state.place == "press" else "done"
    said = _undo(bench, state.since, mark)
    since = state.since
    small = clock(since.at, bench.now)
    return Cell(cell_id, name, True, small, since.device or "", said, mark, icon)


def _undo(bench: Bench, mark: Mark, cell_mark: str) -> str:
    target = bench.said[mark.entry_id]
    return as_json(undo_entry(target, f"{describe(bench, target)}, undone", cell_mark))
