"""What hands do at the drawing board: pulling, painting, turning, with touches like a finger's."""

import io
import json
from typing import Any

import pytest
from fastapi import FastAPI
from page_wait import at_drawing, until
from page_watch import PHONE, TABLET, Visitor
from PIL import Image
from playwright.sync_api import Page
from shapely import LineString, Point
from shop_help import loopback_client

from server.craft.form.curves import Curve, CurvePoint


@pytest.fixture
def bowl_id(page_app: FastAPI, page_port: int) -> str:
    api = loopback_client(page_app)
    form = {
        "name": "By hand",
        "form": "bowl",
        "units": "mm",
        "height": "100",
        "diameter": "240",
        "wood": "cherry-black",
    }
    made = api.post("/pieces/new", data=form, follow_redirects=False)
    assert made.status_code == 303, made.text
    return str(made.headers["location"].split("/")[2])


def drawn(app: FastAPI, piece: str) -> dict[str, Any]:
    kept: dict[str, Any] = loopback_client(app).get(f"/api/pieces/{piece}").json()
    return kept


def middle(page: Page, selector: str) -> tuple[float, float]:
    box = page.locator(selector).first.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


class Fingers:
    """Fingers on the glass, as the browser's own input sees them; one session a gesture."""

    def __init__(self, page: Page) -> None:
        self.session = page.context.new_cdp_session(page)

    def __call__(self, kind: str, *points: tuple[float, float]) -> None:
        at = [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(points)]
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})


def drag(page: Page, start: tuple[float, float], by: tuple[float, float], steps: int = 8) -> None:
    touch = Fingers(page)
    touch("touchStart", start)
    for k in range(1, steps + 1):
        touch("touchMove", (start[0] + by[0] * k / steps, start[1] + by[1] * k / steps))
    touch("touchEnd")


@pytest.mark.parametrize("size", [TABLET, PHONE], ids=["tablet", "phone"])
def test_a_point_is_pulled_with_a_finger_and_the_wall_comes_along(
    visitor: Visitor, page_app: FastAPI, bowl_id: str, size: dict[str, Any]
) -> None:
    before = drawn(page_app, bowl_id)["piece"]["parts"][0]
    page = visitor.open(f"/pieces/{bowl_id}/drawing-board?show=form", size)
    page.locator(".form-editor[data-ready=yes]").wait_for()
    page.locator("svg.form-sheet").scroll_into_view_if_needed()
    number = len(before["outside"]["points"]) - 2
    selector = f".handle.outside[data-index='{number}'] .hit"
    start = middle(page, selector)
    drag(page, start, (-30, 0))
    at_drawing(page, 2)
    after = drawn(page_app, bowl_id)["piece"]["parts"][0]
    old, new = (part["outside"]["points"][number]["r_mm"] for part in (before, after))
    assert new < old - 2
    assert (2 * new) % 1 == pytest.approx(0, abs=1e-6)  # snapped to a whole millimetre across
    inner = [p["r_mm"] for p in after["inside"]["points"]]
    assert inner != [p["r_mm"] for p in before["inside"]["points"]]
    page.reload()
    page.get_by_role("button", name="Undo").tap()
    at_drawing(page, 3)
    assert drawn(page_app, bowl_id)["piece"]["parts"][0] == before


def test_two_fingers_come_nearer_and_one_on_paper_pushes_it(
    visitor: Visitor, page_app: FastAPI, bowl_id: str
) -> None:
    page = visitor.open(f"/pieces/{bowl_id}/drawing-board?show=form")
    page.locator(".form-editor[data-ready=yes]").wait_for()
    sheet = page.locator("svg.form-sheet")
    box = sheet.bounding_box()
    assert box is not None

    def view() -> list[float]:
        return [float(v) for v in (sheet.get_attribute("viewBox") or "").split()]

    first = view()
    x, y = box["x"] + box["width"] / 2, box["y"] + 60
    touch = Fingers(page)
    touch("touchStart", (x - 40, y), (x + 40, y))
    for k in range(1, 6):
        touch("touchMove", (x - 40 - 8 * k, y), (x + 40 + 8 * k, y))
    touch("touchEnd")
    near = view()
    assert near[2] < 0.7 * first[2]
    drag(page, (box["x"] + 40, box["y"] + 40), (50, 20))
    pushed = view()
    assert pushed[0] < near[0]
    assert pushed[2] == pytest.approx(near[2])
    assert drawn(page_app, bowl_id)["revision"] == 1


def test_numbers_follow_while_the_form_is_in_the_hand(visitor: Visitor, bowl_id: str) -> None:
    page = visitor.open(f"/pieces/{bowl_id}/drawing-board?show=form")
    page.locator(".form-editor[data-ready=yes]").wait_for()
    held = page.locator("#trial dd").nth(1)
    before = held.inner_text()
    start = middle(page, ".handle.outside[data-index='3'] .hit")
    touch = Fingers(page)
    touch("touchStart", start)
    for k in range(1, 5):
        touch("touchMove", (start[0] - 12 * k, start[1]))
    until(page, "was => document.querySelectorAll('#trial dd')[1].innerText !== was", before)
    assert "drawing 1" in page.locator("#subtitle").inner_text()
    touch("touchEnd")
    at_drawing(page, 2)


def test_the_wall_is_painted_with_a_finger(
    visitor: Visitor, page_app: FastAPI, bowl_id: str
) -> None:
    page = visitor.open(f"/pieces/{bowl_id}/drawing-board?show=pattern")
    page.locator(".painter[data-ready=yes]").wait_for()
    page.locator("[data-other-wood]").select_option("holly")
    ring = drawn(page_app, bowl_id)["piece"]["parts"][0]["rings"][2]["id"]
    start = middle(page, f"[data-seg='{ring}:3']")
    end = middle(page, f"[data-seg='{ring}:5']")
    drag(page, start, (end[0] - start[0], 0), steps=12)
    at_drawing(page, 2)
    woods = drawn(page_app, bowl_id)["piece"]["parts"][0]["rings"][2]["woods"]
    assert [k for k, wood in enumerate(woods) if wood == "holly"] == [3, 4, 5]
    # The brush is still in the same wood.
    until(page, "document.querySelector('.brush-form input[name=wood]:checked').value === 'holly'")


def test_from_a_starting_form_to_a_finished_drawing(visitor: Visitor, page_app: FastAPI) -> None:
    """All by touch: form, rings, paint, veneer, photo, picture as pattern, undo after a reload."""
    page = visitor.open("/pieces/new")
    page.get_by_text("Deep bowl", exact=True).tap()
    page.get_by_label("Name of the piece").fill("By touch")
    page.get_by_role("button", name="Draw it").tap()
    at_drawing(page, 1)
    piece = page.url.split("/")[4]

    def rings() -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = drawn(page_app, piece)["piece"]["parts"][0]["rings"]
        return found

    page.get_by_role("link", name="Propose", exact=True).tap()
    page.get_by_label("Thickest ring").fill("3/4")
    page.get_by_label("Or this many").fill("16")
    page.get_by_label("No wider than").uncheck()
    page.get_by_role("button", name="Propose rings").tap()
    at_drawing(page, 2)
    assert all(ring["segments"] == 16 for ring in rings())

    page.get_by_role("link", name="Pattern", exact=True).tap()
    page.locator(".painter[data-ready=yes]").wait_for()
    page.locator("[data-other-wood]").select_option("holly")
    page.get_by_text("every", exact=True).tap()
    number = len(rings()) - 2
    ring = rings()[number]["id"]
    page.touchscreen.tap(*middle(page, f".paint-wall [data-seg='{ring}:3']"))
    at_drawing(page, 3)
    assert [k for k, wood in enumerate(rings()[number]["woods"] * 8) if wood == "holly"][:2] == [
        1,
        3,
    ]

    page.get_by_role("link", name="Ring", exact=True).tap()
    page.locator(".ring-link").nth(2).tap()
    page.get_by_label("Made as").select_option("veneer")
    at_drawing(page, 4)
    assert [ring.get("kind") for ring in rings()].count("veneer") == 1

    page.get_by_role("link", name="Form", exact=True).tap()
    page.get_by_label("Picture, JPEG or PNG").set_input_files(sketch())
    page.get_by_role("button", name="Lay it under").tap()
    at_drawing(page, 5)
    page.locator(".underlay image").wait_for(state="attached")
    scale_by_two_taps(page)
    at_drawing(page, 6)
    under = drawn(page_app, piece)["piece"]["parts"][0]["extra"]["underlay"]
    assert under["sha256"]

    page.get_by_role("link", name="Pattern", exact=True).tap()
    page.locator("#pattern-picture").set_input_files(sketch())
    page.get_by_role("button", name="Make it the pattern").tap()
    at_drawing(page, 7)
    pattern = rings()
    page.reload()
    page.get_by_role("button", name="Undo").tap()
    at_drawing(page, 8)
    assert rings() != pattern
    assert drawn(page_app, piece)["piece"]["parts"][0]["extra"]["underlay"] == under
    page.get_by_role("button", name="Redo").tap()
    at_drawing(page, 9)
    assert rings() == pattern


def sketch() -> Any:
    """A picture to lay under a form or round a wall: dark at the top, light at the foot."""
    out = io.BytesIO()
    Image.linear_gradient("L").convert("RGB").save(out, "PNG")
    return {"name": "sketch.png", "mimeType": "image/png", "buffer": out.getvalue()}


def scale_by_two_taps(page: Page) -> None:
    page.get_by_role("button", name="Two points").tap()
    box = page.locator("svg.form-sheet").bounding_box()
    assert box is not None
    for share in (0.8, 0.3):
        page.touchscreen.tap(box["x"] + box["width"] * 0.5, box["y"] + box["height"] * share)
    page.get_by_label("They are apart").fill("4")
    page.get_by_role("button", name="Scale it").tap()


def test_a_ring_is_painted_from_above(visitor: Visitor, page_app: FastAPI, bowl_id: str) -> None:
    page = visitor.open(f"/pieces/{bowl_id}/drawing-board?show=pattern", PHONE)
    page.locator(".painter[data-ready=yes]").wait_for()
    page.get_by_role("link", name="The ring below").tap()
    part = drawn(page_app, bowl_id)["piece"]["parts"][0]
    ring = part["rings"][-2]["id"]
    page.locator(f".paint-ring [data-seg='{ring}:0']").first.wait_for()
    page.locator("[data-other-wood]").select_option("wenge")
    page.locator(".paint-ring").scroll_into_view_if_needed()
    start, end = (middle(page, f".paint-ring .hit[data-seg='{ring}:{k}']") for k in (0, 1))
    drag(page, start, (end[0] - start[0], end[1] - start[1]))
    at_drawing(page, 2)
    woods = drawn(page_app, bowl_id)["piece"]["parts"][0]["rings"][-2]["woods"]
    assert [k for k, wood in enumerate(woods) if wood == "wenge"] == [0, 1]
    # The same segments are painted on the wall, and the ring is still the one looked at.
    colour = page.locator(f".paint-wall [data-seg='{ring}:1']").first.get_attribute("fill")
    assert page.locator(f".paint-ring [data-seg='{ring}:1']").first.get_attribute("fill") == colour


def test_several_rings_are_ticked_and_set(
    visitor: Visitor, page_app: FastAPI, bowl_id: str
) -> None:
    page = visitor.open(f"/pieces/{bowl_id}/drawing-board?show=ring")
    page.get_by_role("link", name="Several at once").tap()
    page.get_by_role("button", name="Every second").tap()
    page.get_by_label("Segments", exact=True).fill("14")
    page.get_by_role("button", name="Set them all").tap()
    at_drawing(page, 2)
    rings = drawn(page_app, bowl_id)["piece"]["parts"][0]["rings"]
    assert [ring["segments"] == 14 for ring in rings] == [k % 2 == 1 for k in range(len(rings))]
    page.reload()
    assert page.locator("input[name=pick]:checked").count() == len(rings) // 2
    page.get_by_role("button", name="Split each in two").tap()
    at_drawing(page, 3)


def test_a_wall_from_one_thickness_to_another(
    visitor: Visitor, page_app: FastAPI, bowl_id: str
) -> None:
    page = visitor.open(f"/pieces/{bowl_id}/drawing-board?show=form")
    page.locator(".form-editor[data-ready=yes]").wait_for()
    page.locator("[data-tool=high]").fill("4")
    page.locator("[data-tool=high]").press("Tab")
    at_drawing(page, 2)
    page.locator("[data-tool=low]").fill("9")
    page.locator("[data-tool=low]").press("Tab")
    at_drawing(page, 3)
    tapers(drawn(page_app, bowl_id)["piece"]["parts"][0], 9, 4)
    page.locator(".form-editor[data-ready=yes]").wait_for()
    start = middle(page, ".handle.outside[data-index='3'] .hit")
    drag(page, start, (-25, 6))
    at_drawing(page, 4)
    tapers(drawn(page_app, bowl_id)["piece"]["parts"][0], 9, 4)


def tapers(part: dict[str, Any], floor_mm: float, rim_mm: float) -> None:
    """Between floor and rim the wall, measured square to the outside, goes from one to the other.

    Measured by shapely's distance from each inside point to the outside as the server draws it.
    """
    outside = LineString(curve_of(part, "outside").polyline(200))
    walls = [
        outside.distance(Point(p["r_mm"], p["z_mm"]))
        for p in part["inside"]["points"][2:]  # the first two are the floor's
    ]
    assert walls == sorted(walls, reverse=True)
    assert walls[-1] == pytest.approx(rim_mm, abs=0.3)
    assert all(rim_mm - 0.3 <= wall <= floor_mm + 0.3 for wall in walls)


def curve_of(part: dict[str, Any], name: str) -> Curve:
    points = part[name]["points"]
    return Curve.through([CurvePoint(p["r_mm"], p["z_mm"], p.get("corner", False)) for p in points])


def test_the_piece_is_built_in_three_dimensions(visitor: Visitor, bowl_id: str) -> None:
    visitor.allowed = ("GPU stall", "WebGL", "GL Driver")
    page = visitor.open(f"/pieces/{bowl_id}/drawing-board?show=look")
    page.locator(".model[data-built=yes]").wait_for(timeout=60_000)
    shown = page.locator(".model-canvas")
    assert shown.count() == 1
    frames = int(page.locator(".model").get_attribute("data-frames") or 0)
    page.get_by_role("button", name="Cut away").tap()
    page.get_by_label("Apart").fill("60")
    until(page, "was => Number(document.querySelector('.model').dataset.frames) > was", frames)
    size = len(page.request.get(f"{page.url.split('?')[0]}/look.json").body())
    assert size < 50_000


def test_the_browser_draws_the_same_curve_as_the_server(visitor: Visitor, bowl_id: str) -> None:
    points = [(20, 0, True), (55, 12, False), (71, 40, False), (50, 78, False), (64, 90, True)]
    page = visitor.open(f"/pieces/{bowl_id}/drawing-board?show=form")
    spans = page.evaluate(
        """async points => {
          const { spansThrough } = await import('/static/js/board/curve.js');
          return spansThrough(points.map(([r, z, c]) => ({ r, z, c })));
        }""",
        json.loads(json.dumps(points)),
    )
    server = Curve.through([CurvePoint(*p) for p in points]).spans
    assert len(spans) == len(server)
    for mine, theirs in zip(spans, server, strict=True):
        for (r, z), (sr, sz) in zip(mine, theirs, strict=True):
            assert r == pytest.approx(sr, abs=1e-9)
            assert z == pytest.approx(sz, abs=1e-9)
