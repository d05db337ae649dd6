"""Every file that a piece can leave the house as: its name, its media type, and who writes it."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any
from urllib.parse import quote

from server.craft.document.piece import Piece
from server.craft.floor.state import Floor
from server.craft.plan import plan_of
from server.craft.planned import Planned, work_out
from server.craft.results import Plan
from server.exports.archive import pretty
from server.exports.csv_tables import cuts_csv, rings_csv
from server.exports.dxf import profile_dxf
from server.exports.glb import piece_glb
from server.exports.ics import gluing_ics
from server.exports.labels import labels_pdf, segment_labels
from server.exports.profile_svg import profile_svg
from server.exports.sheets.pdf import sheets_pdf
from server.exports.stl import piece_stl
from server.exports.templates.pdf import templates_pdf
from server.exports.typeset.paper import Paper, paper_for
from server.exports.words import file_stem, one_line


@dataclass(frozen=True)
class Order:
    """Which piece, and how it is wanted. `document` is what was sent, `piece` what it says.

    `start` is when gluing begins (else `now`). Of a kept piece, `piece_id`, `revision`, `floor` and
    the `address` of its page are known.
    """

    document: Mapping[str, Any]
    piece: Piece
    now: datetime
    paper: Paper | None = None
    start: datetime | None = None
    piece_id: str | None = None
    revision: int = 0
    floor: Floor | None = None
    address: str | None = None

    @cached_property
    def planned(self) -> Planned:
        """The piece worked out."""
        return work_out(self.piece)

    @cached_property
    def plan(self) -> Plan:
        """The plan."""
        return plan_of(self.planned)

    @property
    def size(self) -> Paper:
        """The paper to print on."""
        return paper_for(self.piece.display_units, self.paper)


@dataclass(frozen=True, slots=True)
class FileKind:
    """A file: its media type, what its name adds to the piece's, and its writer."""

    media_type: str
    suffix: str
    write: Callable[[Order], bytes]


def _gluing(order: Order) -> bytes:
    return gluing_ics(
        order.planned,
        order.now,
        start=order.start,
        piece=order.piece_id,
        revision=order.revision,
        floor=order.floor,
    )


_CSV = "text/csv; charset=utf-8; header=present"

FILES: Mapping[str, FileKind] = {
    "piece.glb": FileKind("model/gltf-binary", ".glb", lambda o: piece_glb(o.planned)),
    "piece.stl": FileKind("model/stl", ".stl", lambda o: piece_stl(o.planned)),
    "profile.svg": FileKind(
        "image/svg+xml", "-profile.svg", lambda o: profile_svg(o.planned).encode()
    ),
    "profile.dxf": FileKind("image/vnd.dxf", "-profile.dxf", lambda o: profile_dxf(o.planned)),
    "templates.pdf": FileKind(
        "application/pdf", "-templates.pdf", lambda o: templates_pdf(o.planned, o.size, o.now)
    ),
    "sheets.pdf": FileKind(
        "application/pdf", "-sheets.pdf", lambda o: sheets_pdf(o.planned, o.plan, o.size, o.now)
    ),
    "labels.pdf": FileKind(
        "application/pdf",
        "-labels.pdf",
        lambda o: labels_pdf(segment_labels(o.planned, o.address), o.size, o.now),
    ),
    "rings.csv": FileKind(
        _CSV,
        "-rings.csv",
        lambda o: rings_csv(o.plan).encode(),
    ),
    "cuts.csv": FileKind(_CSV, "-cuts.csv", lambda o: cuts_csv(o.plan).encode()),
    "gluing.ics": FileKind("text/calendar; charset=utf-8", "-gluing.ics", _gluing),
    "piece.json": FileKind("application/json", ".json", lambda o: pretty(o.document)),
}


def disposition(piece_name: str, suffix: str) -> str:
    """Content-Disposition (RFC 6266): a plain name for every system, the true one beside it."""
    plain = file_stem(piece_name) + suffix
    true = re.sub(r"\.\.+", ".", one_line(piece_name, 60).translate(_NOT_IN_NAMES)).strip(". -")
    header = f'attachment; filename="{plain}"'
    if true and true + suffix != plain:
        header += f"; filename*=UTF-8''{quote(true + suffix, safe='')}"
    return header


_NOT_IN_NAMES = dict.fromkeys(map(ord, '/\\:*?"<>|%'), "-")
