"""A drawing as SVG, with classes and presentation attributes only: the content policy of the
pages refuses every style attribute, and a standalone file may bring a style sheet of its own."""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from html import escape

from markupsafe import Markup

from server.exports.drawing import (
    Drawing,
    Fill,
    Item,
    Letter,
    Paint,
    Path,
    Pen,
    Point,
    Round,
    Sign,
    Text,
    Tone,
    Wash,
)

PEN_CLASS = {
    Pen.WIDE: "lw",
    Pen.HEAVY: "lx",
    Pen.NARROW: "ln",
    Pen.THIN_INK: "li",
    Pen.JOINT: "lj",
    Pen.HIDDEN: "lh",
    Pen.AXIS: "lc",
    Pen.PHANTOM: "lp",
    Pen.ROUGH: "lrough",
    Pen.EMPTY: "lempty",
    Pen.HAND: "lb",
    Pen.HAND_NARROW: "lbn",
    Pen.FAULT: "lr",
    Pen.FAULT_NARROW: "lrn",
    Pen.CUT: "cutl",
    Pen.CHALK: "lchalk",
    Pen.GRAIN: "gr",
}
TONE_CLASS = {
    Tone.PAPER: "pf",
    Tone.PAPER_2: "pf2",
    Tone.LIT: "litf",
    Tone.HATCH: "hatch",
    Tone.OFFCUT: "hatch2",
    Tone.ARROW: "ah",
    Tone.ARROW_HAND: "ahb",
    Tone.ARROW_INK: "ahx",
    Tone.ARROW_FAULT: "ahr",
    Tone.HIT: "hit",
    Tone.SHADOW: "shade",
}
LETTER_CLASS = {
    Letter.SMALL: "dt0",
    Letter.PLAIN: "dt",
    Letter.NOTE: "dt1",
    Letter.LARGE: "dt2",
    Letter.FIGURE: "dt3",
    Letter.NUMBER: "num",
    Letter.NUMBER_TO_COME: "num to",
    Letter.HAND: "dtb",
    Letter.HAND_NOTE: "dtb2",
    Letter.FAULT: "dtr",
}


def number(value: float) -> str:
    """A coordinate to a tenth of a unit, as short as it can be written."""
    text = f"{value:.1f}"
    if text.endswith(".0"):
        text = text[:-2]
    return "0" if text == "-0" else text


def outline(points: Sequence[Point], closed: bool) -> str:
    """The `d` of a polyline in relative steps of whole tenths, which is short and never drifts."""
    last_x, last_y = round(points[0][0] * 10), round(points[0][1] * 10)
    steps = [f"M{_tenths(last_x)} {_tenths(last_y)}l"]
    for x, y in points[1:]:
        at_x, at_y = round(x * 10), round(y * 10)
        if at_x == last_x and at_y == last_y:
            continue
        across, down = _tenths(at_x - last_x), _tenths(at_y - last_y)
        steps.append(f"{across}{down}" if down[0] == "-" else f"{across} {down}")
        last_x, last_y = at_x, at_y
    if len(steps) == 1:
        steps.append("0 0")
    return steps[0] + " ".join(steps[1:]) + ("z" if closed else "")


@lru_cache(maxsize=20_000)
def _tenths(count: int) -> str:
    whole, rest = divmod(abs(count), 10)
    text = f"{whole or ''}.{rest}" if rest else str(whole)
    return f"-{text}" if count < 0 else text


def to_svg(drawing: Drawing, classes: str = "", under: str = "") -> Markup:
    """The drawing for a page; lettering and lines take their look from the style sheets.

    `under` is a `fragment` that lies below it.
    """
    body = "".join([str(under), *(_item(item) for item in drawing.items)])
    return Markup(
        f'<svg class="dwg {escape(classes)}" viewBox="0 0 {number(drawing.width)} '
        f'{number(drawing.height)}" role="img" aria-label="{escape(drawing.title)}">{body}</svg>'
    )


def fragment(items: Iterable[Item]) -> Markup:
    """Items without their sheet, to be put into one."""
    return Markup("".join(_item(item) for item in items))


def _item(item: Item) -> str:
    match item:
        case Path():
            return _path(item)
        case Text():
            return _text(item)
        case Round():
            return _round(item)
        case Sign():
            return _sign(item)


@lru_cache(maxsize=4096)
def _attributes(pen: Pen, fill: Fill | None, line: str | None) -> str:
    classes = [PEN_CLASS[pen]] if pen is not Pen.NONE else []
    rest = ""
    match fill:
        case Tone():
            classes.append(TONE_CLASS[fill])
        case Paint():
            rest += f' fill="{fill.colour}"'
            if fill.opacity < 1:
                rest += f' fill-opacity="{fill.opacity:.3g}"'
        case Wash():
            rest += f' fill="url(#{escape(fill.name)})"'
        case None:
            if pen is Pen.NONE:
                rest += ' fill="none"'
    if line is not None:
        rest += f' stroke="{line}"'
    named = f' class="{" ".join(classes)}"' if classes else ""
    return named + rest


def _path(path: Path) -> str:
    d = outline(path.points, path.closed) + "".join(outline(hole, True) for hole in path.holes)
    rest = _attributes(path.pen, path.fill, path.line)
    if path.holes:
        rest += ' fill-rule="evenodd"'
    if path.crisp:
        rest += ' shape-rendering="crispEdges"'
    rest += "".join(f' data-{escape(key)}="{escape(value)}"' for key, value in path.data)
    return f'<path{rest} d="{d}"/>'


def _round(item: Round) -> str:
    (x, y), rest = item.centre, _attributes(item.pen, item.fill, item.line)
    if abs(item.rx - item.ry) < 1e-9:
        return f'<circle{rest} cx="{number(x)}" cy="{number(y)}" r="{number(item.rx)}"/>'
    return (
        f'<ellipse{rest} cx="{number(x)}" cy="{number(y)}" '
        f'rx="{number(item.rx)}" ry="{number(item.ry)}"/>'
    )


def _text(item: Text) -> str:
    x, y = number(item.at[0]), number(item.at[1])
    anchor = "" if item.anchor == "start" else f' text-anchor="{item.anchor}"'
    turn = f' transform="rotate(-90 {x} {y})"' if item.turned else ""
    return (
        f'<text class="{LETTER_CLASS[item.letter]}" x="{x}" y="{y}"{anchor}{turn}>'
        f"{escape(item.words)}</text>"
    )


def _sign(item: Sign) -> str:
    x, y = item.at
    red = ' class="sign-fault"' if item.fault else ""
    return (
        f'<use{red} href="#i-{escape(item.name)}" x="{number(x)}" y="{number(y)}" '
        f'width="{number(item.size)}" height="{number(item.size)}"/>'
    )
