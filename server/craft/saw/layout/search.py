"""One wood while it is being solved: first plan, bound, and turns of improvement."""

import random
from collections.abc import Sequence
from dataclasses import replace

from server.craft.saw.layout.bound import lowest_cost, whole_uses
from server.craft.saw.layout.branching import Branching
from server.craft.saw.layout.choose import Chooser
from server.craft.saw.layout.construct import Plan, Prices, complete, empty_plan, first_prices
from server.craft.saw.layout.few import FewStrips, few_strips
from server.craft.saw.layout.finish import first_fit
from server.craft.saw.layout.improve import relaid, without_largest
from server.craft.saw.layout.linear import Effort
from server.craft.saw.layout.master import Master
from server.craft.saw.layout.problem import UM, Wood
from server.craft.saw.layout.rebuild import Rebuilder
from server.craft.saw.layout.regroup import regrouped
from server.craft.saw.layout.rounding import Use, rounded
from server.craft.saw.layout.sawn import sound
from server.craft.saw.layout.watch import Meter, Watch

PROVEN = 1e-3
"""A layout within this part of its bound counts as proven (contract)."""
_OPENING_TURNS = 3
_SEED = 20
_WORK_A_TURN = 0.5
_MOST_BOARDS = 4
_NODES = 40
_ENOUGH = 0.005
_ASKS = 40
_FIRST_ASKS = 80
_WORSE = 0.003
_FIRST_WON = 0.02
_BOUND_SHARE = 0.5
"""Part of a wood's work that may go into its bound, and where it hardly rises by that."""
_SETTLED_SHARE = 0.85
_SLOW_SHARE = 0.1
_SPENT = 0.2
_WORK_A_RISE = 150.0
_FEW_SHARE = 0.35
_PACKING_SHARE = 0.25
_RISE = 0.015
_LACKING = 0.3
"""How far from its bound a wood counts that lacks segments, as a part of its cost."""


class Search:
    """Keeps the best plan of one wood; every turn tries to better it."""

    def __init__(
        self, wood: Wood, watch: Watch, known: Plan | None = None, *, mixing: bool = True
    ) -> None:
        self.wood = wood
        self.bound = 0.0
        self.turns = 0
        self._meter = Meter(watch)
        self._mixing = mixing
        self._won, self._spent = [_FIRST_WON, _FIRST_WON], [1.0, 1.0]
        self._chooser = Chooser(wood, self._meter.spend)
        self._prices: Prices = first_prices(wood)
        self._taught = self._prices
        self._chance = random.Random(_SEED)
        self._luck = random.Random(_SEED)
        self._packed = 0.0
        self._rebuilder: Rebuilder | None = None
        self._uses: Sequence[Use] = ()
        self._master: Master | None = None
        self._branching: tuple[int, Branching] | None = None
        self._few = FewStrips(wood) if mixing and few_strips(wood) else None
        self._bounding = 0.0
        self._risen = (0.0, 0.0, True)
        self._known = known
        self.best = first_fit(wood, known or empty_plan(wood), lambda: False)
        self._current = self._packing = self.best

    @property
    def work(self) -> float:
        """Work done so far."""
        return self._meter.spent

    @property
    def promise(self) -> float:
        """What more work is worth: the gap, less of it where all that is sure has been tried."""
        branching = self._branching[1] if self._branching else None
        bounded = branching is not None and (branching.done or not branching.possible)
        if self._settled and (bounded or self.best.lacking):
            return self.gap * _SPENT
        return self.gap

    @property
    def _settled(self) -> bool:
        """Whether the strips were few enough to be tried in every set on every board."""
        return self._few is not None and self._few.done

    @property
    def gap(self) -> float:
        """Money between the plan and its bound; nothing once it is proven."""
        if not self.wood.stocks:
            return 0.0
        cost = self.best.cost
        if cost - self.bound <= PROVEN * cost and not self.best.lacking:
            return 0.0
        return max(cost - self.bound, (_LACKING if self.best.lacking else PROVEN) * cost)

    def begin(self) -> None:
        """Put a considered plan in the place of the first fit, and go on from a known one."""
        for start in (self._known, empty_plan(self.wood)):
            if start is not None and not self._meter.late():
                plan, self._taught = complete(self._chooser, start, self._prices, self._meter.late)
                self._take(first_fit(self.wood, plan, lambda: False) if plan.lacking else plan)

    def find_bound(self) -> None:
        """Work out the bound and the prices at which it stands."""
        found = lowest_cost(self.wood, self.best.lacking, self._meter)
        self.bound = found.cost
        dual = [price / UM for price in found.prices]
        self._prices = [max(d, t / 10) for d, t in zip(dual, self._taught, strict=True)]
        self._uses, self._master = found.uses, found.master

    def _suggested(self, master: Master) -> None:
        """Try the plans that the bound suggests."""
        for uses in (self._uses, whole_uses(master, self._meter)):
            if uses and not self._meter.over():
                self._take(rounded(self._chooser, uses, self._prices, self._meter.over))

    def turn(self) -> bool:
        """One try to better the plan; whether it did."""
        before = self.best.rank
        self.turns += 1
        self._meter.spend(_WORK_A_TURN)
        if self.turns == 1 and self._master is not None:
            self._suggested(self._master)
        self._sharpen()
        if self.best.lacking and self.turns % 2:
            self._take(self._squeezed())
        elif self._few and not self._few.done and self._few.work < _FEW_SHARE * self.work:
            self._one_by_one(self._few)
        elif self._packs_again and self._packed < _PACKING_SHARE * self.work:
            self._regroup()
        elif self.turns <= _OPENING_TURNS:
            self._take(self._from_nothing())
        else:
            self._improve()
        return self.best.rank < before

    def _improve(self) -> None:
        """Try whichever way has won more for its work so far, the other one now and then."""
        ways = [self._relaid, self._rebuilt] if self._mixing else [self._relaid]
        odds = [self._won[place] / self._spent[place] for place in range(len(ways))]
        place = self._chance.choices(range(len(ways)), odds)[0]
        lacking, cost = self.best.rank
        work = self.work
        self._take(ways[place]())
        self._spent[place] += self.work - work
        if self.best.lacking == lacking:
            self._won[place] += (cost - self.best.cost) / max(cost, 1e-9)

    def _sharpen(self) -> None:
        """Spend a part of the work on the bound, case by case."""
        lacking = self.best.lacking
        if self._branching is None or self._branching[0] != lacking:
            branching = Branching(self.wood, lacking)
            self._branching = (lacking, branching)
            self._meter.spend(branching.work)
            self._bounding += branching.work
        branching = self._branching[1]
        while branching.possible and not branching.done and not self._meter.over():
            enough = self.best.cost * (1 - PROVEN / 2)
            eager = self._rising(branching.bound) and not branching.slow and not lacking
            share = _SETTLED_SHARE if self._settled else _BOUND_SHARE
            share = share if eager else _SLOW_SHARE
            if self._bounding > share * self.work or self.bound >= enough:
                break
            before = branching.work
            branching.step(enough)
            self._meter.spend(branching.work - before)
            self._bounding += branching.work - before
            self.bound = max(self.bound, branching.bound)

    def _rising(self, bound: float) -> bool:
        """Whether the last of the work on the bound closed a good part of the gap."""
        since, before, rising = self._risen
        if self._bounding - since >= _WORK_A_RISE:
            rising = bound - before >= _RISE * (self.best.cost - bound)
            self._risen = (self._bounding, bound, rising)
        return rising

    def _one_by_one(self, few: FewStrips) -> None:
        """Place the strips one by one, the promising ways side by side."""
        before = few.work
        plan = few.turn(self._meter.over)
        self._meter.spend(few.work - before)
        if plan is not None:
            self._take(plan)

    def _from_nothing(self) -> Plan:
        prices = self._prices if self.turns == 1 else self._taught
        plan, self._taught = complete(
            self._chooser, empty_plan(self.wood), prices, self._meter.over
        )
        return plan

    def _relaid(self) -> Plan:
        return relaid(self._chooser, self._current, self._prices, self._chance, self._meter.over)

    def _regroup(self) -> None:
        """Pack a few boards of the best plan again, or of one as good that this led to."""
        if self._packing.rank > self.best.rank:
            self._packing = self.best
        plan, work = regrouped(self.wood, self._packing, self._luck)
        self._meter.spend(work)
        self._packed += work + _WORK_A_TURN
        if plan is None or plan.rank > self._packing.rank:
            return
        if _is_sound(plan):
            self._packing = plan
            if plan.rank < self.best.rank:
                self.best = self._current = plan

    @property
    def _packs_again(self) -> bool:
        """Whether boards are packed again: not while few strips are still being placed."""
        return self._mixing and (self._few is None or self._few.done)

    def _rebuilt(self) -> Plan:
        effort = Effort(_NODES, _ENOUGH, _ASKS, self._meter.left_s())
        if self._rebuilder is None:
            self._rebuilder = Rebuilder(self._chooser, self._prices, self._uses, self._chance)
            effort = replace(effort, asks=_FIRST_ASKS)
            return self._rebuilder.from_nothing(self.best, effort, self._meter.over)
        if self._branching is not None:
            self._rebuilder.prefer(self._branching[1].patterns())
        count = self._chance.randint(1, _MOST_BOARDS)
        return self._rebuilder.rebuilt(self._current, count, effort, self._meter.over)

    def _squeezed(self) -> Plan:
        """When the rack is short: leave out the segments that take most wood, lay the others."""
        part = self._chance.uniform(0.6, 1.0)
        start, dropped = without_largest(self.wood, int(self.best.lacking * part))
        over = self._meter.over
        plan, _ = complete(self._chooser, start, self._taught, over)
        left = {item: count + dropped.get(item, 0) for item, count in plan.left.items()}
        plan, self._taught = complete(self._chooser, Plan(plan.boards, left), self._taught, over)
        return plan

    def _take(self, plan: Plan) -> None:
        """Keep a better plan; go on from one that is only a little worse."""
        if not _is_sound(plan):
            return
        lacking, cost = plan.rank
        if (lacking, cost * (1 - _WORSE * self._chance.random())) <= self._current.rank:
            self._current = plan
        if plan.rank < self.best.rank:
            self.best = plan


def _is_sound(plan: Plan) -> bool:
    return all(sound(board) for board in plan.boards if board.strips)
