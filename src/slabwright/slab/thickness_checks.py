"""What the maker should know about the thickness: none at all, less than wanted, or more to be had by reading more."""

from __future__ import annotations

from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.geometry.planes import PlanePair
from slabwright.quantities import Units, format_least, format_length
from slabwright.slab.hidden import Hidden
from slabwright.slab.promise import Between, Promise, read_next
from slabwright.slab.results import SlabPlan

_WIDE_LOSS = 1.5
"""Loss between the readings that is worth reading more [mm]: common practice."""
_WORTH_A_READING = 0.05
_WORTH_A_WAY = 0.1


def no_board(overlap: float, units: Units) -> Finding:
    """That no flat board lies between these readings.

    Args:
        overlap: by which face B reaches above face A at the best lie [mm]
        units: that lengths are shown in
    """
    return Finding(
        "slab/no-blank",
        "stop",
        f"No flat board lies in these readings: at the best lie face B still reaches {format_length(overlap, units)} "
        "above a low spot of face A.",
        "Check the readings for a slip of sign or face; use less of the slab ([slab] cut_from, cut_to), or another slab.",
        COMMON_PRACTICE,
    )


def faces_apart() -> Finding:
    """That the faces do not lie above one another, however the slab is turned."""
    return Finding(
        "slab/no-blank",
        "stop",
        "No flat board lies in these readings: face A does not lie above face B, however the slab is tilted.",
        "Look for a slip of face, sign or place in the readings, and read both faces at places all over the slab.",
        COMMON_PRACTICE,
    )


def thickness_findings(result: SlabPlan, wanted: float | str, units: Units) -> tuple[Finding, ...]:
    """That the thickness asked for cannot be had, or is not sure; with the ways that were worked out and give it."""
    seat = result.seat
    found = []
    if seat.thickness_low_filled <= 0.0:
        found.append(
            Finding(
                "slab/nothing-sure",
                "stop",
                f"The readings hold {format_length(seat.thickness, units)}, but nothing of it is sure.",
                "Look for a slip in the readings; read more places, or use less of the slab ([slab] cut_from, cut_to).",
                COMMON_PRACTICE,
            )
        )
        return tuple(found)
    if isinstance(wanted, str) or wanted <= seat.thickness_low_filled + 1e-6:
        return tuple(found)
    low = format_least(seat.thickness_low_filled, units)
    ways = [way for way in result.ways if way.fits]
    # Of the ways that are enough, the cheapest, then the one that shows least; of those that are not, the thickest.
    best = (
        min(ways, key=lambda way: (way.money or 0.0, way.area, way.days, -way.thickness_low))
        if ways
        else max(result.ways, key=lambda way: way.thickness_low)
    )
    least = format_least(best.thickness_low, units)
    if ways:
        remedy = f"Worked out and enough: {best.kind}, {least} sure. {best.note}"
    elif best.gain > _WORTH_A_WAY:
        remedy = (
            f"The most of all ways is {best.kind}: {least} sure. {best.note} Agree on that, or choose another slab."
        )
    else:
        remedy = f"Agree on {low}, or choose another slab."
    hidden = next(term.loss for term in seat.terms if term.name == "between readings")
    if wanted <= seat.thickness_low_filled + hidden:
        told = format_length(hidden, units)
        remedy = f"Reading more places may yet make it sure, for {told} hides between the readings. {remedy}"
    asked = format_length(wanted, units)
    if wanted > seat.thickness_even_filled:
        found.append(
            Finding(
                "slab/too-thin",
                "stop",
                f"{asked} is asked for; the slab is sure to give only {low}.",
                remedy,
                COMMON_PRACTICE,
            )
        )
    else:
        found.append(
            Finding(
                "slab/not-sure",
                "caution",
                f"{asked} is asked for and likely, but only {low} is sure 19 times in 20; the cuts are planned for that.",
                remedy,
                COMMON_PRACTICE,
            )
        )
    return tuple(found)


def reading_findings(
    hidden: Hidden, planes: PlanePair, between: Between, promised: Promise, units: Units
) -> tuple[Finding, ...]:
    """Where to read next, where what lies between the readings takes much of the promise."""
    loss = next(term.loss for term in promised.terms if term.name == "between readings")
    if loss <= _WIDE_LOSS:
        return ()
    places = [place for place in read_next(hidden, planes, between) if place.narrows > _WORTH_A_READING]
    told = "; ".join(
        f"face {place.face} at x = {format_length(place.x, units, 0)}, y = {format_length(place.y, units, 0)}"
        for place in places
    )
    return (
        Finding(
            "slab/read-more",
            "caution",
            f"What lies between the readings takes {format_length(loss, units)} of what can be promised.",
            f"Read next, these first: {told}." if told else "Read at half the distance between stations.",
            COMMON_PRACTICE,
        ),
    )
