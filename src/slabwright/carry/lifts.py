"""Each lift and carry: weight per end, people, aid, and the lifting index where the equation applies."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from slabwright.carry.lifts_results import Lift
from slabwright.carry.mass_results import Masses, State
from slabwright.carry.niosh import Conditions, Grip, lifting_index, reach, weight_limit, why_not
from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.job.hands_models import Hands, hands_of
from slabwright.job.loaded import Job
from slabwright.quantities import INCH, POUND, Units, format_mass
from slabwright.reference.lifting import LiftKind, Way, lifting
from slabwright.reference.niosh import lifting_tables

_TOO_FAR = "it is held farther from the body than the equation reaches"
_TOO_HIGH = "it is lifted higher or farther than the equation reaches"
_FAR = 10
"""Steps that a carry counts with: more than a step or two."""
_GRIP_IN = 100.0
"""From an end to the hands [mm]: common practice."""
_ALIKE = 0.01


def end_weights(mass: float, centre: float, first: float, last: float) -> tuple[float, float]:
    """What two supports of a load bear.

    Args:
        mass: of the load [kg]
        centre: place of its centre between them [mm]
        first: place of the first hold [mm]
        last: place of the last hold [mm]

    Raises:
        SlabwrightError: the mass is below zero, or both holds are at one place.
    """
    if mass < 0.0:
        raise SlabwrightError("hands: a load cannot weigh less than nothing")
    if not last > first:
        raise SlabwrightError("hands: the two ends of a lift must be apart")
    share = (centre - first) / (last - first)
    return mass * (1.0 - share), mass * share


def end_weights_on_stairs(
    mass: float, centre: float, above: float, first: float, last: float, slope: float
) -> tuple[float, float]:
    """The same of a load that is tilted with a flight of stairs: what is above the holds leans towards the lower end.

    Args:
        mass: of the load [kg]
        centre: place of its centre along, level [mm]
        above: its height above the line of the holds, level [mm]
        first: place of the lower hold [mm]
        last: place of the upper hold [mm]
        slope: of the flight [deg]
    """
    return end_weights(mass, centre - above * math.tan(math.radians(slope)), first, last)


def people_by_hand(ends: tuple[float, float], alone_most: float, borne: str = "both") -> int | None:
    """Fewest people that lift it by hand; None where four are not enough.

    One takes all; of two one takes each end, of three two take the heavier one, of four two take each. What each may
    bear: the team's share of what one lifts alone.

    Args:
        ends: weight of each end [kg]
        alone_most: that one lifts alone [kg]
        borne: both ends at once, or the heavier alone while the other lies on
    """
    heavy, light = max(ends), min(ends)
    for people, share in enumerate(lifting().shares, start=1):
        each = share * alone_most
        if borne != "both":
            # Past upright it has to be held from the other side, so one is too few.
            fits = people > 1 and heavy <= people * each
        elif people == 1:
            fits = heavy + light <= each
        else:
            fits = heavy <= (people - people // 2) * each and light <= (people // 2) * each
        if fits:
            return people
    return None


def lifts(job: Job, masses: Masses, steps: int | None = None) -> tuple[tuple[Lift, ...], tuple[Finding, ...]]:
    """Every lift and carry of the work, in its order.

    Args:
        job: states who and what lifts
        masses: every state that is known
        steps: on the way in, where the route knows; None: as `[hands]` states, and without that some are reckoned with

    Returns:
        The lifts, and what there is to say.

    Raises:
        SlabwrightError: what is stated cannot be used.
    """
    hands = hands_of(job.shop.hands, job.stated.hands)
    units = job.stated.job.units
    stairs = steps if steps is not None else hands.steps
    made = []
    for kind in lifting().kinds:
        if kind.stairs and stairs == 0:
            continue
        for state, count in _lifted(kind, masses):
            made.append(_lift(kind, state, count, hands, units, masses))
    return tuple(made), _findings(made, job, units)


def _lifted(kind: LiftKind, masses: Masses) -> list[tuple[State, int]]:
    """The states that a lift takes up, parts that weigh alike once with their number."""
    if kind.state in ("finished piece",):
        state = masses.state("finished piece") or masses.state("top")
        return [(state, 1)] if state is not None else []
    parts = [state for state in masses.states if state.name.endswith("leg frame") or state.name.startswith("base part")]
    if kind.state == "leg frame":
        found: list[tuple[State, int]] = []
        for part in parts:
            same = next(
                (k for k, (other, _) in enumerate(found) if abs(other.mass - part.mass) <= _ALIKE * other.mass), None
            )
            if same is None:
                found.append((part, 1))
            else:
                found[same] = (found[same][0], found[same][1] + 1)
        return found
    if kind.state == "base" and parts:
        return []
    state = masses.state(kind.state)
    return [(state, 1)] if state is not None else []


@dataclass(frozen=True)
class Choice:
    """Who does a lift.

    Attributes:
        people: that it takes, with the aid if one is chosen; None: four are not enough and no aid serves
        way: with an aid; None: by hand
        ready: whether both are at hand
    """

    people: int | None
    way: Way | None
    ready: bool


def _ends(kind: LiftKind, state: State, mass: float) -> tuple[tuple[float, float], float]:
    """Weight of each end, and the length between the ends [kg, mm]."""
    across = kind.ends[0].startswith("near")
    start, size, centre = (
        (state.start[1], state.width, state.centre.y) if across else (state.start[0], state.length, state.centre.x)
    )
    # Along an edge the hands lie on it; at an end they reach in.
    inside = 0.0 if across else min(_GRIP_IN, size / 4.0)
    first, last = start + inside, start + size - inside
    if not kind.stairs:
        return end_weights(mass, centre, first, last), size
    # The piece is held by the top's underside: about where its centre is, or above it.
    held = state.start[2] + state.height if state.name == "top" else state.start[2] + 0.9 * state.height
    return end_weights_on_stairs(mass, centre, state.centre.z - held, first, last, lifting().slope), size


def _may(way: Way, weight: float, hands: Hands, people: int, most: float | None) -> bool:
    """Whether so many people do it that way."""
    shares = lifting().shares
    share = shares[min(people, len(shares)) - 1]
    return (
        people >= way.people
        and way.bears * weight <= min(people, len(shares)) * share * hands.alone_most
        and (most is None or weight <= most)
    )


def _lift(kind: LiftKind, state: State, count: int, hands: Hands, units: Units, masses: Masses) -> Lift:
    here = hands.delivering() if kind.delivery else hands.people
    ends, size = _ends(kind, state, state.mass)
    ends_high, _ = _ends(kind, state, state.high)
    borne = "one" if kind.ends[0].startswith("near edge") else "both"
    by_hand = people_by_hand(ends_high, hands.alone_most, borne)
    index, limit, reason = None, None, None
    if by_hand == 1:
        index, limit, reason = _index(kind, state, hands, units)
        if reason in (_TOO_FAR, _TOO_HIGH):
            by_hand = 2
    choice = choice_of(kind.ways, state.high, hands, here, by_hand)
    if choice.people != 1 or choice.way is not None:
        index, limit = None, None
        reason = why_not(
            Conditions(people=choice.people or by_hand or len(lifting().shares) + 1, unaided=choice.way is None)
        )
    alone, alone_words = _alone(kind, state, hands, by_hand)
    return Lift(
        name=kind.name if count == 1 else f"{kind.name}, each of {count}",
        when=kind.when,
        state=state.name,
        count=count,
        mass=state.mass,
        mass_high=state.high,
        ends=kind.ends,
        per_end=ends,
        hand_people=by_hand,
        people=choice.people,
        people_here=here,
        ready=choice.ready,
        aid=choice.way.aid if choice.way is not None else None,
        aid_here=choice.way is not None and choice.ready,
        aid_words=choice.way.words if choice.way is not None else "",
        alone=alone,
        alone_words=alone_words,
        lifting_index=index,
        weight_limit=limit,
        why_not=reason,
        steps=kind.steps,
        caution=kind.caution,
        instead=_instead(state, masses, hands, units),
        length=size,
        height=state.height,
    )


def choice_of(ways: Sequence[Way], weight: float, hands: Hands, here: int, by_hand: int | None) -> Choice:
    """By hand where one does it; else the aid at hand that wants fewest; else by hand; else what is lacking.

    Args:
        ways: with aids
        weight: of the load, 19 times in 20 no more [kg]
        hands: what one lifts alone, and the aids at hand
        here: people at hand
        by_hand: people that it takes without an aid; None: four are not enough
    """
    if by_hand == 1:
        return Choice(1, None, True)
    at_hand = [way for way in ways if way.aid in hands.aids and _may(way, weight, hands, here, hands.most_of(way.aid))]
    if at_hand:
        fewest = min(at_hand, key=lambda way: way.people)
        return Choice(_fewest(fewest, weight, hands, here), fewest, True)
    if by_hand is not None and by_hand <= here:
        return Choice(by_hand, None, True)
    others = [way for way in ways if _may(way, weight, hands, max(here, way.people), None)]
    way = min(others, key=lambda each: each.people, default=None)
    if way is not None:
        return Choice(_fewest(way, weight, hands, max(here, way.people)), way, False)
    return Choice(by_hand, None, False)


def _fewest(way: Way, weight: float, hands: Hands, most: int) -> int:
    """Fewest people that a way wants for this weight."""
    return next(people for people in range(way.people, most + 1) if _may(way, weight, hands, people, None))


def _alone(
    kind: LiftKind, state: State, hands: Hands, by_hand: int | None
) -> tuple[Literal["yes", "with an aid", "no"], str]:
    """Whether one person may do it, and with what."""
    if by_hand == 1:
        return "yes", "By hand, close to the body."
    ways = [way for way in kind.ways if _may(way, state.high, hands, 1, None)]
    here = next(
        (way for way in ways if way.aid in hands.aids and _may(way, state.high, hands, 1, hands.most_of(way.aid))), None
    )
    if here is not None:
        return "with an aid", f"Alone only with the {here.aid}: {here.words}."
    if ways:
        return "no", f"Not alone. Alone only with a {ways[0].aid} that may carry it."
    return "no", "Not alone, whatever the aid."


def _index(kind: LiftKind, state: State, hands: Hands, units: Units) -> tuple[float | None, float | None, str | None]:
    """Lifting index and recommended limit [kg] of one person's lift, or why the equation does not apply.

    A part is taken off the bench and stood on the floor, upright, held at half its height, its thinner side to the body.
    """
    reason = why_not(Conditions(steps=_FAR if kind.walking else 0, unaided=not kind.ends[0].startswith("near edge")))
    if reason is not None:
        return None, None, reason
    length, mass = (10.0, 1.0) if units == "metric" else (INCH, POUND)
    low, high = state.height / 2.0 / length, (hands.bed_height + state.height / 2.0) / length
    away = min(state.length, state.width) / length
    grips = [Grip(reach(away, height, units), height) for height in (high, low)]
    limits = [weight_limit(grip, origin=high, travel=high - low, units=units) for grip in grips]
    found = lifting_index(state.mass / mass, limits)
    if found is None:
        far = max(grip.horizontal for grip in grips) > lifting_tables().sets[units].horizontal_most
        return None, None, _TOO_FAR if far else _TOO_HIGH
    return found, min(limit.limit for limit in limits) * mass, None


def _instead(state: State, masses: Masses, hands: Hands, units: Units) -> str:
    """The piece taken apart, where it is lifted whole."""
    if state.name != "finished piece":
        return ""
    parts = [each for each in masses.states if each.name == "top" or each.name.startswith("base part")]
    frames = [each for each in masses.states if each.name.endswith("leg frame")]
    base = masses.state("base")
    if not frames and len(parts) == 1 and base is not None:
        parts.append(base)
    told = [f"the {each.name} {_told(each, hands, units)}" for each in parts]
    if frames:
        told.append(f"each leg frame {_told(max(frames, key=lambda each: each.mass), hands, units)}")
    return f"Or apart: {', '.join(told)}."


def _told(part: State, hands: Hands, units: Units) -> str:
    """A part's weight, and how many carry it flat by its ends."""
    inside = min(_GRIP_IN, part.length / 4.0)
    first, last = part.start[0] + inside, part.start[0] + part.length - inside
    people = people_by_hand(end_weights(part.high, part.centre.x, first, last), hands.alone_most)
    by_hand = "not by hand" if people is None else "one person" if people == 1 else f"{people} people"
    return f"{format_mass(part.mass, units)} ({by_hand})"


def _findings(made: list[Lift], job: Job, units: Units) -> tuple[Finding, ...]:
    """What is not stated, what is at hand and too weak, what too few would lift, and what is heavy for one."""
    found = []
    if not any(key.startswith(("hands.", "shop:hands.")) for key in job.where):
        found.append(
            Finding(
                "carry/hands-unstated",
                "note",
                "Who and what lifts is not stated: one person without aids is reckoned with.",
                "State [hands] people and aids, once in shop.toml or for this job.",
                COMMON_PRACTICE,
            )
        )
    lacking = [lift for lift in made if not lift.ready]
    if lacking:
        told = "; ".join(f"{lift.name.lower()} (up to {format_mass(lift.mass_high, units)})" for lift in lacking)
        found.append(
            Finding(
                "carry/too-few-hands",
                "caution",
                f"Not with the people and aids that are stated: {told}.",
                " ".join(f"{lift.name}: {_wanted(lift)}. {lift.instead}".strip() for lift in lacking),
                f"{lifting().team_source}; {COMMON_PRACTICE}",
            )
        )
    found += [
        Finding(
            "carry/lifting-index",
            "caution",
            f"{lift.name}: its lifting index for one person is {lift.lifting_index:.1f}; above 1 some come to harm.",
            "Two people, or an aid; hands close to the body, between knee and shoulder.",
            lifting_tables().source,
        )
        for lift in made
        if lift.lifting_index is not None and lift.lifting_index > 1.0
    ]
    return tuple(found)


def _wanted(lift: Lift) -> str:
    """What a lift wants, in words."""
    by_hand = "no number of people by hand" if lift.hand_people is None else f"{lift.hand_people} people by hand"
    if lift.aid is None:
        return by_hand if lift.hand_people is not None else "lighter parts, or a carrier's gear"
    people = "one person" if lift.people == 1 else f"{lift.people} people"
    return (
        f"{people} with a {lift.aid} that may carry it, or {by_hand}"
        if lift.hand_people
        else f"{people} with a {lift.aid} that may carry it"
    )
