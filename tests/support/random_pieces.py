"""Pieces of every kind for property tests: valid documents, good geometry or not."""

from typing import Any

from hypothesis import strategies as st
from piece_makers import piece, stack

WOODS = ("maple-sugar", "walnut-black", "holly", "sapele")


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    """Lengths in mm, often round ones, sometimes at the very limits."""
    return st.one_of(
        st.floats(low, high), st.integers(int(low) + 1, int(high)).map(float), st.just(low)
    )


@st.composite
def profiles(draw: st.DrawFn, most: float = 120.0) -> dict[str, Any]:
    """A curve that rises, with shoulders and now and then a step back."""
    count = draw(st.integers(2, 6))
    heights = sorted(draw(st.lists(lengths(0.0, most), min_size=count, max_size=count)))
    radii = draw(st.lists(lengths(0.0, most), min_size=count, max_size=count))
    corners = draw(st.lists(st.booleans(), min_size=count, max_size=count))
    points = [
        {"r_mm": r, "z_mm": z, "corner": corner}
        for r, z, corner in zip(radii, heights, corners, strict=True)
    ]
    return {"points": points}


@st.composite
def rings(draw: st.DrawFn, name: str) -> dict[str, Any]:
    """A ring of any kind with anything that it may have."""
    segments = draw(st.sampled_from([3, 4, 6, 8, 12, 16, 36, 72]))
    ring: dict[str, Any] = {
        "id": name,
        "thickness_mm": draw(lengths(0.1, 40.0)),
        "segments": segments,
        "kind": draw(st.sampled_from(["flat", "flat", "flat", "stave", "disc", "veneer"])),
        "phase": draw(st.sampled_from([0.0, 0.25, 0.5, 0.999])),
        "woods": draw(st.lists(st.sampled_from(WOODS), min_size=1, max_size=4)),
        "lean_deg": draw(st.sampled_from([0.0, 10.0, -25.0, 80.0, 90.0])),
    }
    between = draw(st.sampled_from(["none", "none", "spacer", "angle", "width"]))
    if between == "spacer":
        ring["spacer"] = {"thickness_mm": draw(lengths(0.1, 50.0)), "wood": "holly"}
    elif between == "angle":
        ring["gap"] = {"angle_deg": draw(st.floats(0.1, 130.0))}
    elif between == "width":
        ring["gap"] = {"width_mm": draw(lengths(0.1, 60.0))}
    if draw(st.booleans()):
        sizes = st.floats(0.1, 5.0)
        ring["shares"] = draw(st.lists(sizes, min_size=segments, max_size=segments))
    if draw(st.integers(0, 3)) == 0:
        ring["plug"] = {"diameter_mm": draw(lengths(0.1, 80.0)), "wood": "sapele"}
    if draw(st.integers(0, 3)) == 0:
        ring["board_width_mm"] = draw(lengths(0.1, 80.0))
        ring["moisture_percent"] = draw(st.floats(0, 40))
    return ring


@st.composite
def pieces(draw: st.DrawFn) -> dict[str, Any]:
    """A ringed part, sometimes on a stem, its rings on stacks in any order."""
    count = draw(st.integers(0, 5))
    body: dict[str, Any] = {
        "id": "body",
        "kind": "ringed",
        "outside": draw(profiles()),
        "rings": [draw(rings(f"r{number}")) for number in range(count)],
    }
    if draw(st.booleans()):
        body["inside"] = draw(profiles())
    if draw(st.integers(0, 3)) == 0:
        body["floor_mm"] = draw(lengths(0.0, 60.0))
    parts = [body]
    more: dict[str, Any] = {"allowance": {"outside_mm": 3, "inside_mm": 3, "flatten_mm": 0.5}}
    if draw(st.booleans()):
        kind = draw(st.sampled_from(["spindle", "disc"]))
        parts.append({"id": "stem", "kind": kind, "outside": draw(profiles())})
        tenon, mortise = draw(st.sampled_from([("stem", "body"), ("body", "stem")]))
        end, other = draw(st.sampled_from([("top", "bottom"), ("bottom", "top")]))
        more["joints"] = [
            {
                "id": "j",
                "tenon": {"part": tenon, "end": end},
                "mortise": {"part": mortise, "end": other},
                "diameter_mm": draw(lengths(0.1, 60.0)),
                "depth_mm": draw(lengths(0.1, 60.0)),
            }
        ]
    glued = draw(st.permutations([f"r{number}" for number in range(count)]))
    glued = glued[: draw(st.integers(0, count))]
    more["stacks"] = [
        stack("s", "body", list(glued), mounted=draw(st.sampled_from(["top", "bottom"])))
    ]
    return piece(parts, **more)
