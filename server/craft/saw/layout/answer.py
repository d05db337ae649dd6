"""The cutting layout as it is handed out: frozen values with the contract's field names."""

from dataclasses import asdict, dataclass
from typing import Any, Literal

Status = Literal["proven", "bounded", "short"]


@dataclass(frozen=True, slots=True)
class Pieces:
    """How many segments of one STRIP come from a laid strip."""

    strip: str
    count: int


@dataclass(frozen=True, slots=True)
class LaidStrip:
    """A strip on its board, x along the grain from the board's end, y from its edge, in mm."""

    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float
    pieces: tuple[Pieces, ...]


@dataclass(frozen=True, slots=True)
class Offcut:
    """A rest worth keeping, in mm, placed like a strip; it may hold untrimmed ends and defects."""

    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class LaidBoard:
    """One opened board; `copy` counts from 1 among the boards of the same id."""

    id: str
    copy: int
    strips: tuple[LaidStrip, ...]
    offcuts: tuple[Offcut, ...]


@dataclass(frozen=True, slots=True)
class Lacking:
    """Segments of one STRIP that the rack cannot give, and the lumber still to be found."""

    strip: str
    wood: str
    thickness_mm: float
    pieces: int
    board_feet: float


@dataclass(frozen=True, slots=True)
class Layout:
    """A whole answer. `cost` and `bound` in the rack's price unit; `bound` ≤ the best possible."""

    status: Status
    cost: float
    bound: float
    boards: tuple[LaidBoard, ...]
    short: tuple[Lacking, ...]

    def as_json(self) -> dict[str, Any]:
        """The same as plain JSON values."""
        return asdict(self)
