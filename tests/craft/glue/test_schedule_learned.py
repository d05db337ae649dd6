"""Times suggested by the log: medians of what was really done."""

from datetime import UTC, datetime, timedelta
from typing import Any

from server.craft.glue.learned import logged_presses, suggested_times
from server.craft.ledger import Entry, Kind

START = datetime(2026, 3, 2, 18, tzinfo=UTC)


class Log:
    """A ledger in the making."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []

    def say(self, kind: Kind, ring: str, minute: float, **more: Any) -> Entry:
        undoes = more.pop("undoes", None)
        at = START + timedelta(minutes=minute)
        seq = len(self.entries) + 1
        entry = Entry(
            id=f"e{seq}",
            seq=seq,
            piece="p",
            kind=kind,
            subject=ring,
            at=at,
            received_at=at,
            undoes=undoes,
            data=more,
        )
        self.entries.append(entry)
        return entry

    def press(self, ring: str, begin: float, length: float, **more: Any) -> None:
        said = {"stack": "low", "glue": "pva-yellow", "minutes": 40, "temperature_c": 18, **more}
        self.say(Kind.CLAMPED, ring, begin, **said)
        self.say(Kind.RELEASED, ring, begin + length, stack="low", rest_minutes=25, cure_hours=24)


def test_medians_of_what_was_done():
    log = Log()
    for ring, (begin, length) in enumerate([(0, 38), (50, 42), (100, 55)]):
        log.press(f"b{ring}", begin, length)
    suggested = suggested_times(log.entries, "pva-yellow")
    assert suggested is not None
    assert suggested.presses == 3
    assert suggested.press_minutes == 42
    assert suggested.rest_minutes == 25
    assert suggested.cure_hours == 24
    # Out at 38, in at 50; out at 92, in at 100: two changeovers are too few to say.
    assert suggested.changeover_minutes is None
    log.press("b3", 160, 40)
    suggested = suggested_times(log.entries, "pva-yellow")
    assert suggested is not None
    assert suggested.changeover_minutes == 8


def test_too_short_a_log_suggests_nothing():
    log = Log()
    log.press("b0", 0, 40)
    log.press("b1", 50, 40)
    assert suggested_times(log.entries) is None
    log.press("b2", 100, 40, glue="epoxy")
    assert suggested_times(log.entries) is not None
    assert suggested_times(log.entries, "pva-yellow") is None


def test_what_was_undone_and_what_was_forgotten_in_the_press_do_not_count():
    log = Log()
    log.press("b0", 0, 40)
    wrong = log.say(Kind.RELEASED, "b0", 41, stack="low")
    log.say(Kind.UNDONE, "b0", 42, undoes=wrong.id)
    log.press("b1", 60, 700)
    log.press("b2", 800, 40)
    assert [press.ring for press in logged_presses(log.entries)] == ["b0", "b2"]


def test_a_lengthened_press_is_not_forgotten():
    log = Log()
    log.say(Kind.CLAMPED, "b0", 0, stack="low", minutes=20, glue="epoxy")
    log.say(Kind.CLAMPED, "b0", 10, stack="low", add_minutes=60)
    log.say(Kind.RELEASED, "b0", 85, stack="low")
    (press,) = logged_presses(log.entries)
    assert press.minutes == 85
    assert press.glue == "epoxy"


def test_presses_in_a_room_as_warm_as_this_one_count_most():
    log = Log()
    for ring in range(3):
        log.press(f"cold{ring}", 100 * ring, 80, temperature_c=8)
        log.press(f"warm{ring}", 1000 + 100 * ring, 30, temperature_c=22)
    cold = suggested_times(log.entries, "pva-yellow", 10)
    warm = suggested_times(log.entries, "pva-yellow", 20)
    assert cold is not None
    assert warm is not None
    assert (cold.press_minutes, warm.press_minutes) == (80, 30)
