"""Pieces to export: the contract's goblet, one with every kind of ring, and random small ones."""

import copy
from typing import Any

from hypothesis import strategies as st

from server.craft.document import parse_piece
from server.craft.planned import Planned, work_out

Document = dict[str, Any]

GOBLET: Document = {
    "format": "ringwright.piece",
    "version": 1,
    "name": "Orchard goblet",
    "display_units": "in",
    "allowance": {"outside_mm": 3, "inside_mm": 3, "flatten_mm": 0.6},
    "parts": [
        {
            "id": "bowl",
            "name": "Bowl",
            "kind": "ringed",
            "outside": {
                "points": [
                    {"r_mm": 20, "z_mm": 0, "corner": True},
                    {"r_mm": 45, "z_mm": 60},
                    {"r_mm": 50, "z_mm": 95, "corner": True},
                ]
            },
            "inside": {
                "points": [
                    {"r_mm": 0, "z_mm": 36, "corner": True},
                    {"r_mm": 24, "z_mm": 36, "corner": True},
                    {"r_mm": 37, "z_mm": 60},
                    {"r_mm": 44, "z_mm": 95, "corner": True},
                ]
            },
            "rings": [
                {"id": "b1", "thickness_mm": 19, "woods": ["sapele"]},
                {"id": "b2", "thickness_mm": 19, "phase": 0.5, "woods": ["ash-white"]},
                {
                    "id": "b3",
                    "thickness_mm": 19,
                    "woods": ["sapele", "ash-white"],
                    "spacer": {"thickness_mm": 1.5, "wood": "holly"},
                },
                {"id": "b4", "thickness_mm": 19, "phase": 0.5, "woods": ["sapele"]},
                {"id": "b5", "thickness_mm": 19, "woods": ["ash-white"]},
            ],
        },
        {
            "id": "stem",
            "name": "Stem",
            "kind": "spindle",
            "wood": "ash-white",
            "outside": {
                "points": [
                    {"r_mm": 9, "z_mm": 0, "corner": True},
                    {"r_mm": 9, "z_mm": 90, "corner": True},
                ]
            },
        },
    ],
    "joints": [
        {
            "id": "j1",
            "tenon": {"part": "stem", "end": "top"},
            "mortise": {"part": "bowl", "end": "bottom"},
            "diameter_mm": 12.7,
            "depth_mm": 20,
        }
    ],
    "stacks": [
        {
            "id": "low",
            "name": "Bowl, lower",
            "part": "bowl",
            "rings": ["b1", "b2", "b3"],
            "faceplate": "F1",
            "waste_block": {"diameter_mm": 70, "thickness_mm": 25},
            "glue": "pva-yellow",
        }
    ],
}

RINGS_OF_EVERY_KIND: list[Document] = [
    {"id": "pie", "thickness_mm": 12, "segments": 8, "spacer": {"thickness_mm": 2}},
    {
        "id": "plugged",
        "thickness_mm": 10,
        "segments": 8,
        "plug": {"diameter_mm": 30, "wood": "walnut-black"},
    },
    {"id": "lid", "thickness_mm": 3, "kind": "veneer", "woods": ["cherry-black"]},
    {"id": "spaced", "thickness_mm": 12, "phase": 0.3, "spacer": {"thickness_mm": 1.5}},
    {"id": "wedges", "thickness_mm": 10, "segments": 16, "gap": {"angle_deg": 6}},
    {"id": "slots", "thickness_mm": 10, "segments": 16, "phase": 0.5, "gap": {"width_mm": 3}},
    {"id": "uneven", "thickness_mm": 10, "segments": 8, "shares": [3, 1, 3, 1, 3, 1, 3, 1]},
    {"id": "staves", "thickness_mm": 40, "kind": "stave", "lean_deg": 4, "segments": 12},
    {"id": "rim", "thickness_mm": 6, "segments": 24, "woods": ["sapele", "maple-sugar"]},
]


def goblet() -> Document:
    """The example of the contract."""
    return copy.deepcopy(GOBLET)


def vessel(rings: list[Document], **more: Any) -> Document:
    """A widening vessel, 6 mm thick in radius, that stands on a floor in its second ring."""
    height = sum(ring["thickness_mm"] for ring in rings)
    floor = rings[0]["thickness_mm"] + rings[1]["thickness_mm"] * 0.7
    return {
        "format": "ringwright.piece",
        "version": 1,
        "name": "Vessel",
        "allowance": {"outside_mm": 2, "inside_mm": 2},
        "parts": [
            {
                "id": "body",
                "kind": "ringed",
                "outside": {
                    "points": [
                        {"r_mm": 40, "z_mm": 0, "corner": True},
                        {"r_mm": 58, "z_mm": height * 0.6},
                        {"r_mm": 60, "z_mm": height, "corner": True},
                    ]
                },
                "inside": {
                    "points": [
                        {"r_mm": 0, "z_mm": floor, "corner": True},
                        {"r_mm": 30, "z_mm": floor, "corner": True},
                        {"r_mm": 52, "z_mm": height * 0.6},
                        {"r_mm": 54, "z_mm": height, "corner": True},
                    ]
                },
                "rings": copy.deepcopy(rings),
            }
        ],
        **more,
    }


def every_kind() -> Document:
    """One ring of every kind."""
    return vessel(RINGS_OF_EVERY_KIND)


def worked(document: Document) -> Planned:
    """The document worked out."""
    return work_out(parse_piece(document))


_WOODS = st.lists(
    st.sampled_from(["sapele", "ash-white", "maple-sugar", "walnut-black"]), min_size=1, max_size=3
)
_JOINTS = st.one_of(
    st.just({}),
    st.builds(lambda t: {"spacer": {"thickness_mm": t}}, st.floats(0.2, 4)),
    st.builds(lambda a: {"gap": {"angle_deg": a}}, st.floats(0.2, 8)),
    st.builds(lambda w: {"gap": {"width_mm": w}}, st.floats(0.2, 4)),
)


@st.composite
def _rings(draw: st.DrawFn) -> Document:
    kind = draw(st.sampled_from(["flat", "flat", "flat", "stave", "disc", "veneer"]))
    ring: Document = {
        "thickness_mm": draw(st.floats(2, 30)),
        "kind": kind,
        "segments": draw(st.integers(3, 14)),
        "phase": draw(st.floats(0, 0.99)),
        "woods": draw(_WOODS),
        **draw(_JOINTS),
    }
    if kind == "stave":
        ring["lean_deg"] = draw(st.floats(-12, 12))
    if kind == "flat" and draw(st.booleans()):
        ring["shares"] = draw(
            st.lists(st.floats(1, 2.5), min_size=ring["segments"], max_size=ring["segments"])
        )
    if kind == "flat" and draw(st.integers(0, 3)) == 0:
        ring["plug"] = {"diameter_mm": draw(st.floats(4, 50))}
    return ring


@st.composite
def small_pieces(draw: st.DrawFn) -> Document:
    """A vessel of two to five rings of any kind."""
    rings = draw(st.lists(_rings(), min_size=2, max_size=5))
    return vessel([{**ring, "id": f"r{i}"} for i, ring in enumerate(rings)])


NASTY_NAMES = [
    "Schale 😀🪵 für Ömi",
    "He said \"cut\" & <b>ran</b> 'off'",
    "two\nlines\r\nand\ttabs",
    "x" * 10_000,
    "קערת אגוז",
    "\u202eevil\u2066 name\u2069",
    '=HYPERLINK("http://example.org")',
    "../../etc/passwd",
    "CON",
    "bell\x07null\x00escape\x1b[31m",
    "%%u ^J \\P {\\fArial;x}",
    "#let x = 1; $ * _ @ref",
    "]]>--><![CDATA[",
    ".",
]
"""Names that break a careless writer of some format."""
