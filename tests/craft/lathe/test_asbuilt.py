"""As built: rings that are left are slabbed again from the height that the stack really has."""

import pytest

from server.craft.errors import FieldError
from server.craft.lathe.asbuilt import as_built

THICK = 15.0


def cone(make, mounted: str):
    """A solid cone leaning 45°, r = 30 + z, of four rings."""
    part = {
        "id": "cone",
        "kind": "ringed",
        "outside": {
            "points": [
                {"r_mm": 30, "z_mm": 0, "corner": True},
                {"r_mm": 90, "z_mm": 60, "corner": True},
            ]
        },
        "rings": [{"id": f"c{i}", "thickness_mm": THICK} for i in range(4)],
    }
    order = [f"c{i}" for i in range(4)]
    rings = order if mounted == "bottom" else order[::-1]
    return make.worked([part], [make.stack("s", "cone", rings, mounted)])


def test_a_stack_that_grew_moves_the_rings_above(make):
    work = cone(make, "bottom")
    # Two rings of 15 measure 31.2: the third lies from 31.2 to 46.2, its outside is 76.2, not 75.
    found = as_built(work, work.piece.stacks[0], {"c0": 15.4, "c1": 31.2})
    assert found is not None
    assert found.over_mm == pytest.approx(1.2)
    assert found.short_mm == pytest.approx(-1.2)
    # The last ring reaches past the rim: its widest stays the rim itself, 90, and it is solid.
    assert [change.ring for change in found.changes] == ["c2"]
    third = found.changes[0]
    assert third.shift_mm == pytest.approx(1.2)
    assert third.drawn.finished_outside_mm == pytest.approx(75)
    assert third.now.finished_outside_mm == pytest.approx(76.2)
    assert third.wider_mm == pytest.approx(1.2)


def test_built_down_from_the_rim_the_rings_below_move_down(make):
    work = cone(make, "top")
    found = as_built(work, work.piece.stacks[0], {"c3": 14.0})
    assert found is not None
    assert found.over_mm == pytest.approx(-1)
    # Thinner by 1 from the rim down: c2 lies from 31 to 46 and is 76 wide at its top.
    assert [change.ring for change in found.changes] == ["c2", "c1", "c0"]
    assert found.changes[0].shift_mm == pytest.approx(1)
    assert found.changes[0].now.finished_outside_mm == pytest.approx(76)


def test_a_ring_that_was_not_measured_counts_as_drawn(make):
    work = cone(make, "bottom")
    found = as_built(work, work.piece.stacks[0], {"c1": 30.1})
    assert found is not None
    assert found.over_mm == pytest.approx(0.1)
    assert [change.ring for change in found.changes] == ["c2"]
    assert found.changes[0].now.finished_outside_mm == pytest.approx(75.1)


def test_as_drawn_nothing_changes(make):
    work = cone(make, "bottom")
    found = as_built(work, work.piece.stacks[0], {"c0": 15.0})
    assert found is not None
    assert found.changes == ()
    assert as_built(work, work.piece.stacks[0], {}) is None


def test_a_stack_cannot_shrink(make):
    work = cone(make, "bottom")
    with pytest.raises(FieldError) as caught:
        as_built(work, work.piece.stacks[0], {"c0": 15.0, "c1": 14.0})
    assert caught.value.path == "c1"
