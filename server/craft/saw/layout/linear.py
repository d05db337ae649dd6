"""A thin hand on the solver: rows and columns in, values out; one thread, limited by work.

The same programme with the same effort has the same answer: the solver is told to stop by a count
of the places where it asks, and the clock only guards against one that asks too rarely.

The solver is imported when a programme is made: most requests of the shop never need it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]
Terms = Sequence[tuple[int, float]]
"""(column or row, factor)."""
_WORK_A_PROGRAMME = 2.0
_WORK_AN_ASK = 4.0


def _solver() -> Any:
    # The bare binding: its Python wrapper writes a banner to standard output.
    from highspy._core import _Highs

    solver: Any = _Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    return solver


def _asked(solver: Any, most: int) -> Callable[[], int]:
    """Let the solver ask at most so often whether to go on; how often it did."""
    from highspy._core import cb

    asks = 0

    def answer(_kind: int, _text: str, _told: Any, reply: Any, _data: Any) -> None:
        nonlocal asks
        asks += 1
        if asks > most:
            reply.user_interrupt = True

    solver.setCallback(answer, None)
    solver.startCallbackInt(int(cb.HighsCallbackType.kCallbackMipInterrupt))
    return lambda: asks


class Linear:
    """A linear programme to minimise, grown column by column."""

    def __init__(self) -> None:
        self._solver = _solver()
        self._solver.setOptionValue("solver", "simplex")

    def row(self, lower: float | None, upper: float | None) -> None:
        """A row without entries yet; None is no limit."""
        self._solver.addRow(_low(lower), _high(upper), 0, np.array([], np.int32), np.array([]))

    def column(self, cost: float, entries: Terms) -> None:
        """A variable ≥ 0 with its entries (row, factor)."""
        rows = np.array([row for row, _ in entries], np.int32)
        factors = np.array([factor for _, factor in entries], float)
        self._solver.addCol(cost, 0.0, np.inf, len(entries), rows, factors)

    def solve(self) -> tuple[float, Floats]:
        """The least cost and the duals of the rows."""
        self._solver.run()
        return float(self._solver.getObjectiveValue()), self.duals()

    def duals(self) -> Floats:
        """Duals of the last solution."""
        return np.array(self._solver.getSolution().row_dual, float)

    def values(self) -> Floats:
        """Values of the columns of the last solution."""
        return np.array(self._solver.getSolution().col_value, float)


def _low(limit: float | None) -> float:
    return -np.inf if limit is None else limit


def _high(limit: float | None) -> float:
    return np.inf if limit is None else limit


def solved(
    matrix: Floats,
    cost: Floats,
    columns: tuple[Floats, Floats],
    rows: tuple[Floats, Floats],
) -> tuple[float, Floats, int] | None:
    """Least cost, values and simplex steps of a programme given whole; None if it has no answer.

    `columns` and `rows` are lower and upper limits.
    """
    import highspy

    model = highspy.HighsLp()
    model.num_row_, model.num_col_ = matrix.shape
    model.col_cost_ = np.asarray(cost, np.float64)
    model.col_lower_, model.col_upper_ = (np.asarray(limit, np.float64) for limit in columns)
    model.row_lower_, model.row_upper_ = (np.asarray(limit, np.float64) for limit in rows)
    places, index = np.nonzero(matrix.T)
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    starts = np.searchsorted(places, np.arange(matrix.shape[1] + 1))
    model.a_matrix_.start_ = starts.astype(np.int32)
    model.a_matrix_.index_ = index.astype(np.int32)
    model.a_matrix_.value_ = np.asarray(matrix.T[places, index], np.float64)
    solver = _solver()
    solver.setOptionValue("solver", "simplex")
    solver.setOptionValue("presolve", "off")
    solver.passModel(model)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    info = solver.getInfo()
    values = np.array(solver.getSolution().col_value, float)
    return float(info.objective_function_value), values, int(info.simplex_iteration_count)


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to try: branching nodes, the gap that is good enough, how often the solver may ask
    whether to go on, and seconds as a far-off guard."""

    nodes: int
    gap: float
    asks: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """Values of the columns (None when nothing was found), the proven limit, the work done."""

    values: Floats | None
    bound: float
    work: float


class Mixed:
    """A mixed integer programme to minimise."""

    def __init__(self) -> None:
        self._cost: list[float] = []
        self._limits: list[tuple[float, float]] = []
        self._whole: list[bool] = []
        self._rows: list[tuple[float, float]] = []
        self._starts, self._index, self._factor = [0], list[int](), list[float]()

    def variable(self, cost: float, upper: float | None = None, *, whole: bool = False) -> int:
        """A variable between 0 and `upper`; its column."""
        self._cost.append(cost)
        self._limits.append((0.0, _high(upper)))
        self._whole.append(whole)
        return len(self._cost) - 1

    def row(self, lower: float | None, upper: float | None, terms: Terms) -> None:
        """A row of (column, factor) between two limits."""
        self._rows.append((_low(lower), _high(upper)))
        self._index += [column for column, _ in terms]
        self._factor += [factor for _, factor in terms]
        self._starts.append(len(self._index))

    def solve(self, effort: Effort) -> Outcome:
        """The best values found with this effort."""
        import highspy

        solver = _solver()
        solver.setOptionValue("mip_max_nodes", effort.nodes)
        solver.setOptionValue("mip_rel_gap", effort.gap)
        solver.setOptionValue("time_limit", max(0.05, effort.seconds))
        solver.passModel(self._model(highspy))
        asked = _asked(solver, effort.asks)
        solver.run()
        work = _WORK_A_PROGRAMME + _WORK_AN_ASK * asked()
        info = solver.getInfo()
        values = np.array(solver.getSolution().col_value, float)
        found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        bound = float(info.mip_dual_bound)
        if not found or len(values) != len(self._cost):
            return Outcome(None, bound, work)
        return Outcome(values, bound, work)

    def _model(self, highspy: Any) -> Any:
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = len(self._cost), len(self._rows)
        model.col_cost_ = np.array(self._cost)
        model.col_lower_ = np.array([low for low, _ in self._limits])
        model.col_upper_ = np.array([high for _, high in self._limits])
        model.row_lower_ = np.array([low for low, _ in self._rows])
        model.row_upper_ = np.array([high for _, high in self._rows])
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = np.array(self._starts, np.int32)
        model.a_matrix_.index_ = np.array(self._index, np.int32)
        model.a_matrix_.value_ = np.array(self._factor)
        kind = highspy.HighsVarType
        model.integrality_ = [kind.kInteger if w else kind.kContinuous for w in self._whole]
        return model
