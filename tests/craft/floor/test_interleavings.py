"""Whatever the order in which devices speak and the Wi-Fi lets them through, all agree."""

import random
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

from hypothesis import example, given, settings
from hypothesis import strategies as st

from server.craft.floor import Ears, fold, settled
from server.craft.ledger import Entry, Kind

NOON = datetime(2031, 3, 5, 12, 0, tzinfo=UTC)
DEVICES = ("Tablet", "Phone", "Second phone")
RINGS = ("b1", "b2")
SAYINGS = (
    Kind.DRY_FITTED,
    Kind.CLOSED,
    Kind.CLAMPED,
    Kind.RELEASED,
    Kind.STACKED,
    Kind.CUT,
    Kind.UNDONE,
)


@dataclass
class Device:
    """A page that knows the ledger up to `seen` and has a queue that is not sent yet."""

    name: str
    seen: int = 0
    queue: list[Entry] = field(default_factory=list)


@dataclass
class Shop:
    log: list[Entry] = field(default_factory=list)
    devices: list[Device] = field(default_factory=lambda: [Device(name) for name in DEVICES])
    made: int = 0

    def say(self, who: int, kind: Kind, ring: str, pick: int) -> None:
        device = self.devices[who]
        known = [e for e in self.log if e.seq <= device.seen] + device.queue
        target = known[pick % len(known)] if known else None
        if kind is Kind.UNDONE and target is None:
            return
        self.made += 1
        data = {Kind.CUT: {"count": 1 + pick % 5}, Kind.CLAMPED: {"stack": "A", "minutes": 30}}
        device.queue.append(
            Entry(
                id=f"{device.name}-{self.made}",
                seq=0,
                piece="p",
                kind=kind,
                subject=target.subject if kind is Kind.UNDONE and target else ring,
                at=NOON + timedelta(seconds=self.made),
                received_at=NOON,
                device=device.name,
                undoes=target.id if kind is Kind.UNDONE and target else None,
                seen_seq=device.seen,
                data=data.get(kind, {"stack": "A"}),
            )
        )

    def send(self, who: int) -> None:
        device = self.devices[who]
        if device.queue:
            entry = device.queue.pop(0)
            seq = len(self.log) + 1
            received = NOON + timedelta(hours=1, seconds=seq)
            self.log.append(replace(entry, seq=seq, received_at=received))

    def read(self, who: int) -> None:
        self.devices[who].seen = len(self.log)


MOVES = st.lists(
    st.tuples(
        st.sampled_from(("say", "say", "send", "read")),
        st.integers(0, 2),
        st.sampled_from(SAYINGS),
        st.sampled_from(RINGS),
        st.integers(0, 20),
    ),
    max_size=40,
)


def play(moves, *, in_touch: bool = False) -> Shop:
    shop = Shop()
    for move, who, kind, ring, pick in moves:
        if in_touch:
            shop.read(who)
            shop.say(who, kind, ring, pick)
            shop.send(who)
        elif move == "say":
            shop.say(who, kind, ring, pick)
        elif move == "send":
            shop.send(who)
        else:
            shop.read(who)
    for who in range(3):
        while shop.devices[who].queue:
            shop.send(who)
    return shop


def late(shop: Shop) -> datetime:
    return NOON + timedelta(hours=2)


@given(MOVES, st.randoms(use_true_random=False))
@settings(max_examples=80, deadline=None, derandomize=True)
def test_every_device_comes_to_the_same_floor(moves, rnd: random.Random):
    shop = play(moves)
    server = fold(shop.log, now=late(shop))
    for _device in DEVICES:
        arrived = shop.log + rnd.sample(shop.log, len(shop.log) // 2)
        rnd.shuffle(arrived)
        assert fold(arrived, now=late(shop)) == server
    ears, rest = Ears(), list(shop.log)
    while rest:
        bite = rnd.randint(1, len(rest))
        ears.hear_all(rest[:bite])
        rest = rest[bite:]
    assert settled(ears).at(late(shop)) == server


@given(MOVES)
@settings(max_examples=80, deadline=None, derandomize=True)
def test_no_word_is_lost(moves):
    """Each tick stands, was taken back by somebody, or is shown as contested."""
    shop = play(moves)
    floor = fold(shop.log, now=late(shop))
    shown = {c.mark.entry_id for contest in floor.contests for c in contest.held}
    undone_by = {e.undoes for e in shop.log}
    for entry in shop.log:
        if entry.kind not in (Kind.DRY_FITTED, Kind.CLOSED) or entry.id in shown:
            continue
        if entry.id in floor.undone:
            same = [e for e in shop.log if (e.kind, e.subject) == (entry.kind, entry.subject)]
            assert undone_by & {e.id for e in same} or len(same) > 1
        else:
            assert entry.kind in floor.ring(entry.subject).ticks


@given(MOVES)
@settings(max_examples=80, deadline=None, derandomize=True)
def test_devices_in_touch_never_contradict_and_the_last_word_stands(moves):
    shop = play(moves, in_touch=True)
    floor = fold(shop.log, now=late(shop))
    assert floor.contests == ()
    stands: dict[tuple[str, Kind], bool] = {}
    means: dict[str, tuple[tuple[str, Kind], bool]] = {}
    for entry in shop.log:
        if entry.kind is Kind.UNDONE:
            if entry.undoes not in means:
                continue
            key, was = means[entry.undoes]
            means[entry.id] = (key, not was)
        elif entry.kind in (Kind.DRY_FITTED, Kind.CLOSED):
            means[entry.id] = ((entry.subject, entry.kind), True)
        else:
            continue
        key, holds = means[entry.id]
        stands[key] = holds
    for (ring, kind), holds in stands.items():
        assert (kind in floor.ring(ring).ticks) == holds


TWO_IN_ONE_PRESS = [("say", who, Kind.CLAMPED, RINGS[who], 0) for who in range(2)]


@given(MOVES)
@example(TWO_IN_ONE_PRESS)
@settings(max_examples=80, deadline=None, derandomize=True)
def test_a_blind_contradiction_changes_nothing_that_stands(moves):
    shop = play(moves)
    for length in range(1, len(shop.log) + 1):
        before = fold(shop.log[: length - 1], now=late(shop))
        after = fold(shop.log[:length], now=late(shop))
        entry = shop.log[length - 1]
        if len(held_words(after)) > len(held_words(before)):
            assert after.rings == before.rings
            assert entry.id in held_words(after)


def held_words(floor) -> set[str]:
    return {c.mark.entry_id for contest in floor.contests for c in contest.held}


@given(MOVES, st.booleans())
@settings(max_examples=80, deadline=None, derandomize=True)
def test_one_tap_that_has_seen_all_settles_each_contest(moves, yes):
    shop = play(moves)
    floor = fold(shop.log, now=late(shop))
    for contest in floor.contests:
        claims = (*contest.standing, *contest.held)
        said = [c.mark.entry_id for c in claims if c.holds != yes]
        agreed = [c.mark.entry_id for c in claims if c.holds == yes]
        shop.devices[0].seen = len(shop.log)
        if said:
            settle(shop, said[-1])
        else:
            settle(shop, agreed[-1])
            settle(shop, shop.log[-1].id)
    assert fold(shop.log, now=late(shop)).contests == ()


def settle(shop: Shop, undoes: str) -> None:
    shop.read(0)
    target = next(e for e in shop.log if e.id == undoes)
    shop.made += 1
    entry = Entry(
        id=f"settle-{shop.made}",
        seq=0,
        piece="p",
        kind=Kind.UNDONE,
        subject=target.subject,
        at=NOON,
        received_at=NOON,
        device="Tablet",
        undoes=undoes,
        seen_seq=len(shop.log),
        data={},
    )
    shop.devices[0].queue.append(entry)
    shop.send(0)
