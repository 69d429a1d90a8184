"""The way in: the piece, or its parts, through the maker's own list of passages."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

from slabwright.carry.route_pieces import Apart, Pieces, Solid
from slabwright.carry.route_results import Passage, Way, WayIn
from slabwright.carry.route_steps import ways_through
from slabwright.carry.route_ways import less
from slabwright.findings import Finding
from slabwright.job.carry_models import Delivery, Step
from slabwright.quantities import Units, format_length

TIGHT = 10.0
"""Less than this on each side, beyond hands and padding, is tight [mm]: common practice."""

_FACTORS = (1.0, 1.25, 1.5)
_SIZES = (
    "width", "height", "floor_length", "inside_width", "inside_height", "before", "behind", "after", "ceiling", "headroom",
    "landing", "landing_headroom", "door_width", "door_height", "depth",
)  # fmt: skip
_WHERE = {
    "width": "across its width", "height": "under its height", "length": "along its length", "turn": "where it turns",
}  # fmt: skip


def way_in(
    delivery: Delivery, pieces: Pieces, units: Units, *, helped: bool = True
) -> tuple[WayIn, tuple[Finding, ...]]:
    """The delivery route: each passage with the way through it, or what must come off.

    Between passages it may be set down, turned end for end and laid over: there must be room for that, which is not computed.

    Args:
        delivery: the passages in their order, hand room and padding
        pieces: the piece, and how it may come apart
        units: of messages
        helped: whether what would help at a tight passage is worked out too, which takes longer

    Returns:
        The way in, its least margin over the passages, and what there is to say.
    """
    if not delivery.steps:
        return WayIn(None, "", "", (), ()), ()
    asked = delivery.hand_room + delivery.padding
    names = _names(delivery.steps)
    whole = Apart("whole", (pieces.whole,))
    options = [whole, *pieces.apart]
    if delivery.apart == "never" or not pieces.apart:
        options = [whole]
    elif delivery.apart == "always":
        # Feet that are screwed out make nothing easier to carry: what parts the piece is meant.
        options = [one for one in pieces.apart if len(one.parts) > 1] or list(pieces.apart)
    worked: list[tuple[Apart, tuple[Passage, ...]]] = []
    for option in options:
        passages = tuple(_passage(step, name, option, asked) for step, name in zip(delivery.steps, names, strict=True))
        worked.append((option, passages))
        if all(passage.margin >= 0.0 for passage in passages):
            break
    chosen = max(worked, key=lambda one: min(min(p.margin for p in one[1]), 0.0))
    stops = tuple(p.name for p in worked[0][1] if p.margin < 0.0) if worked[0][0] is whole else ()
    option, passages = chosen
    if helped:
        passages = tuple(_helped(passage, worked, delivery, at, units) for at, passage in enumerate(passages))
    tightest = min(passages, key=lambda passage: passage.margin)
    found = WayIn(tightest.margin, option.how, tightest.name, stops, passages)
    return found, tuple(_findings(found, delivery, units))


@lru_cache(maxsize=512)
def _through(step: Step, part: Solid, asked: float) -> tuple[Way, ...]:
    """How one part goes through one passage, kept: where one passage is tried otherwise, the others are as they were."""
    return ways_through(step, part, asked)


def _names(steps: list[Step]) -> list[str]:
    """What each step is called; those without a name by kind and number."""
    count: dict[str, int] = {}
    names = []
    for step in steps:
        count[step.kind] = count.get(step.kind, 0) + 1
        many = sum(other.kind == step.kind for other in steps) > 1
        names.append(step.name or (f"{step.kind} {count[step.kind]}" if many else step.kind))
    return names


def _passage(step: Step, name: str, option: Apart, asked: float) -> Passage:
    ways = []
    done: dict[object, int] = {}
    for part in option.parts:
        # Parts of one size, such as two leg frames, go through alike.
        key = tuple(sorted(part.size)) if len(part.boxes) == 1 else part
        if key in done:
            continue
        done[key] = 1
        ways += [less(found, asked) for found in _through(step, part, asked)]
    return Passage(name, step.kind, min(each.roomiest for each in ways), tuple(ways), ())


def _helped(
    passage: Passage, worked: list[tuple[Apart, tuple[Passage, ...]]], delivery: Delivery, at: int, units: Units
) -> Passage:
    """What would help at a passage that is tight or does not go."""
    if passage.margin >= TIGHT:
        return passage
    helps = []
    bare = passage.margin + delivery.hand_room
    if delivery.hand_room > 0.0 and bare >= 0.0:
        helps.append(f"no hands at its sides there, slid on blankets: {_told(bare, units)} left on each side")
    for option, passages in worked:
        there = passages[at]
        if there.margin >= max(passage.margin + 1.0, 0.0):
            helps.append(f"{option.how}: {_told(there.margin, units)} left on each side")
    tight = passage.tight
    if passage.margin < 0.0:
        part = next(
            solid
            for option, passages in worked
            for solid in option.parts
            if solid.name == tight.part and passages[at].margin == passage.margin
        )
        step, asked = delivery.steps[at], delivery.hand_room + delivery.padding
        for factor in _FACTORS:
            more = math.ceil(-2.0 * factor * passage.margin)
            if all(found.margin >= asked for found in _through(_wider(step, more), part, asked)):
                why = (
                    f" (twice the {_told(math.ceil(-passage.margin), units)} is too little: it is turned there)"
                    if factor > 1.0
                    else ""
                )
                helps.append(f"every clear size of it {_told(more, units)} more{why}")
                break
    return replace(passage, helps=tuple(helps))


def _wider(step: Step, more: float) -> Step:
    """The passage with every clear size greater."""
    sizes = {
        name: getattr(step, name) + more
        for name in _SIZES
        # A door's depth is that of its wall.
        if getattr(step, name, None) is not None and (name, step.kind) != ("depth", "door")
    }
    return step.model_copy(update=sizes)


def _told(length: float, units: Units) -> str:
    return format_length(float(round(length)), units, 0) if units == "metric" else format_length(length, units)


def _findings(found: WayIn, delivery: Delivery, units: Units) -> list[Finding]:
    told: list[Finding] = []
    if found.stops_whole and found.carried != "whole":
        where = ", ".join(found.stops_whole)
        told.append(
            Finding(
                "carry/taken-apart",
                "note",
                f"The whole piece does not go through: {where}.",
                f"Carry it with {found.carried}: then {_told(max(found.margin or 0.0, 0.0), units)} is left on each side at the"
                " tightest place."
                if (found.margin or 0.0) >= 0.0
                else "See the delivery route.",
            )
        )
    for passage in found.passages:
        tight = passage.tight
        lacking = _told(math.ceil(-passage.margin), units)
        remedy = "; or ".join(passage.helps)
        remedy = f"{remedy[:1].upper()}{remedy[1:]}." if remedy else "Measure it again before the day."
        what = f"{tight.part} at {passage.name}"
        what = f"{what[:1].upper()}{what[1:]}"
        if passage.margin + delivery.hand_room < 0.0 or (passage.margin < 0.0 and delivery.hand_room == 0.0):
            told.append(
                Finding(
                    "carry/way-blocked",
                    "stop",
                    f"{what} does not go through as it is stated: with hands and padding {lacking} is"
                    f" lacking on each side, {_WHERE[tight.tightest]}.",
                    remedy + " Or another way in.",
                )
            )
        elif passage.margin < 0.0:
            told.append(
                Finding(
                    "carry/no-hand-room",
                    "caution",
                    f"{what} goes through, but not with room for hands: {lacking} of it is lacking on each"
                    f" side, {_WHERE[tight.tightest]}.",
                    remedy,
                )
            )
        elif passage.margin < TIGHT:
            told.append(
                Finding(
                    "carry/way-tight",
                    "caution",
                    f"{what} has {_told(passage.margin, units)} left on each side beyond hands and padding,"
                    f" {_WHERE[tight.tightest]}.",
                    remedy,
                )
            )
    return told
