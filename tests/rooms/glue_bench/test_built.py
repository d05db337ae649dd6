"""As built: a stack that stands higher than drawn asks more of the rings that are left."""

import html
import re
from typing import Any

import pytest
from piece_makers import curve, piece, ring, stack


def cone(mounted: str = "bottom") -> dict[str, Any]:
    """A solid cone, 45° wide, of four rings of 15 mm; r = 30 + z."""
    part = {
        "id": "cone",
        "name": "Cone",
        "kind": "ringed",
        "outside": curve((30, 0), (90, 60)),
        "rings": [ring(f"c{number}", 15.0) for number in range(4)],
    }
    names = [f"c{number}" for number in range(4)]
    rings = names if mounted == "bottom" else names[::-1]
    return piece([part], stacks=[stack("s", "cone", rings, mounted=mounted)], display_units="mm")


@pytest.fixture
def bench(bench_of):
    return bench_of(cone())


def put_on(bench, *rings: str) -> None:
    for name in rings:
        bench.say("stacked", name, data={"stack": "s"})


def as_built(bench) -> str:
    found = re.search(r'<section class="built".*?</section>', bench.page(exchange=True), re.S)
    assert found is not None
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", found.group())))


def test_nothing_is_asked_before_a_ring_is_on(bench) -> None:
    assert 'class="built"' not in bench.page()


def test_the_form_asks_for_the_newest_ring_on(bench) -> None:
    put_on(bench, "c0", "c1")
    page = bench.page()
    assert 'data-subject="c1" data-quantity="stack_height"' in page
    assert "From the block to the face of ring 2" in page
    assert "Not measured yet" in as_built(bench)


def test_a_higher_stack_says_which_rings_change_and_by_how_much(bench) -> None:
    put_on(bench, "c0", "c1")
    bench.say("measured", "c1", data={"quantity": "stack_height", "value_mm": 31.2})
    said = as_built(bench)
    # The third ring lies from 31.2 to 46.2: R = 76.2, solid, so its board is as wide.
    assert "It stands 1.2 mm higher than drawn" in said
    assert "Ring 3 is now Ø 152.4 mm, its board 76.2 mm, 1.2 mm wider than drawn" in said
    assert "cut already" not in said
    bench.say("cut", "c2", data={"count": 12})
    assert "It is cut already" in as_built(bench)


def test_a_height_said_of_the_stack_is_of_the_ring_that_was_on_last(bench) -> None:
    put_on(bench, "c0")
    bench.say("measured", "s", data={"quantity": "stack_height", "value_mm": 15.0})
    put_on(bench, "c1")
    assert "It stands as high as drawn" in as_built(bench)


def test_a_height_below_the_ring_before_it_is_measured_again(bench) -> None:
    put_on(bench, "c0", "c1")
    bench.say("measured", "c0", data={"quantity": "stack_height", "value_mm": 15.0})
    bench.say("measured", "c1", data={"quantity": "stack_height", "value_mm": 14.0})
    assert "Ring 2: This height is not above the ring before it" in as_built(bench)


def test_undo_takes_the_measure_back(bench) -> None:
    put_on(bench, "c0")
    said = bench.say("measured", "c0", data={"quantity": "stack_height", "value_mm": 17.0})
    assert "2.0 mm higher" in as_built(bench)
    bench.write({"kind": "undone", "subject": "c0", "undoes": said["id"]})
    assert "2.0 mm higher" not in as_built(bench)


def test_two_stacks_say_how_they_are_put_together(bench_of) -> None:
    document = cone()
    document["stacks"] = [
        stack("low", "cone", ["c0", "c1"]) | {"name": "Low"},
        stack("high", "cone", ["c3", "c2"], mounted="top", faceplate="B") | {"name": "High"},
    ]
    said = as_built(bench_of(document))
    assert "“High” goes on “Low”, ring 3 on ring 2." in said
    # Ring 3 has a joint half a pitch, 15°, beyond those of ring 2, at R = 75.
    assert "From a joint of ring 2 it is 19.6 mm along the rim" in said
