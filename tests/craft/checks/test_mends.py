"""A mend makes its finding go, and nothing else worse."""

from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st
from piece_makers import beaker, curve, found, piece, planned, ring, stack
from random_pieces import pieces

from server.craft.document import DocumentError, parse_piece
from server.craft.errors import CraftError
from server.craft.findings import Check, Severity
from server.craft.mends import apply_mend

Document = dict[str, Any]
Place = tuple[str, str | None, str | None]
RINGS = ("f0", "f1", "f2")
COMES_UNDER = ("ring-unstacked", "joint-shallow")
GLUED = (
    "gap-not-bridged",
    "glue-face-small",
    "joints-aligned",
    "open-time-short",
    "plate-needed",
    "press-force-exceeded",
)
_WORSE = {Severity.NOTE: 0, Severity.WARN: 1, Severity.STOP: 2}


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


@settings(max_examples=15, deadline=None, derandomize=True)
@given(
    depth_mm=st.sampled_from([10.0, 29.0, 30.0, 45.0]),
    mounted=st.sampled_from(["bottom", "top"]),
    phase=st.sampled_from([0.0, 0.1, 0.5]),
    tail_mm=st.sampled_from([0.0, 90.0]),
    order=st.permutations([0, 1, 2]),
)
def test_each_mend_of_a_faulty_goblet_helps(
    depth_mm: float, mounted: str, phase: float, tail_mm: float, order: list[int]
) -> None:
    _all_mends_help(goblet(depth_mm, mounted, phase, tail_mm, order))


@settings(
    max_examples=15,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
@given(document=pieces())
def test_each_mend_of_a_random_piece_helps(document: Document) -> None:
    try:
        parse_piece(document)
    except DocumentError:
        reject()
    _all_mends_help(document)


def _all_mends_help(document: Document) -> None:
    """Each mend ends its finding, and no other finding is worse or new.

    Of a ring that could not be made, or that the mend brings in, nothing could be said before; of a
    ring that comes on a stack, or gets another one under it, nothing of that glue joint.
    """
    plan = planned(document)
    before = places(plan.checks)
    rings = [[ring.id for ring in part.rings] for part in plan.parts]
    made = {r.id for part in plan.parts for r in part.rings if r.outside_radius_mm is not None}
    tried = set()
    for check in plan.checks:
        if check.mend is None or (check.code, check.mend["title"]) in tried:
            continue
        tried.add((check.code, check.mend["title"]))
        after = places(planned(apply_mend(document, check.mend)).checks)
        assert (check.code, check.part, check.ring) not in after, check
        newly = unsaid(check, rings, made)
        worse = {key for key, bad in after.items() if bad > before[key] and not newly(key)}
        assert not worse, (check, worse)


def places(checks: tuple[Check, ...]) -> Counter[Place]:
    """How much is said, and how badly, under each code at each place."""
    total: Counter[Place] = Counter()
    for check in checks:
        total[check.code, check.part, check.ring] += 1 + 1000 * _WORSE[check.severity]
    return total


def unsaid(check: Check, rings: list[list[str]], made: set[str]) -> Callable[[Place], bool]:
    """Tells of a place what could not be said before this mend."""
    beside = {
        near
        for names in rings
        for k, name in enumerate(names)
        if name not in made or (name == check.ring and check.code in COMES_UNDER)
        for near in names[max(0, k - 1) : k + 2]
    }
    known = {name for names in rings for name in names}
    revived = check.ring is not None and check.ring not in made

    def newly(place: Place) -> bool:
        code, _, ring = place
        if ring is None:
            return revived and code == "tips-easily"
        return ring not in made or ring not in known or (code in GLUED and ring in beside)

    return newly


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


def tall(stem_mm: float) -> Document:
    """A long thin stem on a broad foot."""
    foot = {
        "id": "foot",
        "kind": "ringed",
        "outside": curve((60, 0), (30, 36)),
        "rings": [ring(name, 12.0) for name in RINGS],
    }
    outside = curve((10, 0), (8, stem_mm))
    stem = {"id": "stem", "kind": "spindle", "wood": "ash-white", "outside": outside}
    joint = {
        "id": "j",
        "tenon": {"part": "stem", "end": "bottom"},
        "mortise": {"part": "foot", "end": "top"},
        "diameter_mm": 12,
        "depth_mm": 20,
    }
    return piece([foot, stem], joints=[joint], stacks=[stack("s", "foot", list(RINGS))])


def post(radius_mm: float) -> Document:
    """A post 100 mm high that stands alone."""
    outside = curve((radius_mm, 0), (radius_mm, 100))
    return piece([{"id": "post", "kind": "spindle", "outside": outside}])


@pytest.mark.parametrize(
    ("document", "code"),
    [
        (tall(300), "stem-weak"),
        (post(8.0), "tips-easily"),
        (goblet(45.0, "bottom", 0.5, 90.0, [0, 1, 2]), "joint-shallow"),
        (goblet(10.0, "top", 0.5, 90.0, [0, 1, 2]), "stack-order"),
    ],
)
def test_what_a_turner_would_do_is_offered(document: Document, code: str) -> None:
    [first, *_] = found(document, code)
    assert first.mend is not None
    assert not found(apply_mend(document, first.mend), code)
    _all_mends_help(document)


def test_a_floor_is_left_as_thick_as_is_asked_for() -> None:
    document = beaker()
    document["parts"][0]["inside"] = curve((0, 3), (48, 3), (48, 60))
    [thin] = found(document, "floor-thin")

    assert thin.mend is not None
    mended = apply_mend(document, thin.mend)
    assert mended["parts"][0]["floor_mm"] == 5.0
    assert planned(mended).checks == ()


def test_how_many_rings_are_missing_is_said_as_a_number() -> None:
    [shallow] = found(goblet(45.0, "bottom", 0.5, 90.0, [0, 1, 2]), "joint-shallow")

    # 45 deep, 1.5 clear, 5 beyond, in 36 of wood: 15.5 are missing, two rings of 12.
    assert shallow.mend is not None
    assert shallow.mend["rings_to_add"] == 2
    assert "2 more rings at the top" in shallow.message


def test_rings_at_a_vessels_mouth_would_not_help() -> None:
    document = beaker()
    stem = {"id": "stem", "kind": "spindle", "outside": curve((12, 0), (12, 60))}
    document["parts"].append(stem)
    document["joints"] = [
        {
            "id": "j",
            "tenon": {"part": "stem", "end": "bottom"},
            "mortise": {"part": "body", "end": "top"},
            "diameter_mm": 12,
            "depth_mm": 20,
        }
    ]
    [shallow] = found(document, "joint-shallow")
    assert (shallow.value, shallow.mend) == (0.0, None)
