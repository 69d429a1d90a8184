"""Who does each lift of the assembly: as its lift card says; what has no card by the same rule."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.carry.assembly_results import PartMasses, SteelFrame
from slabwright.carry.lifts import choice_of, people_by_hand
from slabwright.carry.lifts_results import Lift
from slabwright.job.hands_models import Hands
from slabwright.quantities import Units, format_mass
from slabwright.reference.lifting import Way, lifting

LONG = 1200.0
"""What is longer than this is not lifted by one [mm]: common practice."""


@dataclass(frozen=True)
class Crew:
    """Who does a lift.

    Attributes:
        people: that it takes, with the aid if one is named
        aid: which; empty: none
        ready: whether they and it are at hand
        by_hand: people that it takes without an aid; None: four are not enough
    """

    people: int
    aid: str
    ready: bool
    by_hand: int | None

    @property
    def tool(self) -> str:
        """With what it is done."""
        if not self.aid:
            return "hands"
        return self.aid if self.ready else f"{self.aid} (not at hand)"

    def told(self) -> str:
        """In words."""
        people = "1 person" if self.people == 1 else f"{self.people} people"
        if not self.aid:
            return f"{people} by hand"
        by_hand = "four are not enough by hand" if self.by_hand is None else f"by hand {self.by_hand}"
        return f"{people} with the {self.aid}" if self.ready else f"{people} with a {self.aid}; {by_hand}"


@dataclass(frozen=True)
class Crews:
    """The crews of one assembly.

    Attributes:
        lifts: the lift cards; none: every lift goes by the rule
        masses: of the parts
        long: of the top [mm]
        hands: what one of them lifts, and the aids
        here: people at hand
        units: of messages
    """

    lifts: Sequence[Lift]
    masses: PartMasses
    long: float
    hands: Hands
    here: int
    units: Units

    def top(self) -> Crew:
        """Of the top by itself."""
        card = next((lift for lift in self.lifts if lift.state == "top"), None)
        return _of_card(card) if card is not None else self._by_rule("top onto the base", self.masses.top, self.long)

    def whole(self) -> Crew:
        """Of the whole piece, turned over: half at each long edge."""
        return self._by_rule("into the van", self.whole_most(), self.long, ("hoist",))

    def frame(self, frame: SteelFrame) -> Crew:
        """Of a piece of the base."""
        cards = [lift for lift in self.lifts if lift.state == "base" or lift.state.endswith("frame")]
        cards += [lift for lift in self.lifts if lift.state.startswith("base part")]
        card = min(cards, key=lambda lift: abs(lift.mass - frame.mass), default=None)
        return _of_card(card) if card is not None else self._by_rule("leg frames", frame.mass, 0.0)

    def whole_mass(self) -> float:
        """What the whole piece weighs, as its lift card has it: with its finish, feet and cables [kg]."""
        mean = self.masses.top + self.masses.base
        return next((lift.mass for lift in self.lifts if lift.state == "finished piece"), mean)

    def whole_most(self) -> float:
        """What the whole piece weighs, 19 times in 20 no more [kg]."""
        mean = self.masses.top + self.masses.base
        return next((lift.mass_high for lift in self.lifts if lift.state == "finished piece"), mean)

    def weight(self, mass: float) -> str:
        """A weight in words."""
        return format_mass(mass, self.units)

    def _by_rule(self, key: str, mass: float, long: float, aids: Sequence[str] = ()) -> Crew:
        kind = next(kind for kind in lifting().kinds if kind.key == key)
        ways: tuple[Way, ...] = tuple(way for way in kind.ways if not aids or way.aid in aids)
        by_hand = people_by_hand((mass / 2.0, mass / 2.0), self.hands.alone_most)
        if by_hand == 1 and long > LONG:
            by_hand = 2
        choice = choice_of(ways, mass, self.hands, self.here, by_hand)
        assert choice.people is not None  # a hoist bears all of it
        return Crew(choice.people, choice.way.aid if choice.way is not None else "", choice.ready, by_hand)


def _of_card(lift: Lift) -> Crew:
    return Crew(lift.people or len(lifting().shares), lift.aid or "", lift.ready, lift.hand_people)
