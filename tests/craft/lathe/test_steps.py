"""Lathe steps over random pieces, worked through on a ledger: always safe, always possible.

The judge here knows nothing of how steps are made. It keeps its own account of what is on which
faceplate, what is glued and when, and what finish would land on.
"""

from collections import defaultdict
from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from server.craft.document import parse_piece
from server.craft.floor import fold
from server.craft.lathe.joints import RUN_OUT
from server.craft.lathe.steps import LatheShop, Step, Work
from server.craft.lathe.steps_gates import Gate, StepState, open_steps, rings_held_back
from server.craft.lathe.steps_piece import lathe_steps
from server.craft.ledger import Entry, Kind
from server.craft.worked.piece import WorkedPiece, work_piece

START = datetime(2026, 3, 2, 18, tzinfo=UTC)
CURE_HOURS = 20.0
HEAVY = {Work.ROUGH, Work.OUTSIDE, Work.INSIDE, Work.FACE, Work.TRUE_JOINT}
BEARS_HEAVY = {"faceplate", "between-centres", "recess", "tenon"}
BEARS_BORING = BEARS_HEAVY | {"ring-clamp", "glued-groove"}


class Judge:
    """What is true in the shop, kept apart from the code under test."""

    def __init__(self, work: WorkedPiece, steps: tuple[Step, ...]) -> None:
        self.work, self.steps = work, steps
        self.mounted = defaultdict(set)
        for stack in work.piece.stacks:
            self.mounted[stack.part].add((stack.id, stack.mounted))
        self.pressed: dict[str, datetime] = {}
        self.glued_at: dict[str, datetime] = {}
        self.done: list[Step] = []
        self.runs_out_mm: dict[str, float] = {}
        self.group = {s.id: {s.id} for s in work.piece.stacks}

    def together(self, step: Step) -> set[str]:
        """Stacks that are one piece of wood with what this step works on."""
        if step.stack is not None:
            return {step.stack}
        names = step.id.split(":")[1].split("+")
        return set().union(*(self.group.get(name, set()) for name in names))

    def bodies(self, part: str) -> int:
        return max(1, len([s for s in self.work.piece.stacks if s.part == part]))

    def judge(self, step: Step, now: datetime) -> None:
        """Everything that would go wrong if this step were done now."""
        self._cured(step, now)
        self._held(step)
        if step.work is Work.BORE:
            self._bore(step)
        if step.work is Work.INSIDE:
            self._inside(step)
        if step.finishes:
            self._finish(step)
        if step.work is Work.PART_OFF and step.part is not None:
            self._part_off(step)
        if step.work is Work.MOUNT:
            self._mount(step)
        if step.work is Work.JOIN:
            whole = self.together(step)
            self.group |= dict.fromkeys(whole, whole)
        if step.work in (Work.JOIN, Work.ASSEMBLE, Work.MOUNT):
            self.glued_at[step.id] = now
        self.done.append(step)

    def _cured(self, step: Step, now: datetime) -> None:
        if step.part is None or step.hold is None or step.work is Work.MOUNT:
            return
        if not self.work.by_part[step.part].rings:
            return
        own = self.together(step)
        for stack in (s for s in self.work.piece.stacks if s.id in own):
            ends = [self.pressed[ring] for ring in stack.rings if ring in self.pressed]
            assert ends, f"{step.id} turns a stack with nothing on it"
            assert now >= max(ends) + timedelta(hours=CURE_HOURS), f"{step.id} before cure"
        for other, when in self.glued_at.items():
            mine = other.startswith(f"{step.part}:") and own & set(other.split(":")[1].split("+"))
            if mine and step.work in HEAVY | {Work.PART_OFF}:
                cured = when + timedelta(hours=CURE_HOURS)
                assert now >= cured, f"{step.id} before {other} has cured"

    def _held(self, step: Step) -> None:
        if step.work in HEAVY:
            assert step.hold is not None
            assert step.hold.way.value in BEARS_HEAVY, step.id
        if step.work is Work.TENON:
            assert step.hold is not None
            assert step.hold.way.value in BEARS_BORING, step.id
        kind = step.part and self.work.by_part[step.part].part.kind
        if step.hold is not None and step.hold.way.value == "faceplate" and kind == "ringed":
            assert self.mounted[step.part], f"{step.id} on a faceplate that is off"

    def _bore(self, step: Step) -> None:
        joint = next(j for j in self.work.piece.joints if j.id == step.joint)
        assert step.hold is not None
        assert step.hold.way.value in BEARS_BORING, step.id
        assert not step.hold.tailstock, "the drill is in the tailstock"
        ends = {end for _, end in self.mounted[joint.mortise.part]}
        assert joint.mortise.end not in ends, "the waste block is in the way"
        if ends:
            assert step.hold.way.value == "faceplate"
        elif self.work.by_part[step.part or ""].part.kind == "ringed":
            # Off its faceplate and set again: it was seen to run true before the drill went in.
            assert self.runs_out_mm[step.part or ""] <= 0.2, f"{step.id} bored untrue"

    def _inside(self, step: Step) -> None:
        assert step.part is not None
        ends = {e for s, e in self.mounted[step.part] if s in self.together(step)}
        assert len(ends) == 1, "no way in, or nothing holds it"
        if step.stack is not None and ends == {"top"}:
            stack = next(s for s in self.work.piece.stacks if s.id == step.stack)
            solid = [r for r in stack.rings if self.work.by_ring[r].finished_inside_mm == 0]
            assert not any(ring in self.pressed for ring in solid), "closed before it was turned"

    def _finish(self, step: Step) -> None:
        joints = [
            (j.id, side)
            for j in self.work.piece.joints
            for side in (j.mortise, j.tenon)
            if side.part == step.part
        ]
        for name, _ in joints:
            assert any(name in surface for surface in step.clean), "finish on a glue face"
        assert not any(word in s for s in step.finishes for word in ("mortise", "tenon", "face:"))
        joins = [s for s in self.done if s.work is Work.JOIN and s.part == step.part]
        assert len(joins) == self.bodies(step.part or "") - 1, "finish before the halves are glued"

    def _part_off(self, step: Step) -> None:
        self._holder_is_there(step)
        part = step.part or ""
        if self.work.by_part[part].part.kind != "ringed":
            return
        end = step.id.rsplit(":", 1)[1]
        own = self.together(step)
        gone = {(s, e) for s, e in self.mounted[part] if e == end and s in own}
        assert len(gone) == 1, f"{step.id}: nothing to part off there"
        self.mounted[part] -= gone
        left = {e for s, e in self.mounted[part] if s in own}
        if not left:
            for joint in self.work.piece.joints:
                for side in (joint.mortise, joint.tenon):
                    if side.part == part and side.end != end:
                        bored = {s.joint for s in self.done if s.work in (Work.BORE, Work.TENON)}
                        assert joint.id in bored, "parted off before a bore"

    def _holder_is_there(self, step: Step) -> None:
        """What is fitted to the form is made while that can still be tried on."""
        turn = next((s for s in self.steps if s.work is Work.REVERSE and step.id in s.after), None)
        if turn is None or turn.hold is None:
            return
        if turn.hold.way.value in ("ring-clamp", "glued-groove", "jam-chuck"):
            ready = [s.hold for s in self.done if s.work is Work.READY and s.part == step.part]
            assert turn.hold in ready, f"{step.id}: nothing to hold it is ready"

    def _mount(self, step: Step) -> None:
        assert step.part is not None
        assert step.stack is not None
        (now,) = {e for s, e in self.mounted[step.part] if s == step.stack}
        self.mounted[step.part].add((step.stack, "top" if now == "bottom" else "bottom"))

    def nothing_left_out(self) -> None:
        works = defaultdict(list)
        for step in self.done:
            works[step.work].append(step)
        for joint in self.work.piece.joints:
            for work in (Work.BORE, Work.MEASURE, Work.TENON, Work.ASSEMBLE):
                assert [s.joint for s in works[work]].count(joint.id) == 1, (joint.id, work)
        for part in self.work.parts:
            own = {s.work for s in self.done if s.part == part.id}
            assert {Work.ROUGH, Work.OUTSIDE, Work.PART_OFF, Work.FINISH_OUTSIDE} <= own
            if part.inside is not None:
                assert {Work.INSIDE, Work.FINISH_INSIDE, Work.RIM} <= own
            if part.part.kind == "ringed":
                assert Work.BOTTOM in own
                assert not self.mounted[part.id], "still on a faceplate"
        assert self.done[-1].work is Work.SIGN


class Shop:
    """A ledger in the making: rings glued as the drawing orders them, steps as they open."""

    def __init__(self, work: WorkedPiece) -> None:
        self.work = work
        self.steps = lathe_steps(work, LatheShop((), {s.id: CURE_HOURS for s in work.piece.stacks}))
        self.judge = Judge(work, self.steps)
        self.entries: list[Entry] = []
        self.now = START
        self.run_out_mm = 0.6
        self.waiting = {s.id: list(s.rings) for s in work.piece.stacks}

    def say(self, kind: Kind, subject: str, **data: Any) -> None:
        seq = len(self.entries) + 1
        self.entries.append(
            Entry(
                id=f"e{seq}",
                seq=seq,
                piece="p",
                kind=kind,
                subject=subject,
                at=self.now,
                received_at=self.now,
                data=data,
            )
        )

    def states(self) -> tuple[StepState, ...]:
        return open_steps(self.steps, fold(self.entries, now=self.now), self.now)

    def glue(self, states: tuple[StepState, ...]) -> bool:
        """Every ring that may go on now goes on; whether one did."""
        held = rings_held_back(states)
        any_on = False
        for stack, rings in self.waiting.items():
            while rings and rings[0] not in held:
                ring = rings.pop(0)
                self.say(Kind.CLAMPED, ring, stack=stack, minutes=30)
                self.now += timedelta(minutes=30)
                self.say(Kind.RELEASED, ring, stack=stack, rest_minutes=20, cure_hours=CURE_HOURS)
                self.judge.pressed[ring] = self.now
                any_on = True
        return any_on

    def do(self, step: Step) -> None:
        self.judge.judge(step, self.now)
        if step.quantity is not None:
            runs_out = step.quantity == RUN_OUT
            value_mm = self.run_out_mm if runs_out else 10.2
            self.say(Kind.MEASURED, step.subject, quantity=step.quantity, value_mm=value_mm)
            if runs_out:
                # Set askew at first, then tapped true: what is bored there waits for that.
                self.judge.runs_out_mm[step.part or ""] = value_mm
                self.run_out_mm = 0.1
        else:
            self.say(step.ticked, step.subject)
        self.now += timedelta(minutes=10)

    def set_again(self, states: tuple[StepState, ...]) -> bool:
        """Measure once more how true it runs where a bore waits for that; whether one did."""
        for state in states:
            measured = state.step.quantity == RUN_OUT and state.gate is Gate.DONE
            if measured and self.judge.runs_out_mm[state.step.part or ""] > 0.2:
                self.do(state.step)
                return True
        return False

    def work_through(self, draw: Any) -> None:
        for _ in range(10 * len(self.steps) + 50):
            states = self.states()
            if all(state.gate is Gate.DONE for state in states):
                return
            if self.glue(states):
                continue
            ready = [state.step for state in states if state.gate is Gate.OPEN]
            if ready:
                self.do(draw(st.sampled_from(ready)))
                continue
            if self.set_again(states):
                continue
            waits = [r.until for s in states for r in s.reasons if r.until is not None]
            assert waits, [(s.step.id, s.reasons) for s in states if s.gate is Gate.SHUT]
            self.now = max(self.now, min(w for w in waits if w > self.now))
        raise AssertionError("the piece is never finished")


@st.composite
def pieces(draw: Any, make: Any) -> dict[str, Any]:
    rings = draw(st.integers(3, 7))
    floor = draw(st.integers(1, rings - 2))
    foot = draw(st.floats(16, 45))
    belly = draw(st.floats(max(30, foot * 0.7), 80))
    mouth = draw(st.floats(15, 70))
    parts = [make.vessel("bowl", rings, foot, belly, mouth, floor)]
    names = [f"bowl{i}" for i in range(rings)]
    stacks = draw(split(names, make))
    joints = []
    if draw(st.booleans()):
        parts.append(make.stem("stem"))
        ends = (("stem", "top"), ("bowl", "bottom"))
        joints.append(make.joint("upper", *(ends if draw(st.booleans()) else ends[::-1])))
        if draw(st.booleans()):
            count = draw(st.integers(1, 3))
            parts.append(make.base("base", count, 40, 15))
            own = [f"base{i}" for i in range(count)]
            mounted = draw(st.sampled_from(["bottom", "top"]))
            stacks.append(
                make.stack("foot", "base", own if mounted == "bottom" else own[::-1], mounted)
            )
            joints.append(make.joint("lower", ("stem", "bottom"), ("base", "top")))
    return dict(make.document(parts, stacks, joints))


@st.composite
def split(draw: Any, names: list[str], make: Any) -> list[dict[str, Any]]:
    """One to three stacks over the rings, each mounted by either end."""
    cuts = sorted(draw(st.sets(st.integers(1, len(names) - 1), max_size=2)))
    stacks = []
    for k, (a, b) in enumerate(zip([0, *cuts], [*cuts, len(names)], strict=True)):
        mounted = draw(st.sampled_from(["bottom", "top"]))
        own = names[a:b] if mounted == "bottom" else names[a:b][::-1]
        stacks.append(make.stack(f"k{k}", "bowl", own, mounted))
    return stacks


@settings(max_examples=30, deadline=None)
@given(st.data())
def test_every_order_that_the_gates_allow_is_safe_and_ends_signed(make, data):
    work = work_piece(parse_piece(data.draw(pieces(make))))
    assume(all(part.breach is None for part in work.parts))
    shop = Shop(work)
    shop.work_through(data.draw)
    shop.judge.nothing_left_out()


@settings(max_examples=20, deadline=None)
@given(st.data())
def test_steps_have_ids_of_their_own_and_come_after_steps_before_them(make, data):
    steps = lathe_steps(work_piece(parse_piece(data.draw(pieces(make)))))
    seen: set[str] = set()
    for step in steps:
        assert step.id not in seen
        seen.add(step.id)
    for step in steps:
        assert set(step.after) <= seen - {step.id}
        assert step.title
        assert step.words


def test_a_goblet_bowl_on_its_rim_is_bored_before_it_is_parted_off(make):
    steps = lathe_steps(work_piece(parse_piece(make.goblet("top"))))
    order = [step.id for step in steps if step.part == "bowl"]
    assert order.index("bowl:whole:bore:upper") < order.index("bowl:whole:part-off:top")
    bore = next(step for step in steps if step.id == "bowl:whole:bore:upper")
    assert bore.hold is not None
    assert bore.hold.way.value == "faceplate"


def test_a_goblet_bowl_on_its_foot_is_bored_turned_round_in_a_hold_that_stands_alone(make):
    steps = lathe_steps(work_piece(parse_piece(make.goblet("bottom"))))
    bore = next(step for step in steps if step.id == "bowl:whole:bore:upper")
    assert bore.hold is not None
    assert bore.hold.way.value == "ring-clamp"
    assert not bore.hold.tailstock


def test_the_floor_ring_waits_for_the_inside(make):
    work = work_piece(parse_piece(make.goblet("top")))
    steps = lathe_steps(work)
    held = rings_held_back(open_steps(steps, fold([], now=START), START))
    assert set(held) == {"bowl1", "bowl0"}
    assert "inside" in held["bowl0"]


def test_a_piece_of_one_solid_disc_has_its_steps(make):
    plate = {
        "id": "plate",
        "kind": "disc",
        "outside": {"points": [{"r_mm": 60, "z_mm": 0}, {"r_mm": 110, "z_mm": 22}]},
        "inside": {"points": [{"r_mm": 0, "z_mm": 7}, {"r_mm": 100, "z_mm": 22}]},
    }
    works = [step.work for step in lathe_steps(make.worked([plate]))]
    assert works[0] is Work.ROUGH
    assert works[-1] is Work.SIGN
    assert {Work.INSIDE, Work.PART_OFF, Work.REVERSE, Work.BOTTOM} <= set(works)
