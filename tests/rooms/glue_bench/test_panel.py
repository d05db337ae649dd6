"""The lit panel in every state, and the whole job done by its one blue button."""

import html
import re

import pytest
from live_shop import goblet


def plain(page: str) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page)))


AT_A = {"stack": "low", "faceplate": "A", "minutes": 30, "glue": "pva-yellow"}


def test_nothing_yet_sends_to_the_saw(bench):
    panel = bench.panel()
    assert "Next: cut 8 segments of ring 1." in panel
    assert "To the saw bench" in panel
    assert "nothing yet" in panel


def test_a_piece_without_stacks_says_where_they_are_drawn(bench_of):
    document = goblet() | {"stacks": []}
    bench = bench_of(document)
    page = bench.page()
    assert "No stack is drawn yet" in page
    assert "On no stack" in page
    assert "Nothing to glue" in bench.panel()


def test_pressing_shows_the_end_and_what_to_do_meanwhile(bench):
    bench.say("clamped", "c1", 10, data=AT_A)
    panel = bench.panel()
    assert "In the press until" in panel
    assert re.search(r"\b(20:00|19:5\d)\b", panel)
    assert "Ring 1 of 6" in panel
    assert "A is out early" in panel
    assert "+5 min" in panel


def test_overdue_counts_up_ticks_nothing_and_offers_quiet(bench):
    bench.say("clamped", "c1", 45, data=AT_A)
    panel = bench.panel()
    assert "Press time is over, since" in panel
    assert re.search(r"\+1[45]:\d\d", panel)
    assert "Nothing is ticked for you." in panel
    assert "A is out of the press" in panel
    assert "Quiet on all devices" in panel


def test_half_rings_that_have_set_can_be_quieted(bench):
    bench.say("halves-glued", "c1", 45, data={"minutes": 30})
    panel = bench.panel()
    assert "Next: true the half rings of ring 1." in panel
    assert "Quiet on all devices" in panel
    timer = bench.client.get("/api/ledger").json()["items"][0]["id"]
    bench.say("note", "c1", data={"heard": timer})
    assert "Quiet" not in bench.panel()


def test_five_minutes_more_move_the_end(bench):
    bench.say("clamped", "c1", 32, data=AT_A)
    bench.tap("more-minutes")
    panel = bench.panel()
    assert "In the press until" in panel
    assert "35 min, 5 added" in panel


def test_the_bench_s_book_says_since_when_one_is_in_and_what_notes_are_about(bench):
    bench.say("clamped", "c1", 12, data={"stack": "low", "faceplate": "A", "minutes": 30})
    for subject in ("low", "cup", "cup:low:rough", bench.piece):
        bench.say("note", subject, note="Seen")
    said = plain(bench.page())
    assert re.search(r"In the press so far A Ring 1 , in since \d\d:\d\d", said)
    for about in ("Faceplate A", "Cup", "At the lathe", "The piece"):
        assert about in said
    assert "cup:low:rough" not in said


def test_out_of_the_press_starts_the_rest_and_undo_takes_it_back(bench):
    bench.say("clamped", "c1", 40, data=AT_A)
    bench.tap("act")
    page = bench.page()
    assert "Resting" in page
    bench.tap("undo")
    assert "Press time is over" in bench.panel()


def test_the_press_is_begun_with_the_glues_own_time_and_the_shops_air(bench):
    bench.say("measured", "low", data={"quantity": "temperature_c", "value": 8.0})
    bench.ready("c1")
    (said,) = bench.button("act")
    # Eight degrees are ten below 18 °C: press and rest take twice as long.
    assert said["data"]["minutes"] == 60
    assert said["data"]["temperature_c"] == 8.0
    assert said["data"]["humidity_percent"] == 50
    assert said["data"]["glue"] == "pva-yellow"


def test_too_cold_is_said_before_the_glue_is_opened(bench):
    bench.say("measured", "low", data={"quantity": "temperature_c", "value": 4.0})
    bench.say("dry-fitted", "c1")
    assert "Too cold to glue" in bench.panel()
    assert "too cold for this glue" in bench.page()


def test_two_said_different_are_named_and_settled(bench):
    tick = bench.say("trued", "c1", device="Tablet")
    undo = bench.say("undone", "c1", undoes=tick["id"], device="Tablet")
    bench.say("trued", "c1", device="Phone", seen_seq=0)
    panel = bench.panel()
    assert "Two said different about ring 1" in panel
    assert "Tablet: ring 1 not trued" in panel
    assert "Phone: ring 1 trued" in panel
    assert undo["seq"] == 2
    before = bench.page()
    assert before.count('class="tick ticked"') == 0
    settle(bench, "It is: trued")
    after = bench.page()
    assert "Two said different" not in after
    assert after.count('class="tick ticked"') == 1


def settle(bench, label: str) -> None:
    import html
    import json

    found = re.search(rf'data-say="([^"]*)"[^>]*><span>{label}', bench.page())
    assert found is not None
    said = json.loads(html.unescape(found.group(1)))
    for one in said if isinstance(said, list) else [said]:
        bench.write(one)


def test_two_rings_in_one_press_are_settled_either_way(bench):
    bench.say("clamped", "c1", data=AT_A, device="Tablet", seen_seq=0)
    bench.say("clamped", "c2", data=AT_A, device="Phone", seen_seq=0)
    assert "Ring 1 is in that press already" in bench.panel()
    settle(bench, "It is: in the press")
    panel = bench.panel()
    assert "Two said different" not in panel
    assert "Ring 2 of 6" in panel


def test_the_blue_button_alone_builds_the_whole_cup(bench):
    """From nothing to three stacks that wait for the lathe, each ring in its order."""
    for ring, count in (("c1", 8), ("c2", 8), ("c3", 12), ("c4", 12), ("c5", 12), ("c6", 12)):
        bench.say("cut", ring, data={"count": count})
    for ring in ("f1", "f2"):
        bench.say("cut", ring, data={"count": 8})
    taps = 0
    minutes = 5000.0
    while "To the lathe" not in bench.panel():
        said = bench.button("act")
        # Each step an hour after the last, so that nothing rests or is pressed meanwhile.
        for one in said:
            bench.write(one, minutes)
        minutes -= 60
        taps += 1
        assert taps < 80
    floor = bench.page()
    assert taps == 8 * 7, "five ticks, in and out for each of eight rings"
    assert floor.count("on the stack") == 8
    order = [e["subject"] for e in ledger(bench) if e["kind"] == "released"]
    stacks = {"low": ["c1", "c2", "c3"], "rim": ["c6", "c5", "c4"], "base": ["f1", "f2"]}
    for rings in stacks.values():
        assert [ring for ring in order if ring in rings] == rings


def ledger(bench):
    return bench.client.get(f"/api/ledger?piece={bench.piece}").json()["items"]


def test_an_exchange_gets_the_sheet_alone(bench):
    sheet = bench.page(exchange=True)
    assert sheet.lstrip().startswith('<div class="glue')
    assert "<html" not in sheet


def test_an_unknown_piece_is_not_there(client):
    assert client.get("/pieces/nobody/glue-bench").status_code == 404


def test_the_bare_address_leads_to_the_piece_worked_on_last(bench, bench_of, client):
    other = bench_of(goblet() | {"name": "Other cup"})
    bench.say("dry-fitted", "c1")
    reply = client.get("/glue-bench", follow_redirects=False)
    assert reply.headers["location"] == bench.address
    other.say("dry-fitted", "c1")
    reply = client.get("/glue-bench", follow_redirects=False)
    assert reply.headers["location"] == other.address


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", 'a" onclick="x', "Cup \u202e rim"])
def test_names_are_text(bench_of, name):
    document = goblet() | {"name": name}
    document["stacks"][0]["name"] = name
    bench = bench_of(document)
    bench.say("note", "c1", note=name, device=name)
    page = bench.page()
    assert "<script>alert" not in page
    assert 'onclick="x"' not in page


def test_every_button_that_writes_is_taken_by_the_ledger(bench):
    """Each `data-say` of the page is a line that the server accepts."""
    import html
    import json

    bench.say("clamped", "c1", 45, data=AT_A)
    bench.ready("c2")
    said = [json.loads(html.unescape(s)) for s in re.findall(r'data-say="([^"]*)"', bench.page())]
    assert len(said) > 40
    for one in said:
        for line in one if isinstance(one, list) else [one]:
            bench.write(line)
