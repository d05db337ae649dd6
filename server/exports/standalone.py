"""A drawing as an SVG that stands by itself: black on white, with its own style sheet.

Woods become light greys of their own brightness, so that a print shows their pattern and spares
ink; washes, shadows and signs, which belong to the pages, are left out.
"""

from collections.abc import Iterator
from dataclasses import replace
from html import escape

from server.exports.drawing import Drawing, Item, Paint, Path, Pen, Round, Sign, Tone, Wash
from server.exports.svg import fragment, number
from server.exports.words import one_line

_STYLE = (
    "text{font-family:National Park,sans-serif;fill:#000}"
    ".lw,.lx,.ln,.li,.lj,.lh,.lc,.lp,.lrough,.lempty,.lb,.lbn,.lr,.lrn,.cutl,.gr,.lchalk"
    "{stroke:#000}"
    ".lw,.lx,.ln,.li,.lh,.lc,.lp,.lrough,.lempty,.lb,.lbn,.lr,.lrn,.cutl,.gr{fill:none}"
    ".lw,.lr{stroke-width:2.2}.lx,.lb{stroke-width:3.4}.ln,.li,.lbn,.lrn{stroke-width:1}"
    ".lj,.gr,.lchalk{stroke-width:.7}.cutl{stroke-width:1.6}"
    ".lh{stroke-width:1;stroke-dasharray:7 4}.lc{stroke-width:1;stroke-dasharray:22 4 3 4}"
    ".lp{stroke-width:1.2;stroke-dasharray:16 4 3 4 3 4}"
    ".lrough{stroke-width:.8;stroke-dasharray:16 4 3 4 3 4}"
    ".lempty{stroke-width:1;stroke-dasharray:5 3}"
    ".ah,.ahb,.ahx,.ahr{fill:#000}.pf,.pf2,.litf{fill:#fff}"
    ".hatch,.hatch2{fill:#ddd;stroke:#000;stroke-width:1}"
    ".dt,.dtr{font-size:19px}.dt0{font-size:15px}.dt1{font-size:16px}.dt2,.dtb{font-size:24px}"
    ".dt3{font-size:30px}.dtb2{font-size:20px}.num{font-size:32px}"
)

_PALEST, _DARKEST = 255, 150
_LEFT_OUT = frozenset({Tone.HIT, Tone.SHADOW})


def standalone_svg(drawing: Drawing) -> str:
    """The drawing in its own units, as many CSS pixels large."""
    width, height = number(drawing.width), number(drawing.height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}"><title>{escape(one_line(drawing.title))}</title>'
        f"<style>{_STYLE}</style>{fragment(_printed(drawing.items))}</svg>"
    )


def _printed(items: list[Item]) -> Iterator[Item]:
    for item in items:
        if isinstance(item, Sign):
            continue
        if isinstance(item, Path | Round):
            fill = item.fill
            if isinstance(fill, Wash) or fill in _LEFT_OUT:
                if item.pen is Pen.NONE:
                    continue
                fill = None
            elif isinstance(fill, Paint):
                fill = Paint(grey(fill.colour), fill.opacity)
            yield replace(item, fill=fill, line="#000" if item.line else None)
        else:
            yield replace(item, words=one_line(item.words))


def grey(colour: str) -> str:
    """The light grey that stands for `#rrggbb` (brightness by Rec. 709)."""
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    bright = (0.2126 * red + 0.7152 * green + 0.0722 * blue) / 255
    level = round(_DARKEST + (_PALEST - _DARKEST) * bright)
    return f"#{level:02x}{level:02x}{level:02x}"
