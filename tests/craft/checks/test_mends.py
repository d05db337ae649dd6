"""A mend makes its finding go, and nothing else worse."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from piece_makers import beaker, curve, piece, planned, ring, stack

from server.craft.errors import CraftError
from server.craft.findings import Check, Severity
from server.craft.mends import apply_mend

Document = dict[str, Any]
RINGS = ("f0", "f1", "f2")
_WORSE = {Severity.NOTE: 0, Severity.WARN: 1, Severity.STOP: 2}


def weight(checks: tuple[Check, ...]) -> dict[tuple[str, str | None], int]:
    """The severity of each finding by its code and ring."""
    return {(check.code, check.ring): _WORSE[check.severity] for check in checks}


def goblet(
    depth_mm: float, mounted: str, phase: float, tail_mm: float, order: list[int]
) -> Document:
    """A foot of three rings with a stem in it, with as many faults as the numbers make."""
    foot = {
        "id": "foot",
        "kind": "ringed",
        "outside": curve((45, 0), (40, 18), (25, 36)),
        "rings": [
            ring("f0", 12.0),
            ring("f1", 12.0, phase=phase),
            ring("f2", 12.0),
        ],
    }
    spindle = {"id": "stem", "kind": "spindle", "outside": curve((14, 0), (14, 60))}
    joint = {
        "id": "j",
        "tenon": {"part": "stem", "end": "bottom"},
        "mortise": {"part": "foot", "end": "top"},
        "diameter_mm": 16,
        "depth_mm": depth_mm,
    }
    glued = [RINGS[number] for number in order]
    return piece(
        [foot, spindle],
        joints=[joint],
        stacks=[stack("s", "foot", glued, mounted=mounted)],
        saw={"hold_tail_mm": tail_mm},
    )


@settings(max_examples=60, deadline=None)
@given(
    depth_mm=st.sampled_from([10.0, 29.0, 30.0, 45.0]),
    mounted=st.sampled_from(["bottom", "top"]),
    phase=st.sampled_from([0.0, 0.1, 0.5]),
    tail_mm=st.sampled_from([0.0, 90.0]),
    order=st.permutations([0, 1, 2]),
)
def test_each_mend_ends_its_finding_and_worsens_none(
    depth_mm: float, mounted: str, phase: float, tail_mm: float, order: list[int]
) -> None:
    document = goblet(depth_mm, mounted, phase, tail_mm, order)
    before = planned(document).checks

    for check in before:
        if check.mend is None:
            continue
        after = planned(apply_mend(document, check.mend)).checks
        assert (check.code, check.ring) not in weight(after), check
        worsened = {
            key: severity
            for key, severity in weight(after).items()
            # A ring that the mend added is new to the drawing and may have findings of its own.
            if severity > weight(before).get(key, -1) and key[1] in (None, *RINGS)
        }
        assert not worsened, (check.code, worsened)


def test_a_spacer_that_is_too_thick_is_left_out() -> None:
    document = beaker()
    document["parts"][0]["rings"][1]["spacer"] = {"thickness_mm": 30}
    [check] = [c for c in planned(document).checks if c.code == "spacer-too-thick"]

    assert check.mend is not None
    mended = apply_mend(document, check.mend)
    assert mended["parts"][0]["rings"][1]["spacer"] is None
    assert planned(mended).checks == ()
    assert document["parts"][0]["rings"][1]["spacer"] == {"thickness_mm": 30}


def test_a_mend_for_another_drawing_is_refused() -> None:
    with pytest.raises(CraftError, match="has changed"):
        apply_mend(beaker(), {"changes": [{"op": "add", "path": "/parts/7/name", "value": ""}]})


@pytest.mark.parametrize("rings", [2, 4])
def test_the_top_ring_is_made_to_fit_the_height(rings: int) -> None:
    document = beaker(rings)
    document["parts"][0]["rings"][-1]["thickness_mm"] = 17.0
    [check] = [c for c in planned(document).checks if c.code == "height-mismatch"]

    assert check.mend is not None
    assert planned(apply_mend(document, check.mend)).checks == ()
