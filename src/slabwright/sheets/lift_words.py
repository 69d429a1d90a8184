"""Who does a lift, in few words: the same on its card, at the machine and in the assembly."""

from __future__ import annotations

from slabwright.carry.lifts_results import Lift


def people_words(number: int) -> str:
    """One person, or so many people."""
    return "1 person" if number == 1 else f"{number} people"


def done_with(lift: Lift) -> tuple[str, list[str]]:
    """How it is done with what is at hand, else that it is not: the heading, and the lines below it with what would do."""
    people = None if lift.people is None else people_words(lift.people)
    if lift.ready and people is not None:
        return (f"{people} by hand", []) if lift.aid is None else (f"With the {lift.aid}", [people])
    ways = [] if lift.hand_people is None else [f"{people_words(lift.hand_people)} by hand"]
    ways += [f"borrow a {lift.aid}: {people}"] if lift.aid is not None else []
    ways = ways or ["take it apart, or ask a carrier"]
    return "Not with what is at hand", [way if number else way.capitalize() for number, way in enumerate(_or(ways))]


def _or(ways: list[str]) -> list[str]:
    return [way if number == 0 else f"or {way}" for number, way in enumerate(ways)]


def lifted_by(lift: Lift) -> str:
    """The same as the end of a sentence."""
    heading, more = done_with(lift)
    if not lift.ready:
        return f"not with what is at hand: {' '.join(more)}".lower()
    return f"{more[0]} {heading[:1].lower()}{heading[1:]}" if more else heading
