"""One column for each faceplate: what is on, what is pressed, what rests, what comes next."""

from dataclasses import dataclass, replace

from markupsafe import Markup

from server.craft.floor import RingOrder, StackOrder, clock, next_tick
from server.craft.floor import Stack as FloorStack
from server.craft.ledger import Kind
from server.rooms.glue_bench.bench import Bench
from server.rooms.glue_bench.pictures import stack_pictures
from server.rooms.glue_bench.says import Button, tick_button


@dataclass(frozen=True, slots=True)
class Plate:
    """A faceplate's column. `tone` is hot while its ring is pressed, over when that is due."""

    id: str
    letter: str
    name: str
    icon: str
    state: str
    small: str
    tone: str
    picture: Markup | str
    button: Button | None
    nothing: str


def plates(bench: Bench) -> tuple[Plate, ...]:
    """The columns in the order of the drawing."""
    pictures = stack_pictures(bench)
    return tuple(_plate(bench, order, pictures[order.id]) for order in bench.orders)


def _plate(bench: Bench, order: StackOrder, picture: str) -> Plate:
    stack = bench.floor.stack(order.id)
    icon, state, small, tone = _state(bench, order, stack)
    button, nothing = _button(bench, order, stack)
    return Plate(
        id=order.id,
        letter=order.faceplate,
        name=order.name,
        icon=icon,
        state=state,
        small=small,
        tone=tone,
        picture=picture,
        button=button,
        nothing=nothing,
    )


def _waiting(bench: Bench, order: StackOrder) -> list[str]:
    return [ring.id for ring in order.rings if bench.floor.ring(ring.id).place is None]


def _state(bench: Bench, order: StackOrder, stack: FloorStack) -> tuple[str, str, str, str]:
    now = bench.floor.now
    if stack.in_press:
        label = bench.labels.get(stack.in_press[-1], "")
        if stack.press is None:
            return "press", "In the press", f"ring {label}, no time set", "hot"
        end = clock(stack.press.deadline, bench.now)
        if stack.press.over(now):
            return "press", "Time is over", f"ring {label}, since {end}", "over"
        return "press", "In the press", f"ring {label}, until {end}", "hot"
    waiting = _waiting(bench, order)
    if not waiting:
        return _all_on(bench, order, stack)
    label = bench.labels.get(waiting[0], waiting[0])
    if stack.rest_until is not None and stack.rest_until > now:
        until = clock(stack.rest_until, bench.now)
        return "rest", "Resting", f"ring {label} from {until}", ""
    if next_tick(_order_of(order, waiting[0]), bench.floor) is None:
        rested = ", rested" if stack.on else ""
        return "next", "Ready to press", f"ring {label}{rested}", ""
    return "next", f"Ring {label} is next", _progress(bench, order, waiting[0]), ""


def _order_of(order: StackOrder, ring: str) -> RingOrder:
    return next(r for r in order.rings if r.id == ring)


def _progress(bench: Bench, order: StackOrder, ring: str) -> str:
    done = list(bench.floor.ring(ring).ticks)
    if done:
        words = {
            Kind.DRY_FITTED: "dry-fitted",
            Kind.HALVES_GLUED: "halves glued",
            Kind.TRUED: "halves trued",
            Kind.CLOSED: "closed",
            Kind.FLATTENED: "flat",
        }
        return words[done[-1]]
    cut, wanted = bench.floor.ring(ring).cut, _order_of(order, ring).segments
    if not wanted:
        return "not begun"
    return f"{min(cut, wanted)} of {wanted} cut" if cut else f"{wanted} segments to cut"


def _all_on(bench: Bench, order: StackOrder, stack: FloorStack) -> tuple[str, str, str, str]:
    count = len(order.rings)
    if not count:
        return "note", "No rings", "none drawn on it yet", ""
    all_on = f"all {count} on" if count > 1 else "its ring is on"
    if stack.ready_at is not None and stack.ready_at > bench.floor.now:
        return "rest", f"Curing, {all_on}", f"turn from {clock(stack.ready_at, bench.now)}", ""
    return "done", all_on.capitalize(), "ready to turn" if stack.ready_at else "", ""


def _button(bench: Bench, order: StackOrder, stack: FloorStack) -> tuple[Button | None, str]:
    rows = Button(f"Rings of {order.faceplate}", href=f"#rows-{order.id}", icon="down")
    if stack.in_press:
        made = tick_button(bench, Kind.RELEASED, stack.in_press[-1], icon="done")
        main = stack.press is not None and bench.floor.timers[0].id == stack.press.id
        return (rows if main else made), ""
    waiting = _waiting(bench, order)
    if not waiting:
        if stack.ready_at is not None and stack.ready_at > bench.floor.now:
            return None, f"Nothing to do here before {clock(stack.ready_at, bench.now)}"
        return rows, ""
    following = next_tick(_order_of(order, waiting[0]), bench.floor)
    kind = following or Kind.CLAMPED
    if bench.next.ring == waiting[0] and bench.next.action in ("tick", "clamp", "cut"):
        return rows, ""
    if kind is Kind.CLAMPED and stack.rest_until and stack.rest_until > bench.floor.now:
        return rows, ""
    button = replace(tick_button(bench, kind, waiting[0]), id=f"plate-{order.id}")
    if kind is Kind.CLAMPED and any(s.in_press for s in bench.floor.stacks.values()):
        button = replace(button, small="in a press of its own")
    return button, ""
