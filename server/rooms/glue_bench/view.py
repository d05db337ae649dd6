"""The context of `glue_bench/_bench.html`, all of it."""

from dataclasses import dataclass

from server.rooms.glue_bench.bench import Bench
from server.rooms.glue_bench.built import Built, built
from server.rooms.glue_bench.facts import facts
from server.rooms.glue_bench.log import Log, log
from server.rooms.glue_bench.panel import Panel, panel
from server.rooms.glue_bench.plates import Plate, plates
from server.rooms.glue_bench.rows import Rows, rows

CARE = (
    "While the lathe presses, its switch is off and cannot be bumped",
    "Gloves or barrier cream with epoxy and polyurethane; fresh air with super glue",
    "Dried squeeze-out is sharp: scrape it off before you run a hand over a ring",
)


@dataclass(frozen=True, slots=True)
class BenchView:
    """`seq` is the newest line of the ledger that this sheet knows of."""

    seq: int
    panel: Panel
    plates: tuple[Plate, ...]
    facts: tuple[tuple[str, str], ...]
    rows: tuple[Rows, ...]
    built: Built
    log: Log
    care: tuple[str, ...]
    problems: tuple[str, ...]


def view(bench: Bench, seq: int) -> BenchView:
    """Everything that the sheet shows."""
    return BenchView(
        seq=seq,
        panel=panel(bench),
        plates=plates(bench),
        facts=facts(bench),
        rows=rows(bench),
        built=built(bench),
        log=log(bench),
        care=CARE,
        problems=tuple(check.message for check in bench.checks if check.severity == "stop"),
    )
