"""Joint sizes on worked examples."""

import pytest

from server.craft.document.assembly import Joint
from server.craft.errors import CraftError
from server.craft.lathe.joints import stem_to_turn, tenon_to_turn


def drawn(**changes: float) -> Joint:
    return Joint.model_validate(
        {
            "id": "j",
            "tenon": {"part": "stem", "end": "top"},
            "mortise": {"part": "bowl", "end": "bottom"},
            "diameter_mm": 12.7,
            "depth_mm": 20.0,
            **changes,
        }
    )


def test_the_tenon_follows_the_mortise_that_was_bored():
    # A 12.7 mm drill that bored 12.93: 12.93 − 0.15 of clearance.
    tenon = tenon_to_turn(drawn(), 12.93)
    assert tenon.diameter_mm == pytest.approx(12.78)
    assert (tenon.least_mm, tenon.most_mm) == pytest.approx((12.63, 12.88))
    assert tenon.length_mm == 20


def test_a_shallow_mortise_shortens_the_tenon():
    assert tenon_to_turn(drawn(), 12.9, 18.0).length_mm == pytest.approx(16.5)
    assert tenon_to_turn(drawn(), 12.9, 30.0).length_mm == 20


def test_a_tenon_that_was_measured_is_judged():
    tenon = tenon_to_turn(drawn(), 12.93)
    assert [tenon.judge(size) for size in (12.5, 12.78, 12.9)] == ["thin", "fits", "thick"]


def test_a_wide_clearance_of_ones_own_is_still_a_fit():
    tenon = tenon_to_turn(drawn(clearance_mm=0.5), 13.2)
    assert tenon.judge(tenon.diameter_mm) == "fits"


def test_no_tenon_for_a_mortise_that_is_too_small():
    with pytest.raises(CraftError, match="Measure"):
        tenon_to_turn(drawn(), 0.1)
    with pytest.raises(CraftError, match="Measure"):
        tenon_to_turn(drawn(), 12.7, 1.0)


def test_the_stem_fills_what_base_and_bowl_leave():
    # 190 in all, base 31.5 to its shoulder, bowl 94.2 from shoulder to rim: 64.3 is seen.
    stem = stem_to_turn(190, 31.5, 94.2, (20, 12))
    assert stem.visible_mm == pytest.approx(64.3)
    assert stem.with_tenons_mm == pytest.approx(96.3)
    assert stem.blank_mm == pytest.approx(116.3)


def test_no_stem_where_nothing_is_left_for_it():
    with pytest.raises(CraftError, match="no stem"):
        stem_to_turn(120, 40, 80, (20, 12))
