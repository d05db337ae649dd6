"""typst, called so that a sheet is the same everywhere: own fonts, no system, no network.

Everything variable goes in as one JSON input and is read as data, never as markup: nothing that
somebody typed can become a command.
"""

import json
from datetime import UTC, datetime
from functools import cache
from importlib.resources import as_file, files
from typing import Any

from server.craft.errors import CraftError

FONTS = ("National Park", "Libertinus Serif", "DejaVu Sans Mono")
"""The project's own lettering, then what typst brings along for signs that it lacks."""


def typeset(source: str, data: Any, made_at: datetime | None = None) -> bytes:
    """The PDF of a typst source that reads `data` from its input of that name.

    `made_at` is written into the file as its date. CraftError where a sheet cannot be set.
    """
    # Loaded when a sheet is asked for: it is the largest library here.
    import typst

    try:
        pdf: bytes = typst.compile(
            source.encode(),
            format="pdf",
            font_paths=_fonts(),
            sys_inputs={"data": json.dumps(data)},
            timestamp=_seconds(made_at),
        )
    except typst.TypstError as error:
        raise CraftError("This sheet cannot be set.") from error
    return pdf


@cache
def _fonts() -> Any:
    import typst

    with as_file(files("server.exports.typeset") / "fonts") as folder:
        return typst.Fonts(include_system_fonts=False, font_paths=[str(folder)])


def _seconds(moment: datetime | None) -> int:
    return int((moment or datetime(2000, 1, 1, tzinfo=UTC)).timestamp())
