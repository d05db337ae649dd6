"""The tally: every segment to cut as a small segment, in fives and tens, each with its number."""

from dataclasses import dataclass

from server.exports.drawing import Drawing, Paint, Path, Pen, Point

_WIDTH = 260.0
_LABEL = 36.0
_GAP_SHARE = 0.2
_FIVE_GAP = 10.0
_LEAST_HEIGHT = 16.0


@dataclass(frozen=True, slots=True)
class TallyFigure:
    """How many are cut of how many; `lean` is how far a side leans, as a share of the width."""

    cut: int
    wanted: int
    needed: int
    lean: float
    colour: str


def segment_tally(figure: TallyFigure) -> Drawing:
    """Rows of ten, of twenty where there are many, of fifty where there are very many."""
    total = max(figure.wanted, figure.cut, 1)
    a_row = 10 if total <= 40 else 20 if total <= 120 else 50
    rows = -(-total // a_row)
    pitch = (_WIDTH - _LABEL - _FIVE_GAP * (a_row // 5 - 1)) / a_row
    tall = max(_LEAST_HEIGHT, min(32.0, pitch * 1.5))
    step = tall + 12.0
    drawing = Drawing(_WIDTH, rows * step - 4.0, f"{figure.cut} of {figure.wanted} cut")
    for number in range(total):
        row, place = divmod(number, a_row)
        x = place * pitch + place // 5 * _FIVE_GAP + 2.0
        y = row * step + 3.0
        drawing.add(_glyph(figure, number, (x, y), pitch * (1 - _GAP_SHARE), tall))
    for row in range(rows):
        end = min((row + 1) * a_row, total)
        drawing.text((_WIDTH - 1.0, row * step + 3.0 + tall / 2 + 6.5), str(end), anchor="end")
    return drawing


def _glyph(figure: TallyFigure, number: int, at: Point, wide: float, tall: float) -> Path:
    x, y = at
    lean = min(figure.lean, 0.42) * wide
    state = "cut" if number < figure.cut else "spare" if number >= figure.needed else "to-come"
    points = ((x, y), (x + wide, y), (x + wide - lean, y + tall), (x + lean, y + tall))
    data = (("n", str(number + 1)), ("state", state))
    return Path(points, Pen.WIDE, Paint(figure.colour), True, data=data)
