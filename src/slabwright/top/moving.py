"""The nearest free position: one feature, with what goes with it, is moved until everything that has a rule is clear.

A move is walked in leaps. Where something lacks a distance s, no move that is longer by less than s can be free, for no
distance in plan changes by more than the move; so nothing is leapt over, and the first free position is the nearest one along
its direction, to the step in which distances are typed. It is then laid out and checked anew, as stated with its new figures.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats
from slabwright.job.top_models import Bar, Channel, Placed, Pocket, Top
from slabwright.quantities import INCH, Units, format_length
from slabwright.top import clearance_rules as rule
from slabwright.top.clearances import clearances, gathered, inside_by, kept_shape, nut_rooms
from slabwright.top.layout import laid_out
from slabwright.top.layout_results import Clearance, Layout

Changes = Mapping[str, Mapping[str, Any]]
"""New values of features, by name and key."""
Broken = tuple[str, str, str | None]

_EPS = 1e-6
_PLACE_RULES = (rule.EDGE, rule.BETWEEN, rule.WORKED_EDGE, rule.NUT, rule.KEPT_CLEAR, rule.PLATE)
_CHECKS = 6
_ENOUGH = 12_000
"""Features laid out anew for remedies, over all trials: some seconds. A crowded drawing is mended step by step anyway."""
_LEAPS = 200
DIRECTIONS = ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))


@dataclass(frozen=True)
class Move:
    """A move that was tried and holds.

    Attributes:
        distance: of the move [mm]
        changes: what is stated anew
        words: what to do, as it is told
    """

    distance: float
    changes: Changes
    words: str


def step_of(units: Units) -> float:
    """The step in which a new distance is typed [mm]: a millimetre, or a sixteenth of an inch."""
    return 1.0 if units == "metric" else INCH / 16.0


class Trial:
    """A layout to try changes on: laid out anew, every rule checked."""

    def __init__(self, layout: Layout, found: Sequence[Clearance], units: Units) -> None:
        """Take the layout as it is, with its clearances."""
        self.layout = layout
        self.units = units
        self.broken = _broken(found)
        self.stated = {feature.name: feature for feature in layout.top.features}
        self._moves: dict[str, Move | None] = {}
        self._left = _ENOUGH

    @property
    def tired(self) -> bool:
        """Whether as much was tried as is worth the wait."""
        return self._left <= 0

    def changed(self, changes: Changes) -> Layout:
        """The layout with features stated anew."""
        features = [
            feature.model_copy(update=dict(changes[feature.name])) if feature.name in changes else feature
            for feature in self.layout.top.features
        ]
        top = self.layout.top.model_copy(update={"features": features})
        return laid_out(top, self.layout.outline, self.layout.thickness, self._openings(top))

    def _openings(self, top: Top) -> dict[str, tuple[float, float, float]]:
        return {one.name: self.layout.openings[one.name] for one in top.features if isinstance(one, Pocket)}

    def holds(self, changes: Changes, clash: Broken | None, clear: frozenset[str] = frozenset()) -> bool:
        """Whether changes mend a clash, break nothing new, and keep joined what is joined.

        Args:
            changes: what is stated anew
            clash: that must be gone
            clear: features of which no rule of place may stay broken
        """
        self.count()
        tried = self.changed(changes)
        broken = _broken(clearances(tried))
        if clash in broken or not broken <= self.broken or not tried.meant >= self.layout.meant:
            return False
        return not any(kind in _PLACE_RULES and ({first, second} & clear) for kind, first, second in broken)

    def count(self) -> None:
        """One more trial."""
        self._left -= len(self.stated)

    def free_place(self, name: str) -> Move | None:
        """The nearest free position of a feature with all that goes with it; None where there is none."""
        if name not in self._moves:
            self._moves[name] = _nearest(self, name)
        return self._moves[name]


def _broken(found: Sequence[Clearance]) -> frozenset[Broken]:
    return frozenset((one.rule, one.first, one.second) for one in found if not one.holds and one.rule != rule.BOLT_END)


class _Party:
    """One feature and what goes with it: what is dimensioned from it, and what lies in it."""

    def __init__(self, trial: Trial, name: str) -> None:
        self.trial, self.name = trial, name
        self.leader = trial.stated[name]
        inner = [feature.name for feature in trial.layout.features if feature.lies_in == name]
        self.inner = inner if isinstance(self.leader, Pocket | Bar) else []
        roots = [name, *self.inner]
        self.follow = tuple(self._followers(roots, key) for key in ("along_from", "across_from"))
        numbers = {feature.name: number for number, feature in enumerate(trial.layout.features)}
        self.masks = tuple(np.array(sorted(numbers[one] for one in axis), dtype=np.intp) for axis in self.follow)

    def _followers(self, roots: Sequence[str], key: str) -> set[str]:
        """The roots and all that is dimensioned from them, at first or second hand."""
        found = set(roots)
        while True:
            more = {
                one.name
                for one in self.trial.stated.values()
                if isinstance(one, Placed) and getattr(one, key) in found and one.name not in found
            }
            if not more:
                return found
            found |= more

    def all(self) -> frozenset[str]:
        return frozenset(self.follow[0] | self.follow[1])

    def changes(self, dx: float, dy: float) -> dict[str, dict[str, Any]]:
        """New figures for a shift: of the leader, and of what lies in it but is dimensioned from elsewhere."""
        found: dict[str, dict[str, Any]] = {}
        if isinstance(self.leader, Channel):
            return {self.name: {"path": [(x + dx, y + dy) for x, y in self.leader.path]}}
        for axis, (shift, key) in enumerate(((dx, "along"), (dy, "across"))):
            if not shift:
                continue
            for name in (self.name, *self.inner):
                one = self.trial.stated[name]
                assert isinstance(one, Placed)
                origin = getattr(one, f"{key}_from")
                if name == self.name or origin not in self.follow[axis]:
                    sign = -1.0 if origin in ("right end", "far edge") else 1.0
                    found.setdefault(name, {})[key] = getattr(one, key) + sign * shift
        return found

    def rounded(self, axis: int, direction: float, least: float) -> float:
        """The shift of at least `least` whose typed distance is a whole step."""
        step = step_of(self.trial.units)
        if isinstance(self.leader, Channel):
            return math.ceil(least / step - _EPS) * step
        assert isinstance(self.leader, Placed)
        typed, origin = (
            (self.leader.along, self.leader.along_from) if axis == 0 else (self.leader.across, self.leader.across_from)
        )
        sign = direction * (-1.0 if origin in ("right end", "far edge") else 1.0)
        return sign * (sign * math.ceil(sign * (typed + sign * least) / step - _EPS) * step - typed)

    def words(self, dx: float, dy: float) -> str:
        """What to do."""
        units = self.trial.units
        way = []
        if dx:
            way.append(f"{format_length(abs(dx), units)} towards the {'right' if dx > 0 else 'left'} end")
        if dy:
            way.append(f"{format_length(abs(dy), units)} towards the {'far' if dy > 0 else 'near'} edge")
        told = " and ".join(way)
        if isinstance(self.leader, Channel):
            return f"Shift the whole path of '{self.name}' {told}."
        changed = self.changes(dx, dy)[self.name]
        assert isinstance(self.leader, Placed)
        places = []
        if "along" in changed:
            places.append(along_words(self.leader.along_from, changed["along"], units))
        if "across" in changed:
            places.append(across_words(self.leader.across_from, changed["across"], units))
        company = self.all() - {self.name}
        more = f" with what goes with it ({', '.join(sorted(company))})" if company else ""
        return f"Move '{self.name}'{more} {told}: {' and '.join(places)}."


def along_words(origin: str, typed: float, units: Units) -> str:
    """A place along the grain as it is dimensioned."""
    length = format_length(abs(typed), units)
    if origin in ("left end", "right end"):
        return f"{length} from the {origin}" if typed >= 0 else f"{length} beyond the {origin}"
    of = "the middle" if origin == "middle" else f"'{origin}'"
    return f"along = {'-' if typed < 0 else ''}{length} from {of}" if typed else f"level with {of}"


def across_words(origin: str, typed: float, units: Units) -> str:
    """A place across the grain as it is dimensioned."""
    length = format_length(abs(typed), units)
    if origin in ("near edge", "far edge"):
        return f"{length} from the {origin}" if typed >= 0 else f"{length} beyond the {origin}"
    of = "the centre line" if origin == "centre line" else f"'{origin}'"
    return f"across = {'-' if typed < 0 else ''}{length} from {of}" if typed else f"on the line of {of}"


class _Ground:
    """What a party must keep clear of, and by how much in plan, worked out once."""

    def __init__(self, layout: Layout, party: _Party) -> None:
        rules = layout.top.clearances
        solids = gathered(layout.features)
        self.outline, self.edge = layout.outline, rules.edge
        goes = [np.isin(solids.owner, mask) for mask in party.masks]
        self.goes = np.flatnonzero(goes[0] | goes[1])
        self.own, self.radius = solids.cores[self.goes], solids.radius[self.goes]
        self.shift = np.column_stack([goes[0][self.goes], goes[1][self.goes]]).astype(np.float64)
        still = np.flatnonzero(~(goes[0] | goes[1]))
        names = [feature.name for feature in layout.features]
        moving: list[int] = []
        against: list[Any] = []
        need: list[float] = []
        meant = layout.meant
        for index, own in enumerate(self.goes.tolist()):
            height = np.maximum(solids.upper[own] - solids.lower[still], solids.upper[still] - solids.lower[own]).clip(
                0.0
            )
            asked = np.sqrt(np.maximum(rules.between**2 - height**2, 0.0))
            for other, plan in zip(still.tolist(), asked.tolist(), strict=True):
                if plan > 0.0 and (names[solids.owner[own]], names[solids.owner[other]]) not in meant:
                    moving.append(index)
                    against.append(solids.cores[other])
                    need.append(plan + self.radius[index] + float(solids.radius[other]))
        self._rooms(
            layout, solids.owner, solids.lower, solids.cores, solids.radius, still, names, moving, against, need
        )
        self.moving = np.array(moving, dtype=np.intp)
        self.against: NDArray[np.object_] = np.empty(len(against), dtype=object)
        self.against[:] = against
        self.need = np.array(need, dtype=np.float64)

    def _rooms(
        self,
        layout: Layout,
        owner: NDArray[np.intp],
        lower: Floats,
        cores: NDArray[np.object_],
        radius: Floats,
        still: NDArray[np.intp],
        names: Sequence[str],
        moving: list[int],
        against: list[Any],
        need: list[float],
    ) -> None:
        """Rooms of nuts, and places that are kept clear."""
        rooms = nut_rooms(layout)
        opens = lower >= layout.thickness - _EPS
        for index, own in enumerate(self.goes.tolist()):
            name = names[owner[own]]
            for other in still.tolist():
                met = names[owner[other]]
                if not (opens[own] and opens[other]) or (name, met) in layout.meant:
                    continue
                if name in rooms or met in rooms:
                    grown = (
                        rooms[name].radius if name in rooms else float(radius[own]),
                        rooms[met].radius if met in rooms else float(radius[other]),
                    )
                    moving.append(index)
                    against.append(cores[other])
                    need.append(sum(grown))
            for place in layout.top.keep_clear:
                if rule.kept_out(place, layout.features[owner[own]].kind, bool(opens[own])) and opens[own]:
                    moving.append(index)
                    against.append(kept_shape(place.outline))
                    need.append(rooms[name].radius if name in rooms else float(radius[own]))

    def lack(self, dx: float, dy: float) -> float:
        """The most that any distance falls short by, after a shift; nothing or less where all is clear [mm]."""
        shifts = self.shift * (dx, dy)
        counts = shapely.get_num_coordinates(self.own)
        shifted = shapely.set_coordinates(
            self.own.copy(), shapely.get_coordinates(self.own) + np.repeat(shifts, counts, axis=0)
        )
        worst = float((self.edge - inside_by(self.outline, shifted, self.radius)).max(initial=-math.inf))
        if len(self.need):
            worst = max(worst, float((self.need - shapely.distance(shifted[self.moving], self.against)).max()))
        return worst


def _nearest(trial: Trial, name: str) -> Move | None:
    party = _Party(trial, name)
    ground = _Ground(trial.layout, party)
    best: Move | None = None
    for direction in DIRECTIONS:
        found = _along(trial, party, ground, direction, math.inf if best is None else best.distance)
        best = found or best
    return best


def _along(trial: Trial, party: _Party, ground: _Ground, direction: tuple[float, float], most: float) -> Move | None:
    """The nearest free position in one direction, nearer than `most`."""
    axis = 0 if direction[0] else 1
    sign = direction[axis]
    layout = trial.layout
    furthest = min(most, layout.length + layout.width)
    for shift in islice(_leaps(party, ground, axis, sign, furthest), _CHECKS):
        dx, dy = (sign * shift, 0.0) if axis == 0 else (0.0, sign * shift)
        if trial.holds(party.changes(dx, dy), None, party.all()):
            return Move(shift, party.changes(dx, dy), party.words(dx, dy))
    return None


def _leaps(party: _Party, ground: _Ground, axis: int, sign: float, furthest: float) -> Iterator[float]:
    """Shifts at which all that is worked out in plan is clear."""
    shift = party.rounded(axis, sign, step_of(party.trial.units))
    for _ in range(_LEAPS):
        if shift >= furthest - _EPS:
            return
        lack = ground.lack(sign * shift, 0.0) if axis == 0 else ground.lack(0.0, sign * shift)
        if lack <= _EPS:
            yield shift
            lack = step_of(party.trial.units)
        shift = party.rounded(axis, sign, shift + max(lack, _EPS * 10))
