"""What the piece document takes and what it refuses, each refusal with its place and words."""

import copy
import json
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from piece_makers import beaker, curve, piece, ring, stack

from server.craft.document import DocumentError, parse_piece
from server.craft.errors import FieldError
from server.demo import demo_piece


def faults(document: Any) -> dict[str, str]:
    """The message at each JSON pointer that is refused."""
    with pytest.raises(DocumentError) as refused:
        parse_piece(document)
    return {fault.path: fault.message for fault in refused.value.faults}


def changed(path: str, value: Any) -> dict[str, Any]:
    """The beaker with one place changed; `...` takes the place out."""
    document = beaker()
    *above, last = path.strip("/").split("/")
    holder: Any = document
    for step in above:
        holder = holder[int(step)] if isinstance(holder, list) else holder[step]
    key: Any = int(last) if isinstance(holder, list) else last
    if value is ...:
        del holder[key]
    else:
        holder[key] = value
    return document


def test_the_demo_and_the_smallest_piece_are_taken() -> None:
    assert parse_piece(demo_piece()).name == "Tideline goblet"
    small = {
        "format": "ringwright.piece",
        "version": 1,
        "name": "x",
        "parts": [{"id": "a", "kind": "spindle", "outside": curve((5, 0), (5, 10))}],
    }
    read = parse_piece(small)
    assert read.saw.blade_kerf_mm == 2.4
    assert read.allowance.outside_mm == 0
    assert [season.name for season in read.climate] == ["winter", "summer"]
    assert read.part("a").own_wood == "maple-sugar"


WRONG: list[tuple[str, Any, str, str]] = [
    ("/format", "other", "/format", "must be"),
    ("/version", 2, "/version", "must be 1"),
    ("/version", "1", "/version", "must be 1"),
    ("/name", ..., "/name", "missing"),
    ("/name", "", "/name", "empty"),
    ("/name", 7, "/name", "text"),
    ("/parts", ..., "/parts", "missing"),
    ("/parts", [], "/parts", "At least 1"),
    ("/parts/0/kind", "bowl", "/parts/0/kind", "must be"),
    ("/parts/0/rings/1/thickness_mm", "12", "/parts/0/rings/1/thickness_mm", "number"),
    ("/parts/0/rings/1/thickness_mm", True, "/parts/0/rings/1/thickness_mm", "number"),
    ("/parts/0/rings/1/thickness_mm", None, "/parts/0/rings/1/thickness_mm", "number"),
    ("/parts/0/rings/1/thickness_mm", 0, "/parts/0/rings/1/thickness_mm", "at least 0.1"),
    ("/parts/0/rings/1/thickness_mm", -5, "/parts/0/rings/1/thickness_mm", "at least 0.1"),
    ("/parts/0/rings/1/thickness_mm", 3000.1, "/parts/0/rings/1/thickness_mm", "at most 3000"),
    ("/parts/0/rings/1/thickness_mm", 10**400, "/parts/0/rings/1/thickness_mm", ""),
    ("/parts/0/rings/1/segments", 0, "/parts/0/rings/1/segments", "at least 3"),
    ("/parts/0/rings/1/segments", 2, "/parts/0/rings/1/segments", "at least 3"),
    ("/parts/0/rings/1/segments", 361, "/parts/0/rings/1/segments", "at most 360"),
    ("/parts/0/rings/1/segments", 12.5, "/parts/0/rings/1/segments", "whole number"),
    ("/parts/0/rings/1/phase", 1, "/parts/0/rings/1/phase", "less than 1"),
    ("/parts/0/rings/1/phase", -0.1, "/parts/0/rings/1/phase", "at least 0"),
    ("/parts/0/rings/1/woods", [], "/parts/0/rings/1/woods", "At least 1"),
    ("/parts/0/rings/1/woods", ["unobtanium"], "/parts/0/rings/1/woods/0", "no wood"),
    ("/parts/0/rings/1/spacer", {"thickness_mm": 0.05}, "/parts/0/rings/1/spacer/thickness_mm", ""),
    ("/parts/0/rings/1/spacer", {"thickness_mm": 51}, "/parts/0/rings/1/spacer/thickness_mm", ""),
    ("/parts/0/rings/1/gap", {}, "/parts/0/rings/1/gap", "one of the two"),
    ("/parts/0/rings/1/gap", {"angle_deg": 1, "width_mm": 1}, "/parts/0/rings/1/gap", "one of"),
    ("/parts/0/rings/1/shares", [1, 2], "/parts/0/rings/1/shares", "2 shares for 12"),
    ("/parts/0/rings/1/id", "r0", "/parts/0/rings/1/id", "used already"),
    ("/parts/0/rings/1/id", "body", "/parts/0/rings/1/id", "used already"),
    ("/parts/0/rings/1/colour", "red", "/parts/0/rings/1/colour", "no such field"),
    ("/parts/0/outside", curve((60, 0)), "/parts/0/outside/points", "At least 2"),
    (
        "/parts/0/outside",
        curve((60, 0), (60, 0)),
        "/parts/0/outside/points",
        "two different points",
    ),
    (
        "/parts/0/outside",
        curve((10, 0), (60, 60), (60, 0), (10, 60)),
        "/parts/0/outside/points",
        "crosses itself",
    ),
    ("/parts/0/outside/points/0/r_mm", -1, "/parts/0/outside/points/0/r_mm", "at least 0"),
    ("/parts/0/outside/points/0/z_mm", 3001, "/parts/0/outside/points/0/z_mm", "at most"),
    ("/stacks/0/rings/1", "r9", "/stacks/0/rings/1", "no ring"),
    ("/stacks/0/rings/1", "r0", "/stacks/0/rings/1", "on a stack already"),
    ("/stacks/0/part", "lid", "/stacks/0/part", "no part"),
    ("/stacks/0/glue", "spit", "/stacks/0/glue", "no glue"),
    ("/stacks/0/mounted", "side", "/stacks/0/mounted", "must be"),
    ("/limits", {"nonsense": 1}, "/limits/nonsense", "No check"),
    ("/extra", [], "/extra", "object"),
    ("/climate", [{"temperature_c": 20}], "/climate/0/humidity_percent", "missing"),
]


@pytest.mark.parametrize(("path", "value", "place", "words"), WRONG)
def test_what_is_wrong_is_named_with_its_place(
    path: str, value: Any, place: str, words: str
) -> None:
    found = faults(changed(path, value))

    assert words in found.pop(place)
    # A ring that lost its id leaves its stack behind; nothing else may be blamed.
    assert set(found) <= ({"/stacks/0/rings/1"} if path.endswith("/id") else set())


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("path", ["/parts/0/rings/1/thickness_mm", "/extra"])
def test_no_number_is_no_number_wherever_it_stands(path: str, number: float) -> None:
    value = {"deep": [number]} if path == "/extra" else number
    [(place, message)] = faults(changed(path, value)).items()
    assert place.startswith(path)
    assert message == "This must be an ordinary number."


def test_both_a_spacer_and_a_gap_are_too_much() -> None:
    document = changed("/parts/0/rings/1/gap", {"angle_deg": 1})
    document["parts"][0]["rings"][1]["spacer"] = {"thickness_mm": 1}
    assert "not both" in faults(document)["/parts/0/rings/1/gap"]


def test_joints_name_ends_that_exist_and_meet() -> None:
    def joined(tenon: tuple[str, str], mortise: tuple[str, str], again: bool = False) -> Any:
        parts = [
            {"id": name, "kind": "spindle", "outside": curve((9, 0), (9, 30))} for name in "ab"
        ]
        joint = {
            "tenon": dict(zip(("part", "end"), tenon, strict=True)),
            "mortise": dict(zip(("part", "end"), mortise, strict=True)),
            "diameter_mm": 8,
            "depth_mm": 10,
        }
        joints = [joint | {"id": "j"}] + ([joint | {"id": "k"}] if again else [])
        return piece(parts, joints=joints)

    assert parse_piece(joined(("a", "top"), ("b", "bottom"))).joints
    assert "/joints/0/mortise/part" in faults(joined(("a", "top"), ("c", "bottom")))
    assert "/joints/0/mortise/part" in faults(joined(("a", "top"), ("a", "bottom")))
    assert "/joints/0/mortise/end" in faults(joined(("a", "top"), ("b", "top")))
    assert "/joints/1/tenon" in faults(joined(("a", "top"), ("b", "bottom"), again=True))


def test_a_ring_lies_on_one_stack_only() -> None:
    document = beaker()
    document["stacks"].append(stack("t", "body", ["r2"]))
    assert "/stacks/1/rings/0" in faults(document)


def test_solids_have_no_rings() -> None:
    document = changed("/parts/0/kind", "spindle")
    assert "/parts/0/rings" in faults(document)


def test_too_many_of_anything_are_refused() -> None:
    many = beaker()
    many["parts"][0]["rings"] = [ring(f"x{number}") for number in range(20_000)]
    assert "At most 1000" in faults(many)["/parts/0/rings"]
    points = beaker()
    points["parts"][0]["outside"] = curve(*[(50, z / 10) for z in range(1001)])
    assert "At most 1000" in faults(points)["/parts/0/outside/points"]


def test_nesting_without_end_is_refused() -> None:
    deep: Any = 1
    for _ in range(500):
        deep = [deep]
    [message] = faults(beaker() | {"extra": {"a": deep}}).values()
    assert "nested" in message


def test_every_fault_is_told_at_once() -> None:
    document = beaker()
    document["parts"][0]["rings"][0]["segments"] = 1
    document["parts"][0]["rings"][2]["phase"] = 7
    document["colour"] = "red"
    assert set(faults(document)) == {
        "/parts/0/rings/0/segments",
        "/parts/0/rings/2/phase",
        "/colour",
    }


def test_own_woods_and_glues_travel_with_the_piece() -> None:
    document = changed("/parts/0/rings/1/woods", ["resin-blue"])
    document["woods"] = [{"id": "resin-blue", "name": "Blue resin", "density_kg_m3": 1150}]
    document["glues"] = [
        {
            "id": "fish",
            "press_minutes": 60,
            "rest_minutes": 60,
            "cure_hours": 24,
            "least_temperature_c": 15,
            "open_minutes": 8,
        }
    ]
    document["stacks"][0]["glue"] = "fish"
    assert parse_piece(document).glues[0].as_glue().open_minutes == 8


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None)
@given(data=st.data(), value=json_values)
def test_nothing_that_is_put_anywhere_breaks_the_reader(data: st.DataObject, value: Any) -> None:
    document = copy.deepcopy(demo_piece())
    holder: Any = document
    while True:
        keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
        key = data.draw(st.sampled_from(keys))
        below = holder[key]
        if not isinstance(below, dict | list) or not below or data.draw(st.booleans()):
            break
        holder = below
    holder[key] = value
    refused: tuple[FieldError, ...] = ()
    try:
        parse_piece(document)
    except DocumentError as error:
        refused = error.faults
    assert all(fault.message for fault in refused)


@pytest.mark.parametrize("document", [[], "piece", 7, None, {}])
def test_what_is_no_piece_at_all_is_refused(document: Any) -> None:
    assert faults(document)


def test_reading_leaves_the_document_alone() -> None:
    document = demo_piece()
    before = json.dumps(document)
    parse_piece(document)
    assert json.dumps(document) == before
