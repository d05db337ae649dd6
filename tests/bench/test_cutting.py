"""Cost, bound, gap and time of every kept instance, beside first fit and `rectpack`.

    pytest tests/bench/test_cutting.py --benchmark-only -s

prints the table. Only that layouts can be cut is asserted; figures are read, not asserted.
"""

import functools
import json
import time
from collections.abc import Iterator
from typing import Any

import pytest
from cutting_baselines import first_fit, packed
from cutting_cases import INSTANCES, NAMES, instance
from cutting_checker import faults
from pytest_benchmark.fixture import BenchmarkFixture

from server.craft.saw.layout import Layout, cut_layout
from server.craft.saw.request import CuttingRequest

TO_BEAT: dict[str, dict[str, float]] = json.loads(
    (INSTANCES.parent / "cutting_to_beat.json").read_text()
)
HEADINGS = (
    "instance", "status", "cost", "to beat", "bound", "gap %", "first fit", "rectpack", "s",
    "first plan s",
)  # fmt: skip


def lacking(layout: dict[str, Any]) -> int:
    return sum(int(row["pieces"]) for row in layout["short"])


def money(layout: dict[str, Any]) -> str:
    short = lacking(layout)
    return f"{layout['cost']:.3f}" + (f" ({short} short)" if short else "")


@pytest.fixture(scope="module")
def table() -> Iterator[list[tuple[str, ...]]]:
    rows: list[tuple[str, ...]] = []
    yield rows
    print()
    for row in (HEADINGS, *rows):
        print("| " + " | ".join(f"{cell:>20}" for cell in row) + " |")


@pytest.mark.parametrize("name", NAMES)
def test_instance(benchmark: BenchmarkFixture, table: list[tuple[str, ...]], name: str) -> None:
    asked = instance(name)
    request = CuttingRequest.model_validate(asked)
    first_plan: list[float] = []
    started = time.monotonic()

    def seen(_: Layout) -> None:
        first_plan.append(time.monotonic() - started)

    solve = functools.partial(cut_layout, on_progress=seen)
    answer = benchmark.pedantic(solve, (request, time.monotonic), rounds=1).as_json()
    seconds = time.monotonic() - started
    by_hand, library = first_fit(asked), packed(asked)
    assert faults(asked, answer) == []
    assert faults(asked, by_hand) == []
    known = TO_BEAT[name]
    gap = 100 * (answer["cost"] - answer["bound"]) / max(answer["cost"], 1e-9)
    benchmark.extra_info.update(
        status=answer["status"],
        cost=answer["cost"],
        short=lacking(answer),
        to_beat=known,
        bound=answer["bound"],
        gap_percent=gap,
        first_fit={"cost": by_hand["cost"], "short": lacking(by_hand)},
        rectpack={"cost": library["cost"], "short": lacking(library)},
        seconds=seconds,
        first_plan_seconds=first_plan[0],
    )
    table.append(
        (
            name,
            answer["status"],
            money(answer),
            f"{known['cost']:.3f}" + (f" ({known['short']} short)" if known["short"] else ""),
            f"{answer['bound']:.3f}",
            f"{gap:.2f}",
            money(by_hand),
            money(library),
            f"{seconds:.2f}",
            f"{first_plan[0]:.2f}",
        )
    )
