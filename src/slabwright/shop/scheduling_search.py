"""The search among all schedules that keep the rules: for the least of an aim, with what none can beat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from slabwright.shop.scheduling_changes import places_set_up
from slabwright.shop.scheduling_dispatch import Times, finished
from slabwright.shop.scheduling_models import Aim
from slabwright.shop.scheduling_rules import Rules

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

_MOST_IN_CIRCLE = 80
"""Operations at one place up to which their order is searched for change-overs."""


@dataclass(frozen=True)
class Found:
    """What a search found: a schedule or none, what none can beat, and whether there is none at all."""

    times: Times | None
    bound: float
    proven: bool
    impossible: bool = False


class Search(Rules):
    """The rules of one task within limits, with aims to search by; see `Rules` for what it is made from."""

    def _change_overs(self) -> Any:
        """How often the kind of work changes at places that are set up: a way round through all operations of each place."""
        model = self.model
        changes = []
        for name, at_place in places_set_up(self.made).items():
            if self.made.many[name] > 1 or len(at_place) > _MOST_IN_CIRCLE:
                continue
            arcs: list[tuple[int, int, Any]] = []
            for row, one in enumerate(at_place, 1):
                arcs += [(0, row, model.new_bool_var("")), (row, 0, model.new_bool_var(""))]
                for column, other in enumerate(at_place, 1):
                    if one == other:
                        continue
                    follows = model.new_bool_var("")
                    model.add(self.starts[other] >= self.ends[one]).only_enforce_if(follows)
                    arcs.append((row, column, follows))
                    if self.made.items[one].operation.kind != self.made.items[other].operation.kind:
                        changes.append(follows)
            model.add_circuit(arcs)
        return sum(changes)

    def aim(self, aim: Aim) -> Any:
        """What is made least."""
        if aim == "promises":
            return self.late
        if aim == "moves":
            return self.moves
        if aim == "finish times":
            return sum(self.finishes)
        if aim == "last finish":
            last = self.model.new_int_var(0, max([0, *self.limits.finishes]), "")
            self.model.add_max_equality(last, [*self.finishes, 0])
            return last
        return self._change_overs()

    def hint(self, times: Times) -> None:
        """Start from a schedule that is known."""
        model = self.model
        for at, item in enumerate(self.made.items):
            if item.mode == "fixed":
                continue
            start = times.starts[at]
            if item.mode == "work":
                end = self.clocks.finish(start + item.length)
                start = self.clocks.start(start)
                for kind, literal in self.sizes[at]:
                    model.add_hint(literal, kind == end - start)
                if self.sizes[at]:
                    model.add_hint(self.ends[at], end)
            model.add_hint(self.starts[at], start)
        for finish, known in zip(self.finishes, times.finishes, strict=True):
            model.add_hint(finish, known)

    def hint_starts(self, before: Mapping[int, int]) -> None:
        """Start from where items were."""
        for at, here in before.items():
            self.model.add_hint(self.starts[at], here)

    def times(self, solver: cp_model.CpSolver) -> Times:
        """The schedule that a solver found."""
        starts = []
        for item, start in zip(self.made.items, self.starts, strict=True):
            found = 0 if item.mode == "fixed" else int(solver.value(start))
            starts.append(self.clocks.worked_by(found) if item.mode == "work" else found)
        return finished(self.made, self.clocks, starts)

    def solve(self, goal: Any, *, seconds: float, workers: int, seed: int) -> Found:
        """Search for the least of a goal."""
        from ortools.sat.python import cp_model

        if self.impossible:
            return Found(None, 0.0, True, impossible=True)
        counts = isinstance(goal, int)
        if not counts:
            self.model.minimize(goal)
        solver = solver_of(seconds, workers, seed)
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return Found(None, 0.0, True, impossible=True)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Found(None, 0.0 if counts else solver.best_objective_bound, False)
        bound = float(goal) if counts else solver.best_objective_bound
        return Found(self.times(solver), bound, status == cp_model.OPTIMAL)


def solver_of(seconds: float, workers: int, seed: int) -> cp_model.CpSolver:
    """A solver that repeats itself exactly with one worker."""
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(seconds, 0.05)
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = seed
    # Orders are proven from conflicts and reasons; the linear relaxation of steps and orders says little and costs much.
    solver.parameters.linearization_level = 0
    if workers > 1:
        solver.parameters.subsolvers.extend(["no_lp", "default_lp"])
    return solver
