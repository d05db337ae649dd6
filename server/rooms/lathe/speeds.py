"""How fast the work of a step may turn, from what is on the lathe as it is now."""

from math import sqrt

from server.craft.lathe.gauges import roughest_diameter_mm
from server.craft.lathe.holds import Strength
from server.craft.lathe.speed import SpeedBand, speed_band
from server.craft.lathe.steps import Step, Work
from server.craft.worked.piece import WorkedPart
from server.rooms.lathe.bench import LatheBench

_MOST_RPM, _MOST_RPM_UNTRUE = 3000.0, 1500.0
_STILL = {Work.READY, Work.MEASURE, Work.JOIN, Work.MOUNT, Work.SIZE, Work.BORE}


def most_rpm(band: SpeedBand) -> float:
    """No more than this is shown, however small the work: common practice, and ours.

    Half of it for what is not round yet or is held for light cuts only.
    """
    return _MOST_RPM if band.runs_true else _MOST_RPM_UNTRUE


def rings_of(bench: LatheBench, step: Step) -> list[str]:
    """The rings that a step works on."""
    for stack in bench.piece.stacks:
        if stack.id == step.stack:
            return list(stack.rings)
    return [ring.id for ring in bench.planned.work.by_part[step.part or ""].rings]


def speed_of(bench: LatheBench, step: Step, part: WorkedPart) -> SpeedBand | None:
    """The band for a spinning step, from the roughest diameter until the wood is round."""
    if step.hold is None or step.work in _STILL:
        return None
    body = step.stack or part.id
    round_now = bench.is_done(f"outside:{part.id}")
    rough = roughest_diameter_mm(part, rings_of(bench, step))
    finished = 2 * part.outside.bounds[2]
    firm = step.hold.strength is Strength.FIRM
    roughed = bench.is_done(f"rough:{body}") or round_now
    if part.part.kind == "spindle":
        rough = _blank_across_mm(bench, part, square=not roughed)
    across = finished if round_now else max(rough or finished, finished)
    return speed_band(across, runs_true=firm and roughed)


def _blank_across_mm(bench: LatheBench, part: WorkedPart, *, square: bool) -> float:
    """The blank of a spindle: over its corners while it is square, else as it was roughed."""
    side = 2 * (part.outside.bounds[2] + bench.piece.allowance.outside_mm)
    return side * sqrt(2) if square else side
