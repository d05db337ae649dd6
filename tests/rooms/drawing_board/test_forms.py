"""Form, parts, joints, stacks, shop, proposals and patterns from the board."""

import io
import json

import pytest
from PIL import Image


def points(drawn, curve="outside"):
    return drawn()["parts"][0][curve]["points"]


def test_a_point_is_set_by_its_numbers(change, drawn) -> None:
    change("points", of_part="body", **{"outside-1-r": "130", "outside-1-z": "80"})
    assert points(drawn)[1]["r_mm"] == 65
    assert "corner" not in points(drawn)[1]  # its box was not ticked


def test_points_are_added_on_the_curve_and_taken_out(change, drawn) -> None:
    change("point-add", of_part="body", point="outside-0")
    assert points(drawn)[1] == {"r_mm": 60.0, "z_mm": 40.0}
    change("point-remove", of_part="body", point="outside-1")
    assert len(points(drawn)) == 2
    reply = change("point-remove", of_part="body", point="outside-1")
    assert "at least two points" in reply.text


def test_a_shape_pulled_by_hand_is_kept(change, drawn) -> None:
    shape = {"outside": [[60, 0, True], [72.5, 40, False], [60, 80, True]], "inside": None}
    reply = change("shape", of_part="body", shape=json.dumps(shape))
    assert reply.status_code == 200
    assert points(drawn)[1] == {"r_mm": 72.5, "z_mm": 40.0}


@pytest.mark.parametrize(
    "shape",
    ["", "{", "[1]", "null", '{"outside": [[1, 2]]}', '{"outside": [["a", 1, true]]}'],
)
def test_a_shape_that_cannot_be_read(change, drawn, shape: str) -> None:
    before = drawn()
    assert change("shape", of_part="body", shape=shape).status_code in (200, 422)
    assert drawn() == before


def test_a_crossing_shape_is_refused_and_tried_without_keeping(change, drawn) -> None:
    before = drawn()
    crossing = json.dumps(
        {"outside": [[60, 0, True], [20, 60, True], [60, 60, True], [20, 0, True]]}
    )
    assert change("shape", of_part="body", shape=crossing).status_code == 422
    tried = change("try", of_part="body", shape=crossing)
    assert tried.status_code == 200
    assert "said-line" in tried.text
    good = json.dumps({"outside": [[60, 0, True], [66, 80, True]]})
    assert "Holds" in change("try", of_part="body", shape=good).text
    assert drawn() == before


def test_the_height_of_a_part_by_its_slider(change, drawn) -> None:
    change("part-height", of_part="body", height="120")
    assert points(drawn)[-1]["z_mm"] == pytest.approx(120)
    rings = drawn()["parts"][0]["rings"]
    assert sum(r["thickness_mm"] for r in rings) == pytest.approx(120)


def test_rings_are_proposed_and_kept_ones_stay(change, drawn) -> None:
    reply = change("propose", of_part="body", wood="sapele", thickest="12", edge="30", keep=["r1"])
    assert reply.status_code == 200
    rings = drawn()["parts"][0]["rings"]
    assert sum(r["thickness_mm"] for r in rings) == pytest.approx(80)
    kept = next(r for r in rings if r["id"] == "r1")
    assert kept["thickness_mm"] == 20
    assert max(r["thickness_mm"] for r in rings if r is not kept) <= 12
    assert sorted(drawn()["stacks"][0]["rings"]) == sorted(r["id"] for r in rings)


def test_a_proposal_heeds_the_boards_on_the_rack(client, change, drawn) -> None:
    board = {"kind": "board", "wood": "sapele", "thickness_mm": 25, "width_mm": 40}
    made = client.post("/api/rack", json=board | {"length_mm": 900, "count": 1})
    assert made.status_code == 201, made.text
    reply = change(
        "propose", of_part="body", wood="sapele", thickest="20", edge="30", from_rack="yes"
    )
    # The floor is solid across 63 mm: no 40 mm board reaches from the axis to the outside.
    assert reply.status_code == 422
    assert "wide enough" in reply.text


def test_the_wall_is_painted_with_a_finger(change, drawn) -> None:
    touched = json.dumps([["r1", 0], ["r1", 13], ["r2", 4]])
    change("paint", wood="wenge", brush="one", every="2", touched=touched)
    rings = drawn()["parts"][0]["rings"]
    assert [k for k, w in enumerate(rings[1]["woods"]) if w == "wenge"] == [0, 1]
    change("paint", wood="holly", brush="every", every="3", touched='[["r0", 1]]')
    assert drawn()["parts"][0]["rings"][0]["woods"] == ["maple-sugar", "holly", "maple-sugar"]
    change("paint", wood="holly", brush="ring", every="3", touched='[["r3", 0]]')
    assert drawn()["parts"][0]["rings"][3]["woods"] == ["holly"]


@pytest.mark.parametrize("touched", ["", "{}", '[["gone", 0]]', '[["r1", "x"]]', "[1]"])
def test_paint_that_cannot_be_read(change, drawn, touched: str) -> None:
    before = drawn()
    reply = change("paint", wood="wenge", brush="one", touched=touched)
    assert reply.status_code in (200, 422)
    assert drawn() == before


def test_patterns_over_a_whole_part(change, drawn) -> None:
    change("fill", of_part="body", fill="gradient", first="holly", second="wenge")
    woods = [r["woods"] for r in drawn()["parts"][0]["rings"]]
    assert woods[0] == ["holly"]
    assert woods[3] == ["wenge"]
    change("fill", of_part="body", fill="twist", step="0.25")
    assert [r["phase"] for r in drawn()["parts"][0]["rings"]] == [0, 0.25, 0.5, 0.75]
    reply = change("fill", of_part="body", fill="spiral", second="wenge", stripes="5", step="1")
    assert reply.status_code == 422
    assert "evenly" in reply.text


def test_a_rings_pattern_goes_on_others(change, drawn) -> None:
    change("paint", wood="wenge", brush="every", every="2", touched='[["r0", 0]]')
    change("copy-pattern", from_ring="r0", to_ring=["r2", "r3"])
    rings = drawn()["parts"][0]["rings"]
    assert rings[2]["woods"] == rings[0]["woods"] == ["wenge", "maple-sugar"]
    assert rings[3]["woods"] == rings[0]["woods"]


def picture(left: str, right: str) -> bytes:
    image = Image.new("RGB", (64, 32), left)
    image.paste(right, (32, 0, 64, 32))
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def test_a_picture_becomes_a_pattern(client, board_id, drawn) -> None:
    client.post(
        f"/pieces/{board_id}/drawing-board/picture",
        data={"revision": "1", "of_part": "body", "wood": ["holly", "wenge"]},
        files={"photo": ("dark.png", picture("#302018", "#f8f4ea"), "image/png")},
    )
    woods = drawn()["parts"][0]["rings"][0]["woods"]
    assert woods == ["wenge"] * 6 + ["holly"] * 6


def test_no_picture_no_pattern(client, board_id, drawn) -> None:
    before = drawn()
    reply = client.post(
        f"/pieces/{board_id}/drawing-board/picture",
        data={"revision": "1", "of_part": "body", "wood": ["holly", "wenge"]},
        files={"photo": ("a.png", b"no picture at all", "image/png")},
    )
    assert reply.status_code == 422
    assert "no JPEG or PNG" in reply.text
    assert drawn() == before


def test_a_photo_lies_under_the_form_and_is_scaled(client, change, board_id, drawn) -> None:
    laid = client.post(
        f"/pieces/{board_id}/drawing-board/underlay",
        data={"revision": "1", "of_part": "body"},
        files={"photo": ("sketch.png", picture("#fff", "#000"), "image/png")},
    )
    assert laid.status_code == 200
    under = drawn()["parts"][0]["extra"]["underlay"]
    assert under["mm_per_px"] == pytest.approx(120 / 64)
    shown = client.get(f"/pieces/{board_id}/drawing-board?show=form").text
    address = f"/pieces/{board_id}/drawing-board/underlay/body/{under['sha256'][:12]}"
    assert address in shown.replace("&#34;", '"')
    assert client.get(address).headers["content-type"] == "image/png"
    change("underlay-scale", of_part="body", ax="0", az="0", bx="0", bz="40", length="80")
    assert drawn()["parts"][0]["extra"]["underlay"]["mm_per_px"] == pytest.approx(240 / 64)
    change("underlay-remove", of_part="body")
    assert "extra" not in drawn()["parts"][0]


def test_joints_and_stacks_are_made_and_taken_out(change, drawn) -> None:
    change("stack", id="s", name="All", mounted="top", faceplate="B", stack_ring=["r0", "r3"])
    stack = drawn()["stacks"][0]
    assert stack["rings"] == ["r3", "r0"]
    assert stack["faceplate"] == "B"
    change("stack-add", of_part="body")
    assert drawn()["stacks"][1]["rings"] == ["r1", "r2"]
    change("stack-remove", id="s")
    assert len(drawn()["stacks"]) == 1
    ends = {"lower": "body", "upper": "body", "tenon": "upper"}
    reply = change("joint-add", at__show="parts", **ends, diameter="10", depth="9")
    assert reply.status_code == 422
    assert "joined to itself" in reply.text


def test_name_units_and_shop(change, drawn, client, board_id) -> None:
    page = client.get(f"/pieces/{board_id}/drawing-board?show=shop").text
    assert 'name="saw-blade_kerf_mm"' in page
    form = {
        "name": "Renamed <b>",
        "display_units": "in",
        "allowance-outside_mm": "4",
        "allowance-inside_mm": "4",
        "allowance-flatten_mm": "0",
        "saw-blade_kerf_mm": "1/8",
        "saw-rip_kerf_mm": "3",
        "saw-cross_kerf_mm": "3",
        "saw-end_trim_mm": "5",
        "saw-plane_mm": "1.5",
        "saw-shortest_strip_mm": "150",
        "saw-hold_tail_mm": "80",
        "saw-spare_segments": "2",
        "lathe-swing_mm": "400",
        "lathe-between_centres_mm": "600",
        "lathe-press_force_n": "1200",
        "lathe-clamp_force_n": "700",
        "room-temperature_c": "−2",
        "room-humidity_percent": "45",
    }
    reply = change("shop", **form)
    assert reply.status_code == 200
    assert drawn()["name"] == "Renamed <b>"
    assert drawn()["saw"]["blade_kerf_mm"] == pytest.approx(3.175)
    assert drawn()["room"]["temperature_c"] == -2
    assert "Renamed <b>" not in reply.text
    assert "Renamed &lt;b&gt;" in reply.text


def test_the_look_is_a_short_description(client, board_id) -> None:
    described = client.get(f"/pieces/{board_id}/drawing-board/look.json").json()
    (part,) = described["parts"]
    assert [ring["n"] for ring in part["rings"]] == [12] * 4
    assert part["rings"][1]["phase"] == 0.5
    assert described["woods"][0]["colour"].startswith("#")


def test_every_panel_opens(client, board_id) -> None:
    for show in (
        "checks",
        "ring",
        "ring&ring=r1",
        "form",
        "pattern",
        "propose",
        "parts",
        "shop",
        "look",
        "drawings",
        "nonsense",
        "ring&ring=%3Cscript%3E",
        "drawings&against=9",
    ):
        reply = client.get(f"/pieces/{board_id}/drawing-board?show={show}")
        assert reply.status_code == 200, show
        assert "<script>" not in reply.text
        assert " style=" not in reply.text


def test_the_pieces_own_glue_can_be_chosen(change, drawn, client, board_id) -> None:
    own = {
        "id": "own-hide",
        "name": "Hide glue, warm",
        "press_minutes": 60,
        "rest_minutes": 60,
        "cure_hours": 24,
        "least_temperature_c": 20,
        "open_minutes": 3,
    }
    revision = client.get(f"/api/pieces/{board_id}").json()["revision"]
    client.put(
        f"/api/pieces/{board_id}",
        json=drawn() | {"glues": [own]},
        headers={"If-Match": str(revision)},
    )
    page = client.get(f"/pieces/{board_id}/drawing-board?show=parts").text
    assert '<option value="own-hide">Hide glue, warm</option>' in page
    rings = [ring["id"] for ring in drawn()["parts"][0]["rings"]]
    change("stack", id="s", name="", mounted="bottom", glue="own-hide", stack_ring=rings)
    assert drawn()["stacks"][0]["glue"] == "own-hide"
