"""The row of facts under the bench: the glue and its times as they are now."""

from server.rooms.glue_bench.bench import Bench

MINUTES_SHOWN_TO = 100


def facts(bench: Bench) -> tuple[tuple[str, str], ...]:
    """Label and value for each fact, about the stack that matters now."""
    stack = _stack(bench)
    if stack is None:
        return (("Shop", bench.degrees(bench.temperature_c)),)
    glue, now = bench.glue(stack), bench.times(stack)
    warm = "too cold for this glue" if now.too_cold else "warm enough"
    return (
        ("Glue", glue.name),
        ("Shop", f"{bench.degrees(bench.temperature_c)}, {warm}"),
        ("Spread and close within", duration(now.open_minutes)),
        ("In the press", duration(now.press_minutes)),
        ("Rest before the next ring", duration(now.rest_minutes)),
        ("Cure before turning", duration(now.cure_hours * 60)),
    )


def _stack(bench: Bench) -> str | None:
    timers = [t.stack for t in bench.floor.timers if t.kind == "press" and bench.order(t.stack)]
    if timers:
        return timers[0]
    if bench.next.stack is not None:
        return bench.next.stack
    return bench.orders[0].id if bench.orders else None


def duration(minutes: float) -> str:
    """Minutes, or hours where there are many."""
    if minutes < MINUTES_SHOWN_TO:
        return f"{minutes:.0f} min"
    return f"{minutes / 60:.0f} h"
