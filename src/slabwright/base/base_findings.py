"""Checks of the base as a structure: wobble, steel, bolts, tipping."""

from __future__ import annotations

from collections.abc import Callable

from slabwright.base.base_results import BaseStructure
from slabwright.base.loads import Loads
from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.quantities import Units, format_force, format_length, format_mass, format_stiffness, format_stress
from slabwright.reference.table_loads import table_loads

_WAYS = {"x": "lengthwise", "y": "crosswise"}
_WEAK_PART = {
    "frame": "the tubes bend",
    "plates": "the plates bend",
    "bolts": "the wood round the bolts gives",
    "slab": "the top bends",
    "feet": "the levellers bend",
}
_REMEDY = {
    "frame": "Take a larger tube or a stretcher.",
    "plates": "Take thicker plates.",
    "bolts": "Set the bolts farther apart, or take more of them.",
    "slab": "Let the plates hold the top over more of its length, or join the legs with a stretcher.",
    "feet": "Take levellers with a thicker thread, or screw them in.",
}


def _sentence(words: str) -> str:
    """The words as the beginning of a sentence."""
    return f"{words[:1].upper()}{words[1:]}"


def _for(mass: float, units: Units) -> str:
    """What a change costs in steel."""
    if abs(mass) < 0.05:
        return "with no more steel"
    return f"for {format_mass(abs(mass), units)} {'more' if mass > 0.0 else 'less'} steel"


def _tried(result: BaseStructure, axis: str, weak: str, units: Units) -> str:
    """The change that buys most stiffness that way for its steel, as it came out in the model."""
    now = getattr(result.sway_stiffness, axis)
    helping = [mend for mend in result.mends if getattr(mend, f"sway_{axis}") >= 1.05 * now]
    if not helping:
        return _REMEDY[weak]
    mend = min(helping, key=lambda mend: max(mend.mass, 0.1) / (getattr(mend, f"sway_{axis}") - now))
    return (
        f"{_sentence(mend.change)}: {format_stiffness(now, units)} becomes"
        f" {format_stiffness(getattr(mend, f'sway_{axis}'), units)}, {_for(mend.mass, units)}."
    )


def structure_findings(
    result: BaseStructure, loads: Loads, units: Units, bolts_hold: Callable[[], str | None]
) -> list[Finding]:
    """What breaks a rule.

    Args:
        result: the base as worked out
        loads: that it was loaded with
        units: of the job
        bolts_hold: tells a change after which the bolts hold, or nothing; asked only where they do not
    """
    table = table_loads()
    found = []
    for axis, way in _WAYS.items():
        stiffness = getattr(result.sway_stiffness, axis)
        push = loads.push_along if axis == "x" else loads.push_across
        if stiffness < table.sway.value:
            shares = getattr(result.sway_shares, axis)
            weak = max(_WEAK_PART, key=lambda part: getattr(shares, part))
            found.append(
                Finding(
                    f"base/wobbles-{way}",
                    "caution",
                    f"A push of {format_force(push.value, units)} at the top moves it"
                    f" {format_length(push.value / stiffness, units)} {way};"
                    f" most of it comes from where {_WEAK_PART[weak]} ({getattr(shares, weak):.0%}).",
                    _tried(result, axis, weak, units),
                    table.sway.source,
                )
            )
    if result.sway_frequency < table.sway_frequency.value:
        found.append(
            Finding(
                "base/sways-slowly",
                "caution",
                f"The table sways {result.sway_frequency:.1f} times a second; under {table.sway_frequency.value:.0f} it is"
                " felt to wobble.",
                _tried(result, "x" if result.sway_stiffness.x < result.sway_stiffness.y else "y", "frame", units),
                table.sway_frequency.source,
            )
        )
    if result.stress.margin < table.margin.value:
        yields = result.stress.margin < 1.0
        found.append(
            Finding(
                "base/steel-yields" if yields else "base/steel-margin",
                "stop" if yields else "caution",
                f"{_sentence(result.stress.member)}, {result.stress.case}: {format_stress(result.stress.stress, units)} in the"
                f" steel, which yields at {format_stress(result.stress.yields, units)}; a margin of {table.margin.value:g} is"
                " asked for.",
                "Take thicker plates." if "plate" in result.stress.member else "Take a thicker wall or a larger tube.",
                table.margin.source,
            )
        )
    pull = result.bolt_pull
    if pull is not None and pull.margin < 1.0:
        found.append(
            Finding(
                "base/bolt-pull",
                "caution",
                f"{_sentence(pull.bolt)}, {pull.case}: it is pulled with {format_force(pull.pull, units)}; its insert may bear"
                f" {format_force(pull.allowed, units)}.",
                bolts_hold() or "Take more bolts, or longer inserts.",
                COMMON_PRACTICE,
            )
        )
    if result.tip_load is not None and result.tip_load < loads.edge.value:
        weakest = min(
            (tip for tip in result.tips if tip.load is not None), key=lambda tip: tip.load or 0.0, default=None
        )
        where = f" at the {weakest.place}" if weakest is not None and weakest.load is not None else ""
        found.append(
            Finding(
                "base/tips",
                "caution",
                f"{format_force(result.tip_load, units)}{where} tips the empty table; {format_force(loads.edge.value, units)} is"
                " asked for.",
                "Set the feet farther out, or warn that nobody sits there.",
                loads.edge.source,
            )
        )
    if result.rocks:
        adjusts = result.stack is not None and result.stack.travel_up >= loads.dropped.value
        found.append(
            Finding(
                "base/rocks",
                "note" if adjusts else "caution",
                f"Where the floor is {format_length(loads.dropped.value, units)} low under one foot the table rocks: it is too"
                " stiff in a twist to come down on it.",
                "Screw out the leveller there." if adjusts else "Take levellers, or shim the foot in its place.",
                loads.dropped.source,
            )
        )
    for axis, way in _WAYS.items():
        tips = getattr(result.tip_push, axis)
        push = loads.push_along if axis == "x" else loads.push_across
        if tips is not None and tips < push.value:
            found.append(
                Finding(
                    f"base/tips-pushed-{way}",
                    "caution",
                    f"A level push of {format_force(tips, units)} at the top, {way}, tips the empty table where its feet do not"
                    f" slide; {format_force(push.value, units)} is asked for.",
                    "Set the feet farther apart that way, or fix it to the wall.",
                    push.source,
                )
            )
    return found
