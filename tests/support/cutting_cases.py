"""Cutting requests for tests: the kept instances and made ones."""

import json
import math
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

INSTANCES = Path(__file__).parents[1] / "data" / "cutting"
NAMES = sorted(path.stem for path in INSTANCES.glob("*.json"))


def instance(name: str, time_limit_s: float = 5) -> dict[str, Any]:
    """One kept instance as plain JSON values."""
    request: dict[str, Any] = json.loads((INSTANCES / f"{name}.json").read_text())
    return request | {"time_limit_s": time_limit_s}


def strip(name: str, **more: Any) -> dict[str, Any]:
    """A STRIP of twelve-segment maple, 42 × 22 × 19 mm, where nothing else is said."""
    return {
        "id": name,
        "wood": "maple",
        "thickness_mm": 19.0,
        "width_mm": 22.0,
        "mitre_deg": 15.0,
        "outer_edge_mm": 42.0,
        "count": 12,
    } | more


def board(name: str, **more: Any) -> dict[str, Any]:
    """A clear maple board, 1200 × 120 × 21 mm, where nothing else is said."""
    return {
        "id": name,
        "wood": "maple",
        "thickness_mm": 21.0,
        "width_mm": 120.0,
        "length_mm": 1200.0,
        "count": 1,
        "price_per_board_foot": 6.5,
        "offcut": False,
        "defects": [],
    } | more


def request(strips: list[Any], rack: list[Any], **more: Any) -> dict[str, Any]:
    """A whole request that may take one second."""
    return {"strips": strips, "rack": rack, "saw": {}, "time_limit_s": 1} | more


tenths = st.integers(0, 10).map(lambda n: n / 10)


@st.composite
def made_strip(draw: st.DrawFn, name: str) -> dict[str, Any]:
    segments = draw(st.sampled_from([6, 8, 12, 16, 24]))
    theta = math.pi / segments
    width = draw(st.integers(8, 60)) + draw(tenths)
    inner = draw(st.integers(0, 60)) + draw(tenths)
    return strip(
        name,
        wood=draw(st.sampled_from(["maple", "maple", "walnut"])),
        thickness_mm=draw(st.sampled_from([12.0, 18.0, 19.05])),
        width_mm=width,
        mitre_deg=180 / segments,
        outer_edge_mm=inner + 2 * width * math.tan(theta) + 0.5,
        count=draw(st.integers(1, 30)),
    )


@st.composite
def made_board(draw: st.DrawFn, name: str) -> dict[str, Any]:
    length, width = draw(st.integers(120, 2000)), draw(st.integers(15, 220))
    defect = st.fixed_dictionaries(
        {
            "x_mm": st.integers(0, length),
            "y_mm": st.integers(0, width),
            "length_mm": st.integers(1, 200),
            "width_mm": st.integers(1, 80),
        }
    )
    more: dict[str, Any] = {}
    if draw(st.booleans()):
        more["end_trim_mm"] = draw(st.sampled_from([0.0, 3.0, 10.0, 40.0]))
    return board(
        name,
        wood=draw(st.sampled_from(["maple", "maple", "walnut"])),
        thickness_mm=draw(st.sampled_from([13.5, 18.0, 21.0, 25.4])),
        width_mm=width + draw(tenths),
        length_mm=length + draw(tenths),
        count=draw(st.integers(1, 3)),
        price_per_board_foot=draw(st.sampled_from([0.0, 4.0, 6.5, 21.0])),
        defects=draw(st.lists(defect, max_size=3)),
        **more,
    )


@st.composite
def made_requests(draw: st.DrawFn) -> dict[str, Any]:
    """Up to six STRIPs and five boards of two woods, with all sorts of saws."""
    strips = [draw(made_strip(f"s{n}")) for n in range(draw(st.integers(1, 6)))]
    rack = [draw(made_board(f"b{n}")) for n in range(draw(st.integers(0, 5)))]
    saw = {
        "blade_kerf_mm": draw(st.sampled_from([0.0, 1.8, 2.5, 3.2])),
        "rip_kerf_mm": draw(st.sampled_from([0.0, 1.8, 3.0])),
        "cross_kerf_mm": draw(st.sampled_from([0.0, 2.2, 3.0])),
        "flip": draw(st.booleans()),
        "end_trim_mm": draw(st.sampled_from([0.0, 5.0, 10.0])),
        "plane_mm": draw(st.sampled_from([0.0, 1.5])),
        "shortest_strip_mm": draw(st.sampled_from([0.0, 150.0])),
        "hold_tail_mm": draw(st.sampled_from([0.0, 75.0])),
    }
    return request(strips, rack, saw=saw, time_limit_s=0.1)
