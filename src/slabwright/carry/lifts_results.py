"""Results: each lift of the work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE

_HANDS = ("job:hands", "shop:hands")
_NIOSH = "NIOSH applications manual, DHHS 94-110 (Revised 9/2021)"
_TEAM = "HSE guidance on the Manual Handling Operations Regulations 1992 (L23)"


@dataclass(frozen=True)
class Lift:
    """One lift or carry."""

    name: str = figure("", "what is lifted, and where to")
    when: str = figure("", "in the work")
    state: str = figure("", "which state of the piece that is")
    count: int = figure("1", "how many of them are alike")
    mass: float = figure("kg", "mean", rests_on=("carry.states",), change="weigh the slab")
    mass_high: float = figure(
        "kg",
        "19 times in 20 no more than this; people and aids are reckoned with it",
        rests_on=("carry.states",),
        rounds="up",
    )
    ends: tuple[str, str] = figure("", "what the two ends are called")
    per_end: tuple[float, float] = figure(
        "kg",
        "what each end weighs in the hands, in the order of ends",
        how="mass x distance of its centre from the other end / distance of the ends; on stairs tilted with them",
        rests_on=("carry.states",),
        sure="as sure as the mass and its centre",
        change="take hold farther from the centre",
    )
    hand_people: int | None = figure(
        "1",
        "people that it takes by hand; empty where four are not enough",
        how="fewest whose heavier end is no more than their share: two lift two thirds of what each does alone, more half",
        rests_on=(*_HANDS, "carry.states"),
        source=_TEAM,
        change="[hands] alone_most, or an aid",
    )
    people: int | None = figure(
        "1",
        "people that it takes, with the aid if one is named; empty where four are not enough and no aid serves",
        how="the aid at hand that serves, else by hand",
        rests_on=_HANDS,
        source=f"{_TEAM}; {COMMON_PRACTICE}",
    )
    people_here: int = figure(
        "1", "people at hand for it", rests_on=_HANDS, change="[hands] people, people_on_delivery"
    )
    ready: bool = figure("", "whether the people and aids at hand do", rests_on=_HANDS)
    aid: str | None = figure("", "the aid; empty where none is wanted", rests_on=_HANDS, source=COMMON_PRACTICE)
    aid_here: bool = figure("", "whether that aid is at hand", rests_on=_HANDS, change="[hands] aids")
    aid_words: str = figure("", "how it is used", source=COMMON_PRACTICE)
    alone: Literal["yes", "with an aid", "no"] = figure(
        "", "whether one person may do it", how="by hand, or with an aid that is at hand", rests_on=_HANDS
    )
    alone_words: str = figure("", "what one person needs for it, or that it must not be done alone")
    lifting_index: float | None = figure(
        "1",
        "weight over the recommended limit; empty where the equation does not apply",
        how="mass / (load constant x reach x height x distance x turning x how often x hold), the lower of both limits",
        rests_on=("carry.states", *_HANDS),
        sure="above 1 more risk for some people; above 3 for nearly all",
        source=_NIOSH,
        change="closer to the body, hands between knee and shoulder, two people, or an aid",
    )
    weight_limit: float | None = figure(
        "kg", "recommended limit of that lift; empty where the equation does not apply", source=_NIOSH
    )
    why_not: str | None = figure("", "which condition keeps the equation from applying", source=_NIOSH)
    steps: tuple[str, ...] = figure("", "what to do", source=COMMON_PRACTICE)
    caution: str = figure("", "what to mind", source=COMMON_PRACTICE)
    instead: str = figure("", "another way, where there is one", source=COMMON_PRACTICE)
    length: float = figure("mm", "of what is lifted, from end to end")
    height: float = figure("mm", "of what is lifted, as it is lifted")
