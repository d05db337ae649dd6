"""Press, rest, cure: deadlines that never move by themselves and tick nothing."""

from datetime import timedelta

import pytest

from server.craft.floor import fold
from server.craft.ledger import Kind

AT_B = {"stack": "up", "faceplate": "B"}


def test_a_clamped_ring_is_in_the_press_until_its_minutes_are_over(log):
    entry = log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30)
    stack = fold(log.entries, now=log.now).stack("up")
    assert stack.in_press == ("b8",)
    assert stack.faceplate == "B"
    assert stack.press.deadline == entry.at + timedelta(minutes=30)
    assert (stack.press.minutes, stack.press.added_minutes) == (30, 0)


def test_the_deadline_is_the_same_however_late_one_looks(log):
    entry = log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30)
    for minutes in (0, 29, 31, 60 * 24):
        floor = fold(log.entries, now=entry.at + timedelta(minutes=minutes))
        assert floor.stack("up").press.deadline == entry.at + timedelta(minutes=30)
        assert floor.stack("up").in_press == ("b8",)
    assert floor.timers[0].over(floor.now)
    assert floor.timers[0].left_s(floor.now) == -(60 * 24 - 30) * 60


def test_more_time_is_added_beside_the_first_and_can_be_undone(log):
    entry = log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30)
    more = log.say(Kind.CLAMPED, "b8", stack="up", add_minutes=5)
    timer = fold(log.entries, now=log.now).stack("up").press
    assert (timer.minutes, timer.added_minutes) == (30, 5)
    assert timer.deadline == entry.at + timedelta(minutes=35)
    log.undo(more)
    assert fold(log.entries, now=log.now).stack("up").press.added_minutes == 0


def test_a_device_clock_ahead_of_the_server_does_not_lengthen_the_press(log):
    entry = log.say(Kind.CLAMPED, "b8", at=log.now + timedelta(hours=2), **AT_B, minutes=30)
    timer = fold(log.entries, now=log.now).timers[0]
    assert timer.started_at == entry.received_at


def test_a_tick_sent_late_counts_from_when_it_was_made(log, noon):
    log.say(Kind.CLAMPED, "b8", at=noon - timedelta(minutes=20), **AT_B, minutes=30)
    assert fold(log.entries, now=log.now).timers[0].deadline == noon + timedelta(minutes=10)


@pytest.mark.parametrize("minutes", ["30", True, 0, -5, float("inf"), float("nan"), 1e9, None])
def test_no_timer_runs_on_nonsense(log, minutes):
    log.say(Kind.CLAMPED, "b8", **AT_B, minutes=minutes)
    floor = fold(log.entries, now=log.now)
    assert floor.stack("up").in_press == ("b8",)
    assert floor.timers == ()


def test_release_puts_it_on_and_starts_the_rest(log):
    log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30)
    out = log.say(Kind.RELEASED, "b8", stack="up", rest_minutes=30)
    floor = fold(log.entries, now=log.now)
    stack = floor.stack("up")
    assert (stack.on, stack.in_press, stack.press) == (("b8",), (), None)
    assert stack.rest_until == out.at + timedelta(minutes=30)
    assert [(t.kind, t.deadline) for t in floor.timers] == [("rest", stack.rest_until)]
    later = fold(log.entries, now=out.at + timedelta(minutes=31))
    assert later.timers == ()


def test_the_last_ring_starts_the_cure(log):
    out = log.say(Kind.RELEASED, "b8", stack="up", rest_minutes=30, cure_hours=24)
    floor = fold(log.entries, now=log.now)
    assert floor.stack("up").ready_at == out.at + timedelta(hours=24)
    assert [timer.kind for timer in floor.timers] == ["rest", "cure"]


def test_undone_release_is_back_in_the_press_with_its_first_deadline(log):
    entry = log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30)
    log.undo(log.say(Kind.RELEASED, "b8", stack="up"), device="Phone")
    timer = fold(log.entries, now=log.now).stack("up").press
    assert timer.deadline == entry.at + timedelta(minutes=30)


def test_undone_clamp_takes_the_ring_out_as_if_it_had_never_been_in(log):
    log.undo(log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30))
    floor = fold(log.entries, now=log.now)
    assert floor.ring("b8").place is None
    assert floor.timers == floor.runs == ()


def test_a_second_clamp_of_the_same_ring_does_not_start_its_time_again(log):
    first = log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30, device="Phone")
    log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30, device="Tablet", seen=0)
    floor = fold(log.entries, now=log.now)
    assert [timer.id for timer in floor.timers] == [first.id]
    assert floor.contests == ()


def test_two_rings_in_one_press_from_devices_out_of_touch_are_contested(log):
    log.say(Kind.CLAMPED, "b4", stack="low", faceplate="A", minutes=30, device="Phone", seen=0)
    log.say(Kind.CLAMPED, "b5", stack="low", faceplate="A", minutes=30, device="Tablet", seen=0)
    floor = fold(log.entries, now=log.now)
    assert floor.stack("low").in_press == ("b4",)
    assert [(c.subject, c.against) for c in floor.contests] == [("b5", "b4")]


def test_two_rings_in_one_press_on_purpose_are_not(log):
    log.say(Kind.CLAMPED, "b4", stack="low", minutes=30)
    log.say(Kind.CLAMPED, "b5", stack="low", minutes=40)
    floor = fold(log.entries, now=log.now)
    assert floor.stack("low").in_press == ("b4", "b5")
    assert floor.contests == ()
    assert floor.stack("low").press.subject == "b5"


def test_blind_undo_of_the_clamp_after_a_release_is_contested(log):
    clamp = log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30, device="Tablet")
    log.say(Kind.RELEASED, "b8", stack="up", device="Tablet")
    log.undo(clamp, device="Phone", seen=1)
    floor = fold(log.entries, now=log.now)
    assert floor.stack("up").on == ("b8",)
    assert len(floor.contests) == 1


def test_half_rings_may_carry_a_time_that_ends_with_the_next_tick(log):
    entry = log.say(Kind.HALVES_GLUED, "b8", minutes=20)
    timer = fold(log.entries, now=log.now).timers[0]
    assert (timer.kind, timer.deadline) == ("halves", entry.at + timedelta(minutes=20))
    log.say(Kind.TRUED, "b8")
    assert fold(log.entries, now=log.now).timers == ()


def test_an_alarm_heard_on_one_device_is_heard_on_all_until_the_deadline_moves(log):
    clamp = log.say(Kind.CLAMPED, "b8", **AT_B, minutes=1)
    log.say(Kind.MEASURED, "up", quantity="temperature_c", value=18)
    log.say(Kind.NOTE, "b8", heard=clamp.id, device="Phone")
    assert fold(log.entries, now=log.now).timers[0].heard
    log.say(Kind.CLAMPED, "b8", stack="up", add_minutes=5)
    assert not fold(log.entries, now=log.now).timers[0].heard


def test_timers_come_soonest_first(log):
    log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30)
    log.say(Kind.CLAMPED, "a1", stack="base", faceplate="C", minutes=10)
    floor = fold(log.entries, now=log.now)
    assert [timer.faceplate for timer in floor.timers] == ["C", "B"]


def test_the_press_log_keeps_glue_times_and_the_room(log):
    log.say(
        Kind.CLAMPED,
        "b8",
        **AT_B,
        minutes=30,
        glue="pva-yellow",
        temperature_c=18.0,
        humidity_percent=45,
    )
    log.say(Kind.DRY_FITTED, "b7")
    log.say(Kind.RELEASED, "b8", stack="up")
    floor = fold(log.entries, now=log.now)
    (run,) = floor.runs
    assert (run.minutes, run.planned_minutes, run.glue) == (2.0, 30.0, "pva-yellow")
    assert floor.latest("temperature_c").value == 18.0
    assert floor.latest("humidity_percent").value == 45.0


def test_stacked_without_a_press_is_on_as_well(log):
    log.say(Kind.STACKED, "b1", stack="low")
    floor = fold(log.entries, now=log.now)
    assert floor.stack("low").on == ("b1",)
    assert floor.stack("low").rest_until is None


def test_a_clock_behind_what_was_seen_holds_the_timers(log):
    entry = log.say(Kind.CLAMPED, "b8", **AT_B, minutes=30)
    wrong = entry.received_at - timedelta(days=400)
    floor = fold(log.entries, now=wrong)
    assert floor.now == entry.received_at
    assert floor.clock_behind_s == pytest.approx(400 * 86400)
    assert floor.timers[0].left_s(floor.now) == 30 * 60


def test_the_last_time_seen_counts_for_the_clock_as_well(log, noon):
    assert fold([], now=noon, last_seen=noon + timedelta(hours=1)).clock_behind_s == 3600
    assert fold([], now=noon, last_seen=noon + timedelta(seconds=1)).clock_behind_s == 0
