"""How good and how fast gluing schedules are. Nothing here is asserted but that plans are sound.

Run with `pytest tests/bench/test_schedule_bench.py --benchmark-only -s`. The table that is printed
counts, over 500 random instances (1–12 stacks, 2–20 rings, 1–3 presses; no hours, evenings,
weekends), how many end at their lower bound, and how far the others are from it.
"""

import random
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from statistics import mean
from typing import Any

import pytest

from server.craft.glue.schedule import (
    GluingSchedule,
    PressStep,
    Progress,
    RingPress,
    ShopHours,
    StackToGlue,
    gluing_schedule,
    replanned,
)

START = datetime(2026, 3, 2, tzinfo=UTC)
INSTANCES = 500


@dataclass(frozen=True, slots=True)
class Instance:
    stacks: list[StackToGlue]
    presses: int
    hours: list[ShopHours] | None


def instance(seed: int, stacks: int | None = None, rings: int | None = None) -> Instance:
    draw = random.Random(seed)
    count = stacks or draw.randint(1, 12)
    alike = draw.random() < 0.5
    press, rest = draw.choice((15, 20, 30, 45, 60)), draw.choice((0, 30, 60, 120, 240, 720))
    cure = draw.choice((12, 24, 48))
    made = []
    for s in range(count):
        each = tuple(
            RingPress(
                f"{s}.{r}",
                press if alike else draw.choice((15, 20, 25, 30, 40, 45, 60, 75, 90)),
                rest if alike else draw.choice((0, 15, 30, 60, 90, 120, 180, 240, 480)),
            )
            for r in range(rings or draw.randint(2, 20))
        )
        made.append(StackToGlue(f"s{s}", each, cure if alike else draw.choice((0, 12, 24, 48))))
    kind = "evenings" if stacks else draw.choice(("none", "evenings", "weekends"))
    days = 40 + 2 * sum(len(stack.rings) for stack in made)
    length = 180 if stacks else draw.choice((120, 150, 180, 240))
    presses = 2 if stacks else draw.choice((1, 1, 2, 3))
    return Instance(made, presses, None if kind == "none" else _hours(kind, days, length))


def _hours(kind: str, days: int, length: int) -> list[ShopHours]:
    stays = []
    for day in (START + timedelta(days=n) for n in range(days)):
        if kind == "evenings":
            opens = [day + timedelta(hours=19)]
        else:
            opens = [day + timedelta(hours=h) for h in (9, 14)] if day.weekday() > 4 else []
        stays += [ShopHours(a, a + timedelta(minutes=length)) for a in opens]
    return stays


def solved(one: Instance) -> GluingSchedule:
    return gluing_schedule(one.stacks, one.presses, one.hours, START)


def gap_percent(plan: GluingSchedule) -> float:
    length = (plan.bound - START).total_seconds()
    return 100 * (plan.finish - plan.bound).total_seconds() / length


def test_random_instances(benchmark: Any) -> None:
    instances = [instance(seed) for seed in range(INSTANCES)]
    plans = benchmark.pedantic(lambda: [solved(one) for one in instances], rounds=1)
    gaps = sorted(gap_percent(plan) for plan in plans)
    few = [p for p, one in zip(plans, instances, strict=True) if 2 <= len(one.stacks) <= 6]
    benchmark.extra_info |= {
        "at bound": sum(gap <= 0 for gap in gaps),
        "mean gap %": round(mean(gaps), 3),
        "p99 gap %": round(gaps[int(len(gaps) * 0.99)], 2),
        "max gap %": round(gaps[-1], 2),
        "2–6 stacks proven": f"{sum(plan.proven for plan in few)} of {len(few)}",
    }
    print(benchmark.extra_info)
    assert all(plan.bound <= plan.finish for plan in plans)


@pytest.mark.parametrize("seed", range(3))
def test_twelve_stacks_of_twenty(benchmark: Any, seed: int) -> None:
    one = instance(seed, stacks=12, rings=20)
    plan = benchmark.pedantic(solved, args=(one,), rounds=2)
    benchmark.extra_info["gap %"] = round(gap_percent(plan), 3)
    print(benchmark.extra_info)
    assert len(plan.steps) == 240


@pytest.mark.parametrize("first", [0, 1000])
@pytest.mark.parametrize("late", [15, 40, None])
def test_replanning(benchmark: Any, late: int | None, first: int) -> None:
    """Rings moved after a slip of the evening's first ring, or of the whole evening (None)."""
    slips = [_slip(instance(seed), late) for seed in range(first, first + 60)]
    real = [slip for slip in slips if slip is not None]
    plans = benchmark.pedantic(lambda: [replanned(*slip) for slip in real], rounds=1)
    left = sum(len(plan.steps) for plan in plans)
    moved = sum(len(plan.moved) for plan in plans)
    benchmark.extra_info["moved %"] = round(100 * moved / left, 1)
    print(first, late, benchmark.extra_info)
    assert moved <= left


@pytest.mark.parametrize("late", [15, 40, None])
@pytest.mark.parametrize("seed", range(3))
def test_replanning_twelve_stacks_of_twenty(benchmark: Any, seed: int, late: int | None) -> None:
    slip = _slip(instance(seed, stacks=12, rings=20), late)
    assert slip is not None
    plan = benchmark.pedantic(replanned, args=slip, rounds=2)
    benchmark.extra_info |= {"left": len(plan.steps), "moved": len(plan.moved)}
    print(seed, late, benchmark.extra_info)
    assert len(plan.moved) <= len(plan.steps)


def _slip(one: Instance, late: int | None) -> tuple[Any, ...] | None:
    if one.hours is None:
        return None
    steps = solved(one).steps
    tonight = _evening(steps, one.hours)
    first = tonight[0]
    out = {(s.stack, s.ring): s.ends_at for s in steps if s.ends_at <= first.starts_at}
    now = first.ends_at if late is not None else tonight[-1].ends_at
    held = {}
    if late is not None:
        held = {(first.stack, first.ring): first.ends_at + timedelta(minutes=late)}
    return one.stacks, one.presses, one.hours, steps, Progress(out, held), now


def _evening(steps: tuple[PressStep, ...], hours: list[ShopHours]) -> list[PressStep]:
    """The steps of the stay a third of the way into the plan."""
    third = steps[len(steps) // 3]
    stay = next(h for h in hours if h.starts_at <= third.starts_at and third.ends_at <= h.ends_at)
    return [s for s in steps if stay.starts_at <= s.starts_at and s.ends_at <= stay.ends_at]


@pytest.mark.parametrize(("stacks", "days", "presses"), [(60, 365, 1), (60, 365, 3), (60, 0, 2)])
def test_a_very_large_order(benchmark: Any, stacks: int, days: int, presses: int) -> None:
    """A thousand rings, a year of evenings: the work that is done does not grow with the order."""
    made = [
        StackToGlue(
            f"s{i}",
            tuple(RingPress(f"{i}.{j}", 20.1 + (i * 7 + j * 3) % 25, 45.37) for j in range(17)),
            12,
        )
        for i in range(stacks)
    ]
    one = Instance(made, presses, _hours("evenings", days, 170) if days else None)
    plan = benchmark.pedantic(solved, args=(one,), rounds=1)
    benchmark.extra_info["gap %"] = round(gap_percent(plan), 3)
    print(benchmark.extra_info)
    assert len(plan.steps) == 17 * stacks
