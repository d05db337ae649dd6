"""Odd drawings: always answered in plain JSON; what cannot be made has a stop and no numbers."""

import copy
import json
from typing import Any

import pytest
from piece_makers import beaker, curve, piece, planned, ring, stack

from server.craft.findings import LIMITS
from server.craft.plan import plan_json

Document = dict[str, Any]

SPINDLE: Document = {"id": "stem", "kind": "spindle", "outside": curve((10, 0), (10, 80))}
UNDERCUT: Document = {
    "points": [
        {"r_mm": r, "z_mm": z, "corner": False} for r, z in ((30, 0), (60, 40), (45, 30), (50, 60))
    ]
}
EVERY_KIND = [
    ring("k0", 10, gap={"angle_deg": 10}),
    ring("k1", 10, kind="disc"),
    ring("k2", 1, kind="veneer"),
    ring("k3", 10, spacer={"thickness_mm": 2}),
    ring("k4", 10, segments=8, shares=[3, 1] * 4),
    ring("k5", 30, kind="stave", lean_deg=10),
    ring("k6", 10, gap={"width_mm": 3}),
    ring("k7", 10, plug={"diameter_mm": 100}),
]
NOT_MADE = (
    "finished_outside_radius_mm",
    "finished_inside_radius_mm",
    "inside_radius_mm",
    "board_width_mm",
    "corner_radius_mm",
    "rough_overlap_mm2",
    "press_force_n",
    "volume_mm3",
    "mass_kg",
)


def body(**changes: Any) -> Document:
    """The beaker with another part in its place."""
    document = beaker()
    document["parts"][0] |= changes
    return document


def middle(**changes: Any) -> Document:
    """The beaker with another ring in its middle."""
    document = beaker()
    document["parts"][0]["rings"][1] |= changes
    return document


def every_kind() -> Document:
    high = sum(one["thickness_mm"] for one in EVERY_KIND)
    part = {
        "id": "body",
        "kind": "ringed",
        "outside": curve((60, 0), (70, high)),
        "inside": curve((0, 15), (40, 15), (55, high)),
        "rings": copy.deepcopy(EVERY_KIND),
    }
    return piece([part], stacks=[stack("s", "body", [one["id"] for one in EVERY_KIND])])


def chain(count: int) -> Document:
    parts = [{**copy.deepcopy(SPINDLE), "id": f"p{i}"} for i in range(count)]
    joints = [
        {
            "id": f"j{i}",
            "tenon": {"part": f"p{i}", "end": "top"},
            "mortise": {"part": f"p{i + 1}", "end": "bottom"},
            "diameter_mm": 8,
            "depth_mm": 10,
        }
        for i in range(count - 1)
    ]
    return piece(parts, joints=joints)


ODD: dict[str, Document] = {
    "a spindle alone": piece([SPINDLE]),
    "a spindle of no width": piece([SPINDLE | {"outside": curve((0, 0), (0, 80))}]),
    "a form of no height": body(outside=curve((10, 5), (20, 5)), inside=None),
    "no rings": piece([{"id": "b", "kind": "ringed", "outside": curve((10, 0), (10, 80))}]),
    "rings of every kind": every_kind(),
    "twenty parts in a chain": chain(20),
    "a stack in no order": beaker() | {"stacks": [stack("s", "body", ["r2", "r0", "r1"])]},
    "an empty stack": beaker() | {"stacks": [stack("s", "body", [])]},
    "a plug wider than its ring": middle(plug={"diameter_mm": 500}),
    "a plug wider than its disc": middle(kind="disc", plug={"diameter_mm": 500}),
    "a plug wider than its staves": middle(kind="stave", plug={"diameter_mm": 500}),
    "an undercut": body(outside=UNDERCUT, inside=curve((0, 10), (20, 10), (35, 60))),
    "a floor at the rim": body(floor_mm=60),
    "a floor above the rim": body(floor_mm=80),
    "an inside outside": body(inside=curve((61, 0), (61, 60))),
    "an inside above the form": body(inside=curve((0, 70), (48, 70), (48, 90))),
    "an inside on the axis": body(inside=curve((0, 0), (0, 60))),
    "nothing that presses": beaker() | {"lathe": {"press_force_n": 0, "clamp_force_n": 0}},
    "no seasons in the cold": beaker()
    | {"climate": [], "room": {"temperature_c": -60, "humidity_percent": 0}},
    "allowances without measure": beaker()
    | {"allowance": {"outside_mm": 3000, "inside_mm": 3000, "flatten_mm": 3000}},
    "one share that takes all": middle(segments=3, shares=[1e9, 1e-9, 1]),
    "the thinnest shares": middle(segments=3, shares=[1e-9, 1e-9, 1e-9]),
    "limits beyond all measure": beaker() | {"limits": dict.fromkeys(LIMITS, 1e9)},
    "limits of nothing": beaker() | {"limits": dict.fromkeys(LIMITS, 0)},
}


@pytest.mark.parametrize("name", ODD)
def test_an_odd_drawing_is_answered(name: str) -> None:
    answer = plan_json(planned(copy.deepcopy(ODD[name])))

    json.dumps(answer, allow_nan=False)
    stops = [check for check in answer["checks"] if check["severity"] == "stop"]
    at_fault = {check["ring"] for check in stops}
    for part in answer["parts"]:
        for one in part["rings"]:
            if one["outside_radius_mm"] is None:
                assert one["id"] in at_fault or any(c["code"] == "height-mismatch" for c in stops)
                assert one["segments"] == []
                assert [one[field] for field in NOT_MADE] == [None] * len(NOT_MADE)


@pytest.mark.parametrize(
    ("name", "code", "ring_id"),
    [
        ("a plug wider than its ring", "plug-too-wide", "r1"),
        ("a plug wider than its disc", "plug-too-wide", "r1"),
        ("a plug wider than its staves", "plug-too-wide", "r1"),
        ("an inside outside", "inside-outside", "r2"),
        ("a floor above the rim", "inside-outside", None),
        ("one share that takes all", "share-too-wide", "r1"),
        ("no rings", "height-mismatch", None),
        ("a form of no height", "height-mismatch", None),
    ],
)
def test_it_stops_where_the_fault_is(name: str, code: str, ring_id: str | None) -> None:
    checks = planned(copy.deepcopy(ODD[name])).checks
    assert (code, ring_id) in {(c.code, c.ring) for c in checks if c.severity.value == "stop"}


def test_a_ring_beyond_the_form_stops_even_where_heights_may_differ() -> None:
    document = beaker()
    document["parts"][0]["rings"][2]["thickness_mm"] = 40
    document["parts"][0]["rings"].append(ring("r3"))
    document["limits"] = {"height-mismatch": 1000}
    checks = [c for c in planned(document).checks if c.code == "height-mismatch"]
    assert [(c.ring, c.value, c.limit) for c in checks] == [("r3", 80.0, 60.0)]
