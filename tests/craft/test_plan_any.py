"""A drawing in the making is always answered: whatever is valid has a plan of plain numbers."""

import json
from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from random_pieces import pieces

from server.craft.document import DocumentError, Piece, parse_piece
from server.craft.errors import FieldError
from server.craft.plan import plan, plan_json


def drawn(document: dict[str, Any]) -> Piece:
    """The piece, unless its random curves double or cross; nothing else may be refused here."""
    faults: tuple[FieldError, ...] = ()
    try:
        return parse_piece(document)
    except DocumentError as refused:
        faults = refused.faults
    assert all("/points" in fault.path for fault in faults), faults
    assume(False)
    raise AssertionError


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(document=pieces())
def test_every_valid_piece_has_a_plan(document: dict[str, Any]) -> None:
    answer = plan_json(plan(drawn(document)))

    json.dumps(answer, allow_nan=False)
    stopped = {c["ring"] for c in answer["checks"] if c["severity"] == "stop"}
    for part in answer["parts"]:
        for ring in part["rings"]:
            made = ring["outside_radius_mm"] is not None
            # What cannot be made has no numbers and a reason; what is made has its segments.
            assert made or not ring["segments"]
            if made and ring["kind"] == "flat":
                assert sum(row["count"] for row in ring["segments"]) == ring["segment_count"]
                assert all(row["width_mm"] > 0 for row in ring["segments"])
            if not made and ring["id"] not in stopped:
                codes = {c["code"] for c in answer["checks"]}
                assert codes & {"height-mismatch", "inside-outside"}


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(document=pieces())
def test_the_same_drawing_has_the_same_plan(document: dict[str, Any]) -> None:
    assert plan_json(plan(drawn(document))) == plan_json(plan(drawn(document)))
