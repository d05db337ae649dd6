"""The lathe's page through the server's own replies: gates, ticks, measures, figures."""

import html
import json
import math
import re
import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient
from pdf_reader import words as pdf_words

from server.craft.document import parse_piece
from server.craft.lathe.joints import MORTISE, RUN_OUT
from server.craft.lathe.steps import CAUTION_WORDS, Caution, Step, Work
from server.craft.lathe.steps_piece import lathe_steps
from server.craft.worked.piece import work_piece
from server.demo import demo_piece
from server.exports.templates.cards import stem_templates
from server.rooms.lathe.bench import jaws_of
from server.rooms.lathe.stems import as_long_as


class LatheClient:
    """The page of one piece, and a finger that taps its buttons."""

    def __init__(self, client: TestClient, document: dict[str, Any] | None = None) -> None:
        self.client, self.document = client, document or demo_piece()
        reply = client.post("/api/pieces", json=self.document)
        assert reply.status_code == 201, reply.text
        self.piece = reply.json()["id"]
        self.steps = lathe_steps(work_piece(parse_piece(self.document)))

    def page(self, step: str = "", **headers: str) -> str:
        params = {"step": step} if step else {}
        reply = self.client.get(f"/pieces/{self.piece}/lathe", params=params, headers=headers)
        assert reply.status_code == 200, reply.text
        return reply.text

    def write(self, kind: str, subject: str, hours_ago: float = 0, **more: Any) -> None:
        at = datetime.now(UTC) - timedelta(hours=hours_ago)
        entry = {
            "id": str(uuid.uuid4()),
            "piece": self.piece,
            "kind": kind,
            "subject": subject,
            "at": at.isoformat(),
            **more,
        }
        reply = self.client.post("/api/ledger", json=entry)
        assert reply.status_code == 200, reply.text

    def glue_all(self, hours_ago: float) -> None:
        for stack in self.document["stacks"]:
            for ring in stack["rings"]:
                data = {"stack": stack["id"], "minutes": 30}
                self.write("clamped", ring, hours_ago + 0.5, data=data)
                data = {"stack": stack["id"], "rest_minutes": 20, "cure_hours": 24}
                self.write("released", ring, hours_ago, data=data)

    def tap(self, page: str, button: str) -> None:
        found = re.search(rf'<button[^>]*id="{button}"[^>]*data-say="([^"]*)"', page)
        assert found is not None, f"no button {button}"
        said = json.loads(html.unescape(found.group(1)))
        words, mark = said.pop("words"), said.pop("mark", None)
        assert words
        assert mark is None or mark.startswith(("turned:", "bored:", "measured:"))
        self.write(said.pop("kind"), said.pop("subject"), **said)

    def do(self, step: Step) -> None:
        if step.quantity is not None:
            value_mm = 0.1 if step.quantity == RUN_OUT else 12.93
            data = {"quantity": step.quantity, "value_mm": value_mm}
            self.write("measured", step.subject, data=data)
        else:
            self.tap(self.page(step.id), "act")


@pytest.fixture
def lathe(client: TestClient) -> LatheClient:
    return LatheClient(client)


def words(page: str) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)))


def test_every_step_of_the_piece_has_its_page_in_light_of_its_gate(lathe):
    for step in lathe.steps:
        page = lathe.page(step.id)
        said = words(page)
        assert step.title in said
        assert said.count(step.words) == 1
        shut = bool(step.needs or step.after)
        assert ("Not yet" in said) is shut, step.id
        assert ('id="act"' in page) is not shut, step.id
        # Never a bare speed: the caution stands beside it.
        assert "Speed, not above" not in said or "Before switching on" in said, step.id


def test_a_shut_step_says_when_it_opens(lathe):
    lathe.glue_all(hours_ago=4)
    first = next(step for step in lathe.steps if step.needs)
    said = words(lathe.page(first.id))
    assert "The glue has not cured" in said
    assert "It opens in 20 h" in said


def test_from_the_last_ring_to_signed_by_taps_alone(lathe):
    lathe.glue_all(hours_ago=80)
    for step in lathe.steps:
        if step.work in (Work.JOIN, Work.MOUNT, Work.ASSEMBLE):
            # Glued long enough ago, so that what comes after need not wait for the cure.
            lathe.write("turned", step.subject, hours_ago=40)
        else:
            lathe.do(step)
    last = words(lathe.page(lathe.steps[-1].id))
    assert "Done," in last
    assert f"{len(lathe.steps)} of {len(lathe.steps)}" in last


def test_a_tick_that_comes_before_its_turn_is_kept_shown_and_opens_nothing(lathe):
    # No button of the page sends it; another program or a device that was away may.
    lathe.glue_all(hours_ago=40)
    first, early, after = [step for step in lathe.steps if step.part == "foot"][:3]
    lathe.write("turned", early.subject)
    page = lathe.page(early.id)
    said = words(page)
    assert "before its turn" in said
    assert f"First: {first.title}." in said
    assert 'id="act"' not in page
    assert 'id="act"' not in lathe.page(after.id)
    assert "too early" in words(lathe.page(first.id))
    journal = lathe.client.get(f"/pieces/{lathe.piece}/journal").text
    assert "Ticked before its turn" in words(journal)
    assert f"First: {first.title}." in words(journal)
    lathe.do(first)
    assert "before its turn" in words(lathe.page(early.id))
    assert 'id="act"' in lathe.page(after.id)


def test_a_tick_before_its_turn_can_be_taken_back(lathe):
    lathe.glue_all(hours_ago=40)
    first, early = [step for step in lathe.steps if step.part == "foot"][:2]
    lathe.write("turned", early.subject)
    lathe.tap(lathe.page(early.id), "undo")
    assert "before its turn" not in words(lathe.page(early.id))
    assert "Not yet" in words(lathe.page(early.id))
    journal = words(lathe.client.get(f"/pieces/{lathe.piece}/journal").text)
    assert "taken back" in journal
    assert "before its turn" not in journal
    assert 'id="act"' in lathe.page(first.id)


def test_undo_takes_the_newest_step_back(lathe):
    lathe.glue_all(hours_ago=40)
    first = next(step for step in lathe.steps if step.needs)
    lathe.do(first)
    page = lathe.page(first.id)
    assert "Done," in words(page)
    lathe.tap(page, "undo")
    assert 'id="act"' in lathe.page(first.id)


def test_a_step_that_was_just_done_gives_way_to_the_next(lathe):
    lathe.glue_all(hours_ago=40)
    first, after = [step for step in lathe.steps if step.part == "bowl"][:2]
    lathe.do(first)
    reply = lathe.client.get(
        f"/pieces/{lathe.piece}/lathe",
        params={"step": first.id, "was": "open"},
        headers={"HX-Request": "true"},
    )
    assert reply.status_code == 200
    assert "<html" not in reply.text
    title = re.search(r'id="step-title">.*?</h2>', reply.text, re.S)
    assert title is not None
    assert after.title in words(title.group())


def test_the_tenon_follows_the_measured_mortise(lathe):
    joint = lathe.document["joints"][0]
    tenon = next(s for s in lathe.steps if s.joint == joint["id"] and s.work.value == "tenon")
    assert "measure the mortise first" in words(lathe.page(tenon.id))
    data = {"quantity": MORTISE, "value_mm": 12.93}
    lathe.write("measured", joint["id"], data=data)
    said = words(lathe.page(tenon.id))
    clearance = joint.get("clearance_mm", 0.15)
    in_mm, in_inch = f"{12.93 - clearance:.2f} mm", f"{(12.93 - clearance) / 25.4:.3f}″"
    assert in_mm.removesuffix(" mm") in said or in_inch in said


def said_speed(page: str) -> tuple[float, float, float]:
    """Speed, rim speed and diameter as a step says them, of a piece in millimetres."""
    found = re.search(r"([\d.]+) rpm rim ([\d.]+) m/s at Ø (\d+) mm", words(page))
    assert found is not None
    rpm, rim, across = (float(number) for number in found.groups())
    return rpm, rim, across


def test_speeds_go_by_what_is_on_the_lathe_and_the_rim_by_the_speed_that_is_said(client):
    lathe = LatheClient(client, demo_piece() | {"display_units": "mm"})
    spinning = 0
    for step in lathe.steps:
        page = lathe.page(step.id)
        if "rpm" in words(page):
            rpm, rim, across = said_speed(page)
            # v = π·d·n; Ø is said to the whole millimetre, the rim speed to 0.1 m/s.
            slack = math.pi * 0.5 * rpm / 60_000 + 0.05
            assert rim == pytest.approx(math.pi * across * rpm / 60_000, abs=slack + 1e-9)
            assert rpm <= 1500, "nothing is round yet"
            spinning += 1
    assert spinning > 10
    stem = next(part for part in lathe.document["parts"] if part["kind"] == "spindle")
    first, *_, last = [step for step in lathe.steps if step.part == stem["id"]]
    radius = max(point["r_mm"] for point in stem["outside"]["points"])
    side = 2 * (radius + lathe.document["allowance"]["outside_mm"])
    assert said_speed(lathe.page(first.id))[2] == pytest.approx(side * 2**0.5, abs=2)
    lathe.do(first)
    assert said_speed(lathe.page(last.id))[2] == pytest.approx(side, abs=2)


def test_the_end_that_a_stem_stands_on_is_a_shoulder_and_no_foot(lathe):
    bottom = {step.part: step for step in lathe.steps if step.work is Work.BOTTOM}
    assert "shoulder" in bottom["bowl"].title
    said = words(lathe.page(bottom["bowl"].id))
    assert "so that the joint closes" in said
    assert "Shoulder across" in said
    assert "over the mortise" in said
    assert "Foot across" not in said
    foot = words(lathe.page(bottom["foot"].id))
    assert "so that it stands on its rim" in foot
    assert "Foot across" in foot
    top = next(s for s in lathe.steps if s.part == "foot" and s.title == "Sand and finish the top")
    assert "Foot across" not in words(lathe.page(top.id))


def test_a_stem_s_blank_has_wood_to_spare_for_centres_and_parting(client):
    lathe = LatheClient(client, demo_piece() | {"display_units": "mm"})
    size = next(step for step in lathe.steps if step.work is Work.SIZE)
    said = words(lathe.page(size.id))
    turned, blank = (
        float(re.search(rf"{label} ([\d.]+) mm", said).group(1))
        for label in ("With its tenons", "Blank, cut to")
    )
    assert blank == pytest.approx(turned + 20)


def test_the_stem_is_printed_as_long_as_its_measured_neighbours_leave_it(client):
    lathe = LatheClient(client, demo_piece() | {"display_units": "mm"})
    size = next(step for step in lathe.steps if step.work is Work.SIZE)
    part = {part["id"]: part for part in lathe.document["parts"]}
    drawn_mm, foot_mm = (
        max(point["z_mm"] for point in part[name]["outside"]["points"])
        for name in (size.part, "foot")
    )
    lathe.write("measured", "foot", data={"quantity": "part_height", "value_mm": foot_mm + 7})
    page = lathe.page(size.id)
    seen = re.search(r"Between the shoulders ([\d.]+) mm", words(page))
    assert seen is not None
    assert float(seen.group(1)) == pytest.approx(drawn_mm - 7, abs=0.051)
    (template,) = stem_templates(as_long_as(lathe.document, size.part, drawn_mm - 7), size.part)
    outline = template.strokes[0].points
    assert np.ptp(outline[:, 1]) == pytest.approx(drawn_mm - 7)
    widest = max(point["r_mm"] for point in part[size.part]["outside"]["points"])
    assert np.ptp(outline[:, 0]) == pytest.approx(2 * widest, abs=0.1)
    address = re.search(r'href="([^"]*stem\.pdf[^"]*)"', page)
    assert address is not None
    printed = client.get(html.unescape(address.group(1)))
    assert printed.headers["content-type"] == "application/pdf"
    assert "full outline, both sides" in " ".join(pdf_words(printed.content))
    gone = {"quantity": "part_height", "value_mm": foot_mm + drawn_mm + 1}
    lathe.write("measured", "foot", data=gone)
    assert "stem.pdf" not in lathe.page(size.id)
    assert client.get(html.unescape(address.group(1))).status_code == 409
    assert client.get(f"/pieces/{lathe.piece}/lathe/stem.pdf?part=foot").status_code == 404


def test_cautions_stand_at_every_step_that_spins(lathe):
    for step in lathe.steps:
        if step.cautions:
            said = words(lathe.page(step.id))
            spins = Caution.SWITCH_ON in step.cautions
            assert ("Before switching on" in said) == spins
            assert all(CAUTION_WORDS[caution] in said for caution in step.cautions)
            assert "manual" in said


def test_no_page_has_a_style_attribute_or_an_inline_script(lathe):
    for step in lathe.steps[::5]:
        page = lathe.page(step.id)
        assert " style=" not in page
        assert not re.search(r"<script(?![^>]*src=)", page)


def test_the_bare_address_leads_to_a_piece(lathe):
    reply = lathe.client.get("/lathe", follow_redirects=False)
    assert reply.status_code == 303
    assert reply.headers["location"] == f"/pieces/{lathe.piece}/lathe"


def test_an_unknown_piece_is_not_found_and_an_unknown_step_is_the_next_one(lathe):
    assert lathe.client.get("/pieces/nowhere/lathe").status_code == 404
    assert "step-title" in lathe.page("no-such-step")


def test_jaws_of_the_shop_are_named_where_they_hold(lathe):
    shop = {
        "jaws": [
            {"name": "50 mm", "closes_from_mm": 45, "closes_to_mm": 58, "opens_from_mm": True},
            "not jaws",
        ]
    }
    (jaws,) = jaws_of(shop)
    assert (jaws.name, jaws.closes_from_mm, jaws.opens_from_mm) == ("50 mm", 45.0, None)
    assert jaws_of({}) == ()
