"""What locating has to say: touches that disagree, features that may not be cut yet, and the place to touch as well."""

from __future__ import annotations

from collections.abc import Iterator

from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY, Finding
from slabwright.machine.located import DatumOff, Located
from slabwright.quantities import Units, format_length


def locating_findings(located: Located, units: Units) -> tuple[Finding, ...]:
    """Problems of a located piece, the worst first.

    Args:
        located: how the piece lies
        units: of the messages
    """
    return (*_odd(located, units), *_no_go(located, units), *_raised(located), *_unchecked(located, units))


def _told(datum: DatumOff, units: Units) -> str:
    parts = [
        f"{format_length(abs(off), units)} {way}"
        for off, way in ((datum.off_along, "along the top"), (datum.off_across, "across it"))
        if off is not None
    ]
    return f"'{datum.name}' is off by {' and '.join(parts)}"


def _odd(located: Located, units: Units) -> Iterator[Finding]:
    odd = [datum for datum in located.datums if datum.odd]
    if not odd:
        return
    told = "; ".join(_told(datum, units) for datum in odd)
    if len(odd) == 1:
        message = f"A touched place does not agree with the others: {told}. Nothing is cut until it is settled."
        remedy = (
            f"Touch '{odd[0].name}' again and look for dust or a torn edge; check where the drawing has it. Without it the "
            "others agree."
            if _settles(located)
            else f"Touch '{odd[0].name}' again first, then the others."
        )
    else:
        message = (
            f"The touched places do not agree, and they are too few to tell which one is wrong: {told}. "
            "Nothing is cut until it is settled."
        )
        remedy = "Touch these again, and one more place, so that the wrong one shows."
    yield Finding("locating/odd-touch", "stop", message, remedy, f"{FROM_MEMORY}: Baarda's test of single observations")


def _settles(located: Located) -> bool:
    """Whether leaving the odd one out leaves touches that check each other and agree."""
    gone = sum(2 if datum.kind == "point" else 1 for datum in located.datums if datum.odd)
    return located.spare - gone > 0


def _no_go(located: Located, units: Units) -> Iterator[Finding]:
    if any(datum.odd for datum in located.datums):
        return  # errors raised by a slip say nothing of the features
    tight = [feature for feature in located.features if not feature.go]
    for feature in tight:
        yield Finding(
            "locating/no-go",
            "stop",
            f"'{feature.name}' may be cut up to {format_length(feature.most, units)} from its place (99 of 100 such locatings "
            f"stay within that, the machine's own error of {format_length(located.machine_error, units)} with it); it has "
            f"{format_length(feature.clearance, units)} of room.",
            _remedy(located, units),
            COMMON_PRACTICE,
        )
    if not tight and located.chance_out > 0.01:
        yield Finding(
            "locating/no-go",
            "stop",
            f"Each feature alone fits its room, but the chance that one of them misses is {100.0 * located.chance_out:.1f} in "
            "100; more than 1 is too much.",
            _remedy(located, units),
            COMMON_PRACTICE,
        )


def _remedy(located: Located, units: Units) -> str:
    add = located.add
    if add is None:
        return "Touch one more place, far from the others; touch each place more carefully and state the smaller error."
    how = {"point": "as a point", "edge along": "for its y", "edge across": "for its x"}[add.kind]
    told = (
        f"Touch the {add.name} as well ({how}, at {format_length(add.x, units)} from the left end and "
        f"{format_length(add.y, units)} from the centre line): the greatest error is then {format_length(add.most, units)}"
    )
    if add.go:
        return f"{told}, and all features may be cut."
    return f"{told}; that alone is not enough: touch more carefully too, or give the features more room."


def _raised(located: Located) -> Iterator[Finding]:
    if located.scale > 1.0 and not any(datum.odd for datum in located.datums):
        yield Finding(
            "locating/errors-raised",
            "caution",
            f"The touches disagree by more than their stated errors allow: fewer than 1 in 100 sets of sound "
            f"touches do. The errors are taken {located.scale:.1f} times as great.",
            "Touch again with care; if it stays, state a greater error for each touch.",
            f"Birge ratio (R. T. Birge, Physical Review 40, 1932), {FROM_MEMORY}",
        )


def _unchecked(located: Located, units: Units) -> Iterator[Finding]:
    if located.spare == 0:
        add = located.add
        place = f"the {add.name}" if add else "one more place"
        yield Finding(
            "locating/unchecked",
            "caution",
            "The touches are just enough to tell how the top lies: none of them checks the others, and a slip would not show.",
            f"Touch {place} as well.",
            COMMON_PRACTICE,
        )
