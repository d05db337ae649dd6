"""One line: what to do now, and why."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.craft.document import parse_piece
from server.craft.floor import RingOrder, StackOrder, fold, what_next
from server.craft.floor.next_thing import SIGNED
from server.craft.floor.state import RING_TICKS
from server.craft.lathe.steps_piece import lathe_steps
from server.craft.ledger import Kind
from server.craft.worked.piece import work_piece
from server.demo import demo_piece


@pytest.fixture
def stacks():
    low = StackOrder(
        "low", "Bowl, lower", "A", tuple(RingOrder(f"b{n}", f"{n}", 12) for n in (1, 2))
    )
    up = StackOrder("up", "Bowl, upper", "B", tuple(RingOrder(f"b{n}", f"{n}", 12) for n in (4, 3)))
    return (low, up)


def ready(log, ring):
    for kind in RING_TICKS:
        log.say(kind, ring)


def thing(stacks, log, now=None):
    now = now or log.now
    return what_next(stacks, fold(log.entries, now=now), now)


def test_no_stack_is_nothing_to_glue(log):
    assert thing((), log).action == "nothing"


def test_first_the_segments_are_cut(stacks, log):
    log.say(Kind.CUT, "b1", count=11)
    found = thing(stacks, log)
    assert (found.action, found.ring, found.do) == ("cut", "b1", "Cut 1 segment of ring 1")


def test_a_ring_that_is_dry_fitted_has_been_cut_whatever_was_counted(stacks, log):
    log.say(Kind.DRY_FITTED, "b1")
    found = thing(stacks, log)
    assert (found.action, found.kind) == ("tick", Kind.HALVES_GLUED)


def test_ticks_follow_the_furthest_one_made(stacks, log):
    log.say(Kind.TRUED, "b1")
    assert thing(stacks, log).kind is Kind.CLOSED


def test_a_ready_ring_goes_in_the_free_press(stacks, log):
    ready(log, "b1")
    found = thing(stacks, log)
    assert (found.action, found.do) == ("clamp", "Put ring 1 in the press on A")


def test_while_one_is_pressed_the_next_is_prepared(stacks, log):
    ready(log, "b1")
    log.say(Kind.CLAMPED, "b1", stack="low", faceplate="A", minutes=30)
    log.say(Kind.CUT, "b4", count=12)
    found = thing(stacks, log)
    assert (found.ring, found.kind) == ("b4", Kind.DRY_FITTED)
    assert found.why == "It can go in the press on B at 12:36."


def test_a_second_ready_ring_does_not_go_in_a_press_that_is_taken(stacks, log):
    ready(log, "b1")
    ready(log, "b4")
    log.say(Kind.CLAMPED, "b1", stack="low", faceplate="A", minutes=30)
    assert thing(stacks, log).action == "cut"


def test_an_overdue_press_comes_before_all_else(stacks, log):
    ready(log, "b1")
    log.say(Kind.CLAMPED, "b1", stack="low", faceplate="A", minutes=30)
    found = thing(stacks, log, log.now + timedelta(hours=1))
    assert (found.action, found.ring, found.kind) == ("release", "b1", Kind.RELEASED)
    assert "12:36" in found.why


def test_the_rested_stack_is_served_before_the_one_that_rests(stacks, log):
    log.say(Kind.STACKED, "b1", stack="low")
    log.say(Kind.RELEASED, "b4", stack="up", rest_minutes=40)
    ready(log, "b2")
    ready(log, "b3")
    found = thing(stacks, log)
    assert (found.action, found.ring) == ("clamp", "b2")


def test_all_prepared_and_the_press_taken_is_waiting(stacks, log):
    for ring in ("b1", "b2", "b3", "b4"):
        ready(log, ring)
    log.say(Kind.CLAMPED, "b1", stack="low", faceplate="A", minutes=30)
    found = thing(stacks, log)
    assert found.action == "wait"
    assert found.at == log.entries[-1].at + timedelta(minutes=30)


def test_half_rings_that_still_set_are_left_alone(stacks, log):
    log.say(Kind.HALVES_GLUED, "b1", minutes=30)
    log.say(Kind.CUT, "b4", count=12)
    assert thing(stacks, log).ring == "b4"


def test_the_press_without_a_time_is_asked_about_when_nothing_else_is_left(stacks, log):
    for ring in ("b1", "b2", "b3", "b4"):
        ready(log, ring)
    log.say(Kind.CLAMPED, "b1", stack="low")
    assert thing(stacks, log).action == "release"


def test_a_contradiction_is_settled_first(stacks, log):
    log.undo(log.say(Kind.TRUED, "b1"))
    log.say(Kind.TRUED, "b1", device="Phone", seen=0)
    found = thing(stacks, log)
    assert (found.action, found.ring) == ("settle", "b1")


def test_when_all_is_on_the_lathe_waits_for_the_cure(stacks, log):
    for ring in ("b1", "b2"):
        log.say(Kind.RELEASED, ring, stack="low", cure_hours=24)
    for ring in ("b4", "b3"):
        log.say(Kind.RELEASED, ring, stack="up", cure_hours=24)
    found = thing(stacks, log)
    assert found.action == "turn"
    assert found.at == log.entries[1].at + timedelta(hours=24)
    assert found.do == "Turn the stack on A from Thu 12:02 on"
    later = thing(stacks, log, log.now + timedelta(hours=25))
    assert later.do == "Turn the stack on A"


def test_a_stack_that_is_being_turned_gives_way_to_the_next_and_then_to_the_lathe(stacks, log):
    for stack, rings in (("low", ("b1", "b2")), ("up", ("b4", "b3"))):
        for ring in rings:
            log.say(Kind.RELEASED, ring, stack=stack, cure_hours=24)
    cured = log.now + timedelta(hours=25)
    rough = log.say(Kind.TURNED, "bowl:low:rough")
    assert thing(stacks, log, cured).do == "Turn the stack on B"
    assert thing(stacks, log).do == "Go on at the lathe"
    log.say(Kind.TURNED, "bowl:up:rough")
    found = thing(stacks, log, cured)
    assert (found.action, found.do) == ("turn", "Go on at the lathe")
    log.undo(rough)
    assert thing(stacks, log, cured).do == "Turn the stack on A"


def test_a_signed_piece_has_nothing_left(stacks, log):
    for stack, rings in (("low", ("b1", "b2")), ("up", ("b4", "b3"))):
        for ring in rings:
            log.say(Kind.RELEASED, ring, stack=stack, cure_hours=24)
    log.say(Kind.TURNED, SIGNED)
    found = thing(stacks, log, log.now + timedelta(hours=25))
    assert (found.action, found.do) == ("nothing", "Signed")
    steps = lathe_steps(work_piece(parse_piece(demo_piece())))
    assert steps[-1].id == SIGNED


def test_times_are_said_in_the_shops_own_time_zone(stacks, log):
    from zoneinfo import ZoneInfo

    ready(log, "b1")
    log.say(Kind.CLAMPED, "b1", stack="low", faceplate="A", minutes=30)
    local = (log.now + timedelta(hours=1)).astimezone(ZoneInfo("Europe/Berlin"))
    assert "13:36" in thing(stacks, log, local).why


def test_a_ring_without_halves_goes_through_fewer_ticks(log):
    disc = RingOrder("d1", "disc", 0, (Kind.DRY_FITTED, Kind.FLATTENED))
    stacks = (replace(StackOrder("low", "Foot", "A"), rings=(disc,)),)
    log.say(Kind.DRY_FITTED, "d1")
    assert thing(stacks, log).kind is Kind.FLATTENED
