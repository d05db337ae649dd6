"""Ticks set a state, undo takes it back, contradictions are kept until one tap settles them."""

from server.craft.floor import fold
from server.craft.ledger import Kind


def ticks(log, ring="b1"):
    return set(fold(log.entries, now=log.now).ring(ring).ticks)


def test_an_untouched_ring_has_nothing(log):
    ring = fold([], now=log.now).ring("b1")
    assert (ring.ticks, ring.cut, ring.place) == ({}, 0, None)


def test_a_tick_says_who_and_when(log):
    entry = log.say(Kind.DRY_FITTED, "b1", device="Phone")
    mark = fold(log.entries, now=log.now).ring("b1").ticks[Kind.DRY_FITTED]
    assert (mark.device, mark.at, mark.entry_id) == ("Phone", entry.at, entry.id)


def test_the_same_tick_from_two_devices_is_one_tick(log):
    log.say(Kind.TRUED, "b1", device="Phone", seen=0)
    log.say(Kind.TRUED, "b1", device="Tablet", seen=0)
    floor = fold(log.entries, now=log.now)
    assert floor.ring("b1").ticks[Kind.TRUED].device == "Phone"
    assert floor.contests == ()


def test_undo_from_another_device_takes_the_tick_back_and_says_so(log):
    entry = log.say(Kind.TRUED, "b1", device="Phone")
    log.undo(entry, device="Tablet")
    floor = fold(log.entries, now=log.now)
    assert Kind.TRUED not in floor.ring("b1").ticks
    assert floor.ring("b1").undone[Kind.TRUED].device == "Tablet"
    assert floor.undone == {entry.id}


def test_undo_of_either_of_two_agreeing_ticks_takes_both_back(log):
    first = log.say(Kind.TRUED, "b1", device="Phone", seen=0)
    second = log.say(Kind.TRUED, "b1", device="Tablet", seen=0)
    log.undo(second)
    floor = fold(log.entries, now=log.now)
    assert floor.ring("b1").ticks == {}
    assert floor.undone == {first.id, second.id}


def test_an_undo_can_be_undone(log):
    entry = log.say(Kind.CLOSED, "b1")
    log.undo(log.undo(entry))
    floor = fold(log.entries, now=log.now)
    assert floor.ring("b1").ticks[Kind.CLOSED].entry_id == entry.id
    assert floor.undone == frozenset()


def test_a_blind_contradiction_is_not_applied_and_both_sides_are_kept(log):
    entry = log.say(Kind.FLATTENED, "b1", device="Tablet")
    undo = log.undo(entry, device="Tablet")
    blind = log.say(Kind.FLATTENED, "b1", device="Phone", seen=0)
    floor = fold(log.entries, now=log.now)
    (contest,) = floor.contests
    assert floor.ring("b1").ticks == {}
    assert [c.mark.entry_id for c in contest.standing] == [undo.id]
    assert [c.mark.entry_id for c in contest.held] == [blind.id]
    assert (contest.standing[0].holds, contest.held[0].holds) == (False, True)
    assert (contest.standing[0].mark.device, contest.held[0].mark.device) == ("Tablet", "Phone")


def contradiction(log):
    entry = log.say(Kind.FLATTENED, "b1", device="Tablet")
    log.undo(entry, device="Tablet")
    return log.say(Kind.FLATTENED, "b1", device="Phone", seen=0)


def test_one_tap_that_has_seen_both_settles_for_yes(log):
    contradiction(log)
    log.say(Kind.FLATTENED, "b1", device="Phone")
    floor = fold(log.entries, now=log.now)
    assert floor.contests == ()
    assert Kind.FLATTENED in floor.ring("b1").ticks


def test_one_tap_that_has_seen_both_settles_for_no(log):
    held = contradiction(log)
    log.undo(held, device="Tablet")
    floor = fold(log.entries, now=log.now)
    assert floor.contests == ()
    assert floor.ring("b1").ticks == {}
    assert held.id in floor.undone


def test_a_tap_that_has_not_seen_both_settles_nothing(log):
    contradiction(log)
    log.say(Kind.FLATTENED, "b1", device="Third", seen=1)
    assert len(fold(log.entries, now=log.now).contests) == 1


def test_the_device_that_was_overruled_may_take_its_word_back(log):
    held = contradiction(log)
    log.undo(held, device="Phone", seen=0)
    floor = fold(log.entries, now=log.now)
    assert (floor.contests, floor.ring("b1").ticks) == ((), {})


def test_a_blind_undo_against_a_later_tick_is_held(log):
    entry = log.say(Kind.CLOSED, "b1", device="Tablet")
    log.undo(entry, device="Tablet")
    log.say(Kind.CLOSED, "b1", device="Tablet")
    log.undo(entry, device="Phone", seen=1)
    floor = fold(log.entries, now=log.now)
    assert Kind.CLOSED in floor.ring("b1").ticks
    assert [c.holds for c in floor.contests[0].held] == [False]


def test_a_device_knows_what_it_said_itself_while_out_of_touch(log):
    first = log.say(Kind.CLOSED, "b1", device="Phone", seen=0)
    log.undo(first, device="Phone", seen=0)
    log.say(Kind.CLOSED, "b1", device="Phone", seen=0)
    floor = fold(log.entries, now=log.now)
    assert floor.contests == ()
    assert Kind.CLOSED in floor.ring("b1").ticks


def test_cuts_add_up_and_an_undone_cut_does_not_count(log):
    log.say(Kind.CUT, "b1", count=5, broken=1)
    wrong = log.say(Kind.CUT, "b1", count=50)
    log.say(Kind.CUT, "b1", device="Phone", seen=0, count=3)
    log.undo(wrong)
    ring = fold(log.entries, now=log.now).ring("b1")
    assert (ring.cut, ring.broken) == (8, 1)


def test_nonsense_in_the_data_counts_nothing(log):
    for count in ("5", True, -2, 0, float("nan"), None, {"a": 1}):
        log.say(Kind.CUT, "b1", count=count)
    assert fold(log.entries, now=log.now).ring("b1").cut == 0


def test_steps_of_the_lathe_are_ticks_too(log):
    log.say(Kind.BORED, "j1")
    log.undo(log.say(Kind.TURNED, "s1"))
    floor = fold(log.entries, now=log.now)
    assert set(floor.steps) == {"j1"}


def test_last_use_of_a_rack_item_skips_what_was_undone(log):
    first = log.say(Kind.USED, "board-7", length_mm=300)
    log.undo(log.say(Kind.USED, "board-7", length_mm=400))
    floor = fold(log.entries, now=log.now)
    assert floor.last_use("board-7").id == first.id
    assert floor.last_use("board-8") is None


def test_readings_notes_and_photos(log):
    log.say(Kind.MEASURED, "A", quantity="temperature_c", value=18.5)
    log.say(Kind.MEASURED, "A", quantity="temperature_c", value=17.0)
    log.say(Kind.PHOTO, "b1", sha256="00")
    log.say(Kind.NOTE, "b1", heard="e1")
    floor = fold(log.entries, now=log.now)
    assert floor.latest("temperature_c").value == 17.0
    assert floor.latest("humidity_percent") is None
    assert len(floor.photos["b1"]) == 1
    assert floor.notes == {}


def test_the_journal_reads_in_the_order_in_which_things_happened(log, noon):
    late = log.say(Kind.TRUED, "b1", at=noon.replace(hour=13))
    early = log.say(Kind.DRY_FITTED, "b1", at=noon.replace(hour=9))
    assert [e.id for e in fold(log.entries, now=log.now).journal] == [early.id, late.id]
