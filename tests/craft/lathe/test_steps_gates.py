"""Gates: each really blocks, says why, and opens when what it waited for is so."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from server.craft.document import parse_piece
from server.craft.floor import fold
from server.craft.lathe.joints import MORTISE, RUN_OUT
from server.craft.lathe.steps import CAUTION_WORDS, Caution, LatheShop, Step, Work, bears
from server.craft.lathe.steps_gates import Gate, StepState, next_step, open_steps, ticks_that_open
from server.craft.lathe.steps_piece import lathe_steps
from server.craft.ledger import Entry, Kind
from server.craft.worked.piece import work_piece

START = datetime(2026, 3, 2, 18, tzinfo=UTC)


class Bench:
    """A goblet on a ledger."""

    def __init__(self, make: Any) -> None:
        work = work_piece(parse_piece(make.goblet("bottom")))
        self.steps = lathe_steps(work, LatheShop((), {"whole": 24.0, "foot": 24.0}))
        self.entries: list[Entry] = []

    def say(self, kind: Kind, subject: str, hour: float, **data: Any) -> Entry:
        seq = len(self.entries) + 1
        at = START + timedelta(hours=hour)
        undoes = data.pop("undoes", None)
        entry = Entry(
            id=f"e{seq}",
            seq=seq,
            piece="p",
            kind=kind,
            subject=subject,
            at=at,
            received_at=at,
            undoes=undoes,
            data=data,
        )
        self.entries.append(entry)
        return entry

    def glue(self, stack: str, rings: list[str], hour: float) -> None:
        for ring in rings:
            self.say(Kind.CLAMPED, ring, hour, stack=stack, minutes=30)
            self.say(Kind.RELEASED, ring, hour, stack=stack, rest_minutes=20, cure_hours=24)

    def glue_all(self, hour: float) -> None:
        self.glue("whole", [f"bowl{i}" for i in range(6)], hour)
        self.glue("foot", ["base0", "base1"], hour)

    def state(self, step: str, hour: float) -> StepState:
        now = START + timedelta(hours=hour)
        states = open_steps(self.steps, fold(self.entries, now=now), now, {"whole": "Bowl"})
        return next(state for state in states if state.step.id == step)

    def step(self, step: str) -> Step:
        return next(one for one in self.steps if one.id == step)


@pytest.fixture
def bench(make) -> Bench:
    return Bench(make)


ROUGH = "bowl:whole:rough"


def test_nothing_is_turned_before_all_rings_are_on(bench):
    shut = bench.state(ROUGH, 0)
    assert shut.gate is Gate.SHUT
    assert shut.reasons[0].words == "6 rings are still to be glued on Bowl."
    bench.glue("whole", [f"bowl{i}" for i in range(5)], 1)
    assert bench.state(ROUGH, 100).reasons[0].words == "One ring is still to be glued on Bowl."


def test_nothing_is_turned_before_the_last_joint_has_cured(bench):
    bench.glue("whole", [f"bowl{i}" for i in range(6)], 1)
    shut = bench.state(ROUGH, 24.9)
    assert shut.gate is Gate.SHUT
    assert shut.reasons[0].until == START + timedelta(hours=25)
    assert bench.state(ROUGH, 25).gate is Gate.OPEN


def test_a_ring_in_the_press_keeps_the_stack_from_turning(bench):
    bench.glue("whole", [f"bowl{i}" for i in range(6)], 1)
    bench.say(Kind.CLAMPED, "bowl5", 30, stack="whole", minutes=30)
    assert bench.state(ROUGH, 60).gate is Gate.SHUT


def test_a_step_waits_for_the_one_before_and_an_undo_shuts_it_again(bench):
    bench.glue("whole", [f"bowl{i}" for i in range(6)], 1)
    assert bench.state("bowl:whole:outside", 30).reasons[0].words == "First: Rough it round."
    done = bench.say(Kind.TURNED, ROUGH, 30)
    assert bench.state(ROUGH, 31).gate is Gate.DONE
    assert bench.state(ROUGH, 31).done_at == START + timedelta(hours=30)
    assert bench.state("bowl:whole:outside", 31).gate is Gate.OPEN
    bench.say(Kind.UNDONE, ROUGH, 32, undoes=done.id)
    assert bench.state("bowl:whole:outside", 33).gate is Gate.SHUT
    assert bench.state(ROUGH, 33).gate is Gate.OPEN


def test_no_tenon_without_its_mortise_measured(bench):
    tenon = "stem:tenon:lower"
    bench.glue_all(1)
    for step in bench.steps:
        if step.id == tenon:
            break
        if step.quantity is None:
            bench.say(step.ticked, step.subject, 30)
    assert [r.words for r in bench.state(tenon, 31).reasons] == [
        "The mortise has not been measured yet."
    ]
    bench.say(Kind.MEASURED, "lower", 31, quantity=MORTISE, value_mm=10.2)
    assert bench.state(tenon, 32).gate is Gate.OPEN


def test_what_was_turned_round_is_bored_only_once_it_runs_true(bench):
    bore = "bowl:whole:bore:upper"
    run_out = next(step for step in bench.steps if step.quantity == RUN_OUT)
    assert bench.step(bore).hold == run_out.hold
    bench.glue_all(1)
    for step in bench.steps:
        if step.id == run_out.id:
            break
        if step.quantity is None:
            bench.say(step.ticked, step.subject, 30)
    bench.say(Kind.MEASURED, "lower", 30, quantity=MORTISE, value_mm=10.2)
    assert "How true it runs has not been measured yet." in [
        reason.words for reason in bench.state(bore, 31).reasons
    ]
    bench.say(Kind.MEASURED, run_out.subject, 31, quantity=RUN_OUT, value_mm=0.5)
    assert [reason.words for reason in bench.state(bore, 32).reasons] == [
        "It runs out by more than 0.2 mm (0.008 in). Set it again and measure again."
    ]
    bench.say(Kind.MEASURED, run_out.subject, 33, quantity=RUN_OUT, value_mm=0.1)
    assert bench.state(bore, 34).gate is Gate.OPEN


def test_it_is_not_signed_before_the_assembly_has_cured(bench):
    bench.glue_all(1)
    for step in bench.steps[:-1]:
        if step.quantity is None:
            bench.say(step.ticked, step.subject, 30)
        else:
            value_mm = 0.1 if step.quantity == RUN_OUT else 10
            bench.say(Kind.MEASURED, step.subject, 30, quantity=step.quantity, value_mm=value_mm)
    assert bench.state("piece:sign", 53).gate is Gate.SHUT
    assert bench.state("piece:sign", 54).gate is Gate.OPEN


OUTSIDE = "bowl:whole:outside"


def test_a_tick_before_its_turn_is_kept_and_opens_nothing(bench):
    # As a device sends it that was away, or any other program: the ledger takes it.
    bench.say(Kind.TURNED, OUTSIDE, 30)
    early = bench.state(OUTSIDE, 31)
    assert early.gate is Gate.EARLY
    assert early.done_at == START + timedelta(hours=30)
    assert [reason.words for reason in early.reasons] == ["First: Rough it round."]
    after = bench.step("bowl:whole:part-off:bottom")
    assert after.after
    for step in bench.steps:
        if OUTSIDE in step.after:
            assert bench.state(step.id, 31).gate is Gate.SHUT


def test_a_tick_before_its_turn_counts_once_its_turn_has_come_and_is_told_for_good(bench):
    bench.say(Kind.TURNED, OUTSIDE, 30)
    bench.glue_all(31)
    assert bench.state(OUTSIDE, 60).gate is Gate.EARLY
    bench.say(Kind.TURNED, ROUGH, 56)
    done = bench.state(OUTSIDE, 60)
    assert done.gate is Gate.DONE
    assert done.out_of_turn == ("Ticked before: Rough it round.",)
    assert bench.state(ROUGH, 60).out_of_turn == ()


def test_a_step_ticked_before_cure_stays_shut_for_what_follows_until_it_has_cured(bench):
    bench.glue_all(1)
    bench.say(Kind.TURNED, ROUGH, 20)
    assert bench.state(ROUGH, 21).gate is Gate.EARLY
    assert bench.state(OUTSIDE, 21).gate is Gate.SHUT
    cured = bench.state(ROUGH, 25)
    assert cured.gate is Gate.DONE
    assert cured.out_of_turn == ("Ticked before the glue had cured: Bowl.",)
    assert bench.state(OUTSIDE, 25).gate is Gate.OPEN


def test_two_devices_whose_clocks_differ_are_not_out_of_turn(bench):
    bench.glue_all(1)
    bench.say(Kind.TURNED, ROUGH, 30)
    bench.say(Kind.TURNED, OUTSIDE, 29.9)
    assert bench.state(OUTSIDE, 31).out_of_turn == ()


def test_what_was_in_turn_stays_done_when_a_ring_is_pressed_again(bench):
    bench.glue_all(1)
    bench.say(Kind.TURNED, ROUGH, 30)
    bench.say(Kind.CLAMPED, "bowl5", 40, stack="whole", minutes=30)
    again = bench.state(ROUGH, 40.1)
    assert again.gate is Gate.DONE
    assert again.out_of_turn == ()


def test_the_next_step_is_the_first_open_one(bench):
    now = START
    states = open_steps(bench.steps, fold([], now=now), now)
    first = next_step(states)
    assert first is not None
    assert first.step.id == "stem:rough"
    assert ticks_that_open(states) == ((Kind.TURNED, "stem:rough"),)
    assert next_step(()) is None


def test_every_step_that_spins_carries_the_caution_for_switching_on(bench):
    for step in bench.steps:
        if step.work in (Work.ROUGH, Work.OUTSIDE, Work.INSIDE, Work.BORE, Work.PART_OFF):
            assert Caution.SWITCH_ON in step.cautions
    assert Caution.PROUD_CORNERS in bench.step(ROUGH).cautions
    assert Caution.BORING in bench.step("bowl:whole:bore:upper").cautions
    assert Caution.RING_CLAMP in bench.step("bowl:whole:bottom").cautions
    assert Caution.FINISH in bench.step("bowl:whole:finish-outside").cautions
    assert Caution.FOOD in bench.step("piece:sign").cautions


def test_each_caution_has_its_words():
    assert set(CAUTION_WORDS) == set(Caution)
    assert "face shield" in CAUTION_WORDS[Caution.SWITCH_ON]
    assert "hand" in CAUTION_WORDS[Caution.SWITCH_ON]


def test_every_hold_bears_its_work(bench):
    assert all(bears(step.hold, step.work) for step in bench.steps if step.hold is not None)
    assert not bears(None, Work.ROUGH)
    assert not bears(bench.step("base:foot:bottom").hold, Work.BORE)
