"""Where each strip is laid on which board so that the least wood is used."""

from server.craft.saw.layout.answer import (
    Lacking,
    LaidBoard,
    LaidStrip,
    Layout,
    Offcut,
    Pieces,
)
from server.craft.saw.layout.solve import cut_layout

__all__ = ["Lacking", "LaidBoard", "LaidStrip", "Layout", "Offcut", "Pieces", "cut_layout"]
