"""Which lengths to buy and how to cut them: the cheapest, and among those the fewest, with the proof.

Every way to cut one length is a pattern. Where there are few, all are listed and the plan over them is the best there is [2]_.
Else the least cost with fractions of a length allowed is found by bringing in patterns only while one is worth its place (column
generation [1]_): no plan is cheaper than that. Whole numbers come from the patterns found; where they cost more than the bound,
every pattern that a cheaper plan could use is listed (its reduced cost is at most the gap): the plan over all of these is the
cheapest there is, or there is none and the bound rises.

References:
    .. [1] P. C. Gilmore and R. E. Gomory, A linear programming approach to the cutting-stock problem, Operations Research 9
       (1961) and 11 (1963) (from memory)
    .. [2] HiGHS, by scipy.optimize.milp and linprog.
    .. [3] A. A. Farley, A note on bounding a class of linear programming problems, Operations Research 38 (1990) (from memory)
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slabwright.base.cutting_patterns import SLACK, Piece, least_lost, needed
from slabwright.base.cutting_results import Cut, CuttingPlan, Stock
from slabwright.base.cutting_search import Columns, TooManyError, all_patterns, best_pattern, patterns_worth
from slabwright.findings import SlabwrightError

Floats = NDArray[np.float64]
_Whole = tuple[float, Floats, Floats]
"""A plan: its weight, uses of each pattern, how many of each stock."""
_DEAREST = 1000.0
"""What the dearest length weighs; the others in proportion to their prices."""
_FEWER, _OFFCUT = 0.01, 0.0002
"""What one bought length and one offcut weigh besides, so that among plans of one price the fewest are taken."""
_EVERY = 3000
"""Patterns that are listed outright."""
_LISTED = tuple((2e-5 * 4.0**step, min(40_000, 1_000 * 2**step)) for step in range(9))
"""Shares of the cheapest length up to which patterns are listed beyond the bound, and how many at most."""
_DRAWS, _DRAWN = 24, 25
"""Chance orders, and patterns of each, where there are too many to list."""
_ROUNDS = 400
_LAST = 0.4
"""Seconds left below which no more patterns are sought."""
_NEAR = 1e-5
"""Weights that differ by less are equal."""


@dataclass(frozen=True)
class _Relaxed:
    """With fractions allowed: least weight, its price, what a piece and a part are worth, and uses of each pattern."""

    weight: float
    price: float
    of_piece: Floats
    of_part: Floats
    uses: Floats


class CuttingTask:
    """One task: the patterns in play and the programs over them."""

    def __init__(self, pieces: Sequence[Piece], stocks: Sequence[Stock], until: float) -> None:
        self.pieces = pieces
        self.stocks = stocks
        self.until = until
        parts = sorted({part for stock in stocks for part in stock.pieces if stock.available != 0})
        self.columns = Columns(parts)
        self.demand = np.array([piece.count for piece in pieces], dtype=np.float64)
        dearest = max((stock.price for stock in stocks), default=0.0) or 1.0
        self.scale = _DEAREST / dearest
        # Among plans of the same price: fewest bought, then fewest offcuts touched.
        self.weight = np.array(
            [stock.price * self.scale + (_OFFCUT if stock.offcut else _FEWER) for stock in stocks], dtype=np.float64
        )
        self.supply = np.array([[stock.pieces.count(part) for stock in stocks] for part in parts], dtype=np.float64)
        self.most = np.array([np.inf if stock.available is None else float(stock.available) for stock in stocks])
        self.over_listed = 0.0
        self.slack = _NEAR
        self.spare = -least_lost([end for piece in pieces for end in piece.ends])

    def solve(self) -> CuttingPlan:
        """The plan: over all patterns where they are few, else by bringing them in."""
        every = True
        try:
            for part in reversed(range(len(self.columns.parts))):
                for counts in all_patterns(self, part, limit=_EVERY):
                    self.columns.add(part, counts)
        except TooManyError:
            every = False
        if not every:
            self.columns = Columns(self.columns.parts)
            return self.bring_in()
        relaxed = self.relaxed()
        found = self.whole(math.inf)
        if found is None:
            raise self._short()
        value, uses, taken = found
        return self._plan(value, uses, taken, max(self.over_listed, relaxed.weight), relaxed.price)

    def bring_in(self) -> CuttingPlan:
        """The plan by bringing in patterns while one is worth its place."""
        relaxed, highest = self._converge()
        return self._round(self._sure(relaxed, highest))

    def _converge(self) -> tuple[_Relaxed, Floats]:
        """Bring in patterns until none is worth its place; what any pattern of each part may be worth."""
        self._first()
        for _ in range(_ROUNDS):
            relaxed = self.relaxed()
            fresh = False
            highest = np.zeros(len(self.columns.parts))
            for part in range(highest.size):
                highest[part], worth, counts = best_pattern(self, part, relaxed.of_piece)
                if worth > relaxed.of_part[part] + self.slack:
                    fresh |= self.columns.add(part, counts)
            if not fresh or time.perf_counter() > self.until:
                break
        return relaxed, highest

    def _dive(self) -> _Whole | None:
        """Bring in patterns of a good plan: whole uses are taken, and what is left to cut is planned anew, until all is cut."""
        chosen: dict[tuple[int, tuple[int, ...]], float] = {}
        wanted = [piece.count for piece in self.pieces]
        most = self.most.copy()
        known = list(zip(self.columns.of_part, self.columns.counts, strict=True))
        while any(wanted) and time.perf_counter() < self.until:
            kinds = [index for index, many in enumerate(wanted) if many]
            pieces = [replace(self.pieces[index], count=wanted[index]) for index in kinds]
            stocks = [
                replace(stock, available=None if np.isinf(left) else int(left))
                for stock, left in zip(self.stocks, most, strict=True)
            ]
            rest = CuttingTask(pieces, stocks, self.until)
            place = [
                rest.columns.parts.index(part) if part in rest.columns.parts else -1 for part in self.columns.parts
            ]
            for part, counts in known:
                fewer = tuple(min(counts[index], wanted[index]) for index in kinds)
                if place[part] >= 0 and any(fewer):
                    rest.columns.add(place[part], fewer)
            try:
                relaxed, _ = rest._converge()
            except SlabwrightError:
                return None
            whole = np.floor(relaxed.uses + 1e-6)
            if not whole.any():
                whole[int(np.argmax(relaxed.uses))] = 1.0
            for at in np.flatnonzero(whole):
                some = dict(zip(kinds, rest.columns.counts[at], strict=True))
                pattern = tuple(some.get(index, 0) for index in range(len(wanted)))
                part = self.columns.parts.index(rest.columns.parts[rest.columns.of_part[at]])
                self.columns.add(part, pattern)
                known.append((part, pattern))
                chosen[part, pattern] = chosen.get((part, pattern), 0.0) + float(whole[at])
                wanted = [max(0, many - int(whole[at]) * less) for many, less in zip(wanted, pattern, strict=True)]
                limited = [s for s in np.flatnonzero(self.supply[part]) if np.isfinite(most[s])]
                if limited:
                    most[limited[0]] = max(0.0, most[limited[0]] - whole[at])
        if any(wanted):
            return None
        columns = zip(self.columns.of_part, self.columns.counts, strict=True)
        return self._paid(np.array([chosen.get(column, 0.0) for column in columns]))

    def _paid(self, uses: Floats) -> _Whole | None:
        """Stocks that uses of patterns take, at the least weight; None where there are not as many."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        _, use, supply = self._rows()
        answer: Any = milp(
            self.weight,
            constraints=[LinearConstraint(supply, use @ uses, np.inf)],
            integrality=np.ones(self.weight.size, dtype=np.int64),
            bounds=Bounds(np.zeros(self.weight.size), self.most),
        )
        if answer.x is None:
            return None
        taken = np.round(answer.x)
        return float(self.weight @ taken), uses, taken

    def _sure(self, relaxed: _Relaxed, highest: Floats) -> _Relaxed:
        """Worths that no pattern goes beyond, and the bound that they prove [3]_.

        Where a pattern may be worth more than its part (mitres are taken to lose nothing when patterns are sought, or time is
        up), the worth of all pieces is cut down by that share; a part that there are few of is counted dearer instead.
        """
        bound, of_part, share = relaxed.weight, relaxed.of_part.copy(), 1.0
        for part, worth in enumerate(highest):
            over = float(worth - of_part[part])
            if over <= self.slack:
                continue
            most = math.fsum(
                float(many * limit) for many, limit in zip(self.supply[part], self.most, strict=True) if many
            )
            if math.isfinite(most):
                of_part[part] = worth
                bound -= over * most
            else:
                share = min(share, float(of_part[part] / worth))
        bound -= (1.0 - share) * float(relaxed.of_piece @ self.demand)
        return _Relaxed(max(bound, 0.0), relaxed.price, relaxed.of_piece * share, of_part, relaxed.uses)

    def _first(self) -> None:
        """One pattern a piece, so that there is a plan to begin with."""
        for part, length in enumerate(self.columns.parts):
            for index in range(len(self.pieces)):
                counts = [0] * len(self.pieces)
                while counts[index] < self.pieces[index].count:
                    counts[index] += 1
                    if needed(self.pieces, counts) > length + SLACK:
                        counts[index] -= 1
                        break
                if counts[index]:
                    self.columns.add(part, tuple(counts))

    def _round(self, sure: _Relaxed) -> CuttingPlan:
        """Whole numbers: from the patterns found, then from all that a cheaper plan could use."""
        bound = self.attainable(sure.weight)
        best = self._dive()
        if best is None or best[0] > bound + self.slack:
            best = self._better(best, self.whole(_below(best, self.slack), share=0.15, at_least=bound))
        least = float(self.weight[[stock.offcut is False for stock in self.stocks]].min(initial=math.inf))
        for share, limit in _LISTED:
            if (best is not None and best[0] <= bound + self.slack) or time.perf_counter() > self.until - _LAST:
                break
            gap = share * least if best is None else min(share * least, best[0] - sure.weight)
            before = len(self.columns.counts)
            every = self._list(sure, gap, limit)
            if len(self.columns.counts) > before:
                found = self.whole(_below(best, self.slack), share=0.4, at_least=bound)
                best = self._better(best, found)
            if not every:
                continue
            # A plan cheaper than the bound and the gap uses only patterns that are listed now.
            bound = max(bound, self.attainable(min(self.over_listed, sure.weight + gap)))
        if best is None:
            raise self._short()
        return self._plan(best[0], best[1], best[2], min(bound, best[0]), sure.price)

    @staticmethod
    def _better(one: _Whole | None, other: _Whole | None) -> _Whole | None:
        if one is None or other is None:
            return one or other
        return other if other[0] < one[0] else one

    def _list(self, sure: _Relaxed, gap: float, limit: int) -> bool:
        """Bring in patterns whose reduced cost is at most the gap; whether that was all of them.

        Where there are too many, some are drawn: pieces are put down in one chance order after another.
        """
        chance = np.random.default_rng(0)
        every = True
        for part in range(len(self.columns.parts)):
            least = sure.of_part[part] - gap - self.slack
            try:
                found = list(patterns_worth(self, part, limit=limit, worth=sure.of_piece, least=least))
            except TooManyError:
                every = False
                found = []
                for _ in range(_DRAWS):
                    order = chance.permutation(len(self.pieces)).tolist()
                    drawn = patterns_worth(
                        self, part, limit=_DRAWN, worth=sure.of_piece, least=least, order=order, all_of_them=False
                    )
                    found += drawn
            for counts in found:
                self.columns.add(part, counts)
        return every

    def attainable(self, bound: float) -> float:
        """The least that whole lengths can cost, not below a bound."""
        order = np.argsort(-self.weight)
        best = math.inf
        budget = 200_000

        def go(at: int, spent: float) -> None:
            nonlocal best, budget
            budget -= 1
            if budget < 0:
                return
            weight, most = float(self.weight[order[at]]), float(self.most[order[at]])
            need = max(0, math.ceil((bound - spent) / weight - 1e-9)) if weight > 0.0 else 0
            if at == len(order) - 1:
                if need <= most:
                    best = min(best, spent + need * weight)
                return
            for count in range(int(min(need, most)) + 1):
                if spent + count * weight < best:
                    go(at + 1, spent + count * weight)

        go(0, 0.0)
        return max(bound, best) if budget >= 0 and math.isfinite(best) else bound

    def relaxed(self) -> _Relaxed:
        """Least weight with fractions allowed over the patterns in play; what a piece and a part are worth."""
        from scipy.optimize import linprog

        cover, use, supply = self._rows()
        patterns = cover.shape[1]
        matrix = np.block([[-cover, np.zeros((cover.shape[0], len(self.stocks)))], [use, -supply]])
        right = np.concatenate([-self.demand, np.zeros(use.shape[0])])
        cost = np.concatenate([np.zeros(patterns), self.weight])
        bounds = [(0.0, None)] * patterns + [(0.0, None if np.isinf(most) else most) for most in self.most]
        answer: Any = linprog(cost, A_ub=matrix, b_ub=right, bounds=bounds, method="highs")
        if answer.status != 0:
            raise self._short()
        dual = -np.asarray(answer.ineqlin.marginals, dtype=np.float64)
        price = math.fsum(float(x) * stock.price for x, stock in zip(answer.x[patterns:], self.stocks, strict=True))
        uses = np.asarray(answer.x[:patterns], dtype=np.float64)
        return _Relaxed(float(answer.fun), price, dual[: self.demand.size], dual[self.demand.size :], uses)

    def _rows(self) -> tuple[Floats, Floats, Floats]:
        cover = np.array(self.columns.counts, dtype=np.float64).T
        use = np.zeros((len(self.columns.parts), cover.shape[1]))
        use[self.columns.of_part, np.arange(cover.shape[1])] = 1.0
        return cover, use, self.supply

    def whole(self, at_most: float, share: float = 1.0, at_least: float = 0.0) -> _Whole | None:
        """Whole numbers over the patterns in play: weight, uses of each pattern and of each stock."""
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        cover, use, supply = self._rows()
        patterns, stocks = cover.shape[1], len(self.stocks)
        matrix = np.block([[cover, np.zeros((cover.shape[0], stocks))], [-use, supply]])
        low = np.concatenate([self.demand, np.zeros(use.shape[0])])
        constraints: list[Any] = [LinearConstraint(csr_array(matrix), low, np.inf)]
        cost = np.concatenate([np.zeros(patterns), self.weight])
        if math.isfinite(at_most) or at_least > 0.0:
            # Told what cannot be beaten, the search stops as soon as it is reached.
            constraints.append(LinearConstraint(csr_array(cost[None, :]), at_least - self.slack, at_most))
        # A pattern that holds what is wanted need not be cut oftener than the scarcest of its pieces asks.
        times = np.array(
            [max(math.ceil(d / c) for d, c in zip(self.demand, column, strict=True) if c) for column in cover.T]
        )
        answer: Any = milp(
            cost,
            constraints=constraints,
            integrality=np.ones(patterns + stocks),
            bounds=Bounds(np.zeros(patterns + stocks), np.concatenate([times, self.most])),
            options={"time_limit": max(0.05, share * (self.until - time.perf_counter())), "mip_rel_gap": 1e-9},
        )
        # status 2: there is none cheaper than was asked for, so over these patterns that is the bound.
        self.over_listed = at_most if answer.status == 2 else float(answer.mip_dual_bound or 0.0)
        if answer.x is None:
            return None
        values = np.round(answer.x)
        uses, taken = values[:patterns], values[patterns:]
        return float(self.weight @ taken), uses, taken

    def _short(self) -> SlabwrightError:
        there = sum(stock.length * (stock.available or 0) for stock in self.stocks)
        return SlabwrightError(
            f"the lengths to be had ({there:.0f} mm in all) do not suffice for the {int(self.demand.sum())} pieces:"
            " state more of them, or a length that can be bought"
        )

    def _plan(self, value: float, uses: Floats, taken: Floats, bound: float, fractional: float) -> CuttingPlan:
        cuts = self._trim(uses)
        bought = int(sum(many for many, stock in zip(taken, self.stocks, strict=True) if not stock.offcut))
        price = math.fsum(float(many) * stock.price for many, stock in zip(taken, self.stocks, strict=True))
        proven = value <= bound + 2.0 * self.slack
        free = sum(_OFFCUT * stock.available for stock in self.stocks if stock.offcut and stock.available)
        # What a cheaper plan's lengths can weigh besides their price: there are no more of them than its price can buy.
        cheapest = min((stock.price for stock in self.stocks if not stock.offcut), default=0.0)
        besides = _FEWER * (min(price / cheapest, self.demand.sum()) if cheapest > 0.0 else self.demand.sum()) + free
        return CuttingPlan(
            cuts=cuts,
            taken=tuple(int(many) for many in taken),
            price=price,
            bound=price if proven else max(0.0, min(price, (bound - besides) / self.scale)),
            lengths=bought,
            lengths_bound=bought if proven else max(0, math.ceil((bound - free) / float(self.weight.max()) - 1e-9)),
            proven=proven,
            fractional=fractional,
        )

    def _trim(self, uses: Floats) -> tuple[Cut, ...]:
        """Patterns cut as often as planned, pieces beyond what is wanted left out."""
        over = np.array(self.columns.counts[: uses.size]).T @ uses - self.demand
        cuts: dict[tuple[float, tuple[int, ...]], int] = {}
        for index in np.argsort(-uses):
            for _ in range(int(uses[index])):
                counts = np.array(self.columns.counts[index])
                less = np.minimum(counts, np.maximum(over, 0.0)).astype(int)
                over -= less
                if (counts - less).any():
                    key = (self.columns.parts[self.columns.of_part[index]], tuple(int(n) for n in counts - less))
                    cuts[key] = cuts.get(key, 0) + 1
        return tuple(Cut(part, counts, times) for (part, counts), times in cuts.items())


def _below(best: _Whole | None, slack: float) -> float:
    return math.inf if best is None else best[0] - slack
