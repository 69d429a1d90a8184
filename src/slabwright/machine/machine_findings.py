"""What stands in the way of cutting on the machine: travel, clamps, feeds, power and depths, each with what would mend it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY, Finding
from slabwright.job.models import Bed, Machine
from slabwright.machine.error_costs import ErrorCost
from slabwright.machine.feeds import POWER_SHARE, Feeds, chip_load, feeds
from slabwright.machine.setting import Clamping, no_setting
from slabwright.quantities import Units, format_area, format_length
from slabwright.slab.results import SlabPlan

_DATA_SHEET = "the cutter's data sheet"
_FAR = 1e7
_WORTH_A_WORD = 0.05
"""Thickness lost to an error that is worth a word [mm]: common practice."""


def travel_findings(slab: SlabPlan, machine: Machine, bed: Bed, units: Units) -> tuple[Finding, ...]:
    """Whether the slab can be set up at all; a `stop` here means that `settings` raises."""
    trouble = no_setting(slab, machine, bed, units)
    if trouble is None:
        return ()
    what, remedy, rule = trouble
    return (Finding(f"machine/{rule}", "stop", what, remedy, COMMON_PRACTICE),)


def setting_findings(clampings: Sequence[Clamping], machine: Machine, bed: Bed, units: Units) -> tuple[Finding, ...]:
    """What is to be said of the clampings: clamps in the way, height of travel, what hangs over the bed.

    Args:
        clampings: from `settings`
        machine: travel and cutter
        bed: its length and width
        units: for messages
    """
    found: list[Finding] = []
    for clamping in clampings:
        found += _clamps(clamping, machine, units)
        if machine.kind == "gantry":
            found += _height(clamping, machine, units)
    for clamping in clampings[:1]:
        found += _on_bed(clamping, machine, bed, units)
    if any(clamping.overlap for clamping in clampings):
        first = next(clamping for clamping in clampings if clamping.overlap)
        start, end = first.overlap or (0.0, 0.0)
        found.append(
            Finding(
                "machine/two-clampings",
                "note",
                f"The slab is longer than the travel: each face is cut in two clampings that overlap by "
                f"{format_length(end - start, units)}.",
                f"Slide it by {format_length(abs(_moved(clampings)), units)} between them, stacks and all; zero on the same "
                "block, and feel for a step in the overlap.",
                COMMON_PRACTICE,
            )
        )
    return tuple(dict.fromkeys(found))


def _moved(clampings: Sequence[Clamping]) -> float:
    return min((clamping.moved for clamping in clampings), default=0.0)


def _clamps(clamping: Clamping, machine: Machine, units: Units) -> list[Finding]:
    """Clamps that keep the cutter from wood that has to come off."""
    found = []
    low = clamping.plane + (clamping.levels[-1] if clamping.levels else 0.0)
    radius = machine.cutter_diameter / 2.0
    cut = clamping.region.intersection(shapely.box(clamping.window[0], -_FAR, clamping.window[1], _FAR))
    for thing in clamping.keep_out:
        if thing.top <= low:
            continue
        place = shapely.box(thing.x_from, thing.y_from, thing.x_to, thing.y_to)
        held = place.buffer(radius).intersection(cut)
        if held.area > 1.0:
            found.append(
                Finding(
                    "machine/clamp-in-the-way",
                    "stop",
                    f"{thing.name} stands where face {clamping.face} has to be cut: {format_area(held.area, units)} of the flat "
                    "cannot be reached.",
                    _clear(clamping, place, radius, low, thing.top, units),
                    COMMON_PRACTICE,
                )
            )
    return found


def _clear(clamping: Clamping, place: shapely.Polygon, radius: float, low: float, top: float, units: Units) -> str:
    """The shortest shift along or across that takes a clamp out of the way, tried; or a lower clamp."""
    x_from, y_from, x_to, y_to = clamping.region.bounds
    shifts = [
        (x_from - radius - place.bounds[2], 0.0, "towards the near end of the bed (smaller x)"),
        (x_to + radius - place.bounds[0], 0.0, "towards the far end of the bed (greater x)"),
        (0.0, y_from - radius - place.bounds[3], "towards the near side of the bed (smaller y)"),
        (0.0, y_to + radius - place.bounds[1], "towards the far side of the bed (greater y)"),
    ]
    shift_x, shift_y, way = min(shifts, key=lambda shift: abs(shift[0]) + abs(shift[1]))
    by = math.ceil(abs(shift_x) + abs(shift_y))
    lower = (
        f", or use one that stays below {format_length(low, units)} above the bed" if low > 1.0 and top > low else ""
    )
    return f"Move it {format_length(by, units)} {way}{lower}."


def _height(clamping: Clamping, machine: Machine, units: Units) -> list[Finding]:
    highest = max([float(np.nanmax(clamping.stock.top)), *(thing.top for thing in clamping.keep_out)])
    needed = highest + machine.safe_height
    if needed <= machine.travel_z:
        return []
    return [
        Finding(
            "machine/travel-up",
            "stop",
            f"With face {clamping.face} up the cutter has to clear {format_length(needed, units)} above the bed; the machine "
            f"lifts it to {format_length(machine.travel_z, units)}.",
            _lower(highest, machine, units),
            COMMON_PRACTICE,
        )
    ]


def _lower(highest: float, machine: Machine, units: Units) -> str:
    room = machine.travel_z - highest
    if room >= 5.0:
        return f"Set safe_height to {format_length(math.floor(room), units)}, or take the slab off its blocks."
    return "Take the slab off its blocks, lower the bed, or raise the gantry."


def _on_bed(clamping: Clamping, machine: Machine, bed: Bed, units: Units) -> list[Finding]:
    x_from, y_from, x_to, y_to = clamping.stock.outline.bounds
    over = max(-x_from, x_to - bed.length, -y_from, y_to - bed.width)
    found = []
    if bed.origin is not None and (abs(x_from - bed.origin[0]) > 0.5 or abs(y_from - bed.origin[1]) > 0.5):
        found.append(
            Finding(
                "machine/origin-moved",
                "caution",
                f"At the stated origin part of the slab is out of the cutter's reach; it is planned at x "
                f"{format_length(x_from, units)}, y {format_length(y_from, units)}.",
                f'Lay it there, and state [bed] origin = ["{x_from:.0f} mm", "{y_from:.0f} mm"].',
                COMMON_PRACTICE,
            )
        )
    if over > 1.0:
        found.append(
            Finding(
                "machine/over-the-bed",
                "caution",
                f"The slab hangs over the bed by {format_length(over, units)}.",
                "Prop what hangs over at the height of the bed; keep every stack on the bed.",
                COMMON_PRACTICE,
            )
        )
    return found


def feed_findings(machine: Machine, units: Units, *, figured: bool = False) -> tuple[Finding, ...]:
    """Feeds, power and depths against what cutter and spindle may do.

    Args:
        machine: as stated
        units: for messages
        figured: figured wood
    """
    got = feeds(machine, figured=figured)
    return (
        *_limits(machine, units),
        *_chips(machine, got, units),
        *_power(machine, got, units),
        *_surface(machine, got, units),
        *_holder(machine, units),
    )


def _stop(rule: str, what: str, remedy: str, source: str = _DATA_SHEET) -> Finding:
    return Finding(f"machine/{rule}", "stop", what, remedy, source)


def _limits(machine: Machine, units: Units) -> list[Finding]:
    found = []
    deepest = machine.depth_most
    if deepest is not None and machine.greatest_depth > deepest:
        allowed, stated = format_length(deepest, units), format_length(machine.greatest_depth, units)
        found.append(
            _stop(
                "too-deep",
                f"A pass may take {stated}; the cutter is made for {allowed}.",
                f"Set [machine] greatest_depth to {allowed}.",
            )
        )
    fastest = machine.feed_most
    for name, feed in (("feed", machine.feed), ("plunge_feed", machine.plunge_feed), ("rapid", machine.rapid)):
        if fastest is not None and feed > fastest:
            allowed, stated = format_length(fastest, units), format_length(feed, units)
            found.append(
                _stop(
                    "too-fast",
                    f"{name} is {stated} a minute; the machine makes {allowed} at the most.",
                    f"Set [machine] {name} to {allowed} a minute or less.",
                    "the machine's data sheet",
                )
            )
    for most, whose, source in (
        (machine.cutter_speed_most, "cutter", _DATA_SHEET),
        (machine.spindle_speed_most, "spindle", "the spindle's data sheet"),
    ):
        if most is not None and machine.spindle_speed > most:
            found.append(
                _stop(
                    f"{whose}-speed",
                    f"The spindle is to turn at {machine.spindle_speed:.0f} rpm; the {whose} may turn at {most:.0f} at the most.",
                    f"Set [machine] spindle_speed to {most:.0f} or less.",
                    source,
                )
            )
    return found


def _speed_limit(machine: Machine) -> float:
    return min(machine.cutter_speed_most or math.inf, machine.spindle_speed_most or math.inf)


def _chips(machine: Machine, got: Feeds, units: Units) -> list[Finding]:
    low, high = got.chip_load_low, got.chip_load_high
    if low is None or high is None:
        return [
            Finding(
                "machine/chip-load-unknown",
                "note",
                f"The feed comes to {format_length(got.chip_load, units)} a tooth; what the cutter's maker asks for is not "
                "stated.",
                "State [machine] chip_load_low and chip_load_high from its data sheet.",
                COMMON_PRACTICE,
            )
        ]
    if low <= got.chip_load <= high:
        return []
    asked = f"{format_length(low, units)} to {format_length(high, units)}"
    if got.chip_load > high:
        return [
            _stop(
                "chip-load-high",
                f"The feed comes to {format_length(got.chip_load, units)} a tooth; the cutter's maker allows {asked}.",
                f"{_slower(machine, high, units)}.",
            )
        ]
    return [
        Finding(
            "machine/chip-load-low",
            "caution",
            f"The feed comes to {format_length(got.chip_load, units)} a tooth; the cutter's maker asks for {asked}. Edges "
            "that rub burn the wood and wear out.",
            f"{_heavier(machine, low, units)}.",
            _DATA_SHEET,
        )
    ]


def _slower(machine: Machine, high: float, units: Units) -> str:
    """Feed, or speed where the limits leave room, that brings the feed a tooth down to what is allowed."""
    feed = _rounded_down(high * machine.spindle_speed * machine.flutes)
    remedy = f"Set [machine] feed to {format_length(feed, units)} a minute or less"
    speed = math.ceil(machine.feed / (high * machine.flutes) / 100.0 - 1e-9) * 100.0
    if speed <= _speed_limit(machine) and _speed_limit(machine) < math.inf:
        remedy += f", or spindle_speed to {speed:.0f} rpm"
    assert chip_load(feed, machine.spindle_speed, machine.flutes) <= high + 1e-9
    return remedy


def _heavier(machine: Machine, low: float, units: Units) -> str:
    """Feed, where machine and spindle carry it, else speed that brings the feed a tooth up to what is asked for."""
    feed = math.ceil(low * machine.spindle_speed * machine.flutes / 10.0 - 1e-9) * 10.0
    speed = math.floor(machine.feed / (low * machine.flutes) / 100.0 + 1e-9) * 100.0
    slower = f"set spindle_speed to {speed:.0f} rpm, if the spindle has its power there"
    tried = feeds(machine.model_copy(update={"feed": feed}))
    too_weak = tried.power is not None and tried.power_planned is not None and tried.power > tried.power_planned
    if feed > (machine.feed_most or math.inf) or too_weak:
        return slower[:1].upper() + slower[1:]
    return f"Set [machine] feed to {format_length(feed, units)} a minute, or {slower}"


def _rounded_down(feed: float) -> float:
    return math.floor(feed / 10.0 + 1e-9) * 10.0 if feed >= 10.0 else feed


def _power(machine: Machine, got: Feeds, units: Units) -> list[Finding]:
    if got.power is None or got.power_planned is None:
        missing = [
            name
            for name, value in (("cutting_energy", got.power), ("spindle_power", got.power_planned))
            if value is None
        ]
        return [
            Finding(
                "machine/power-unknown",
                "note",
                f"Power is not checked: {' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} not stated.",
                f"State [machine] {' and '.join(missing)}; the energy comes from a cut in your wood with a power meter.",
                FROM_MEMORY,
            )
        ]
    if got.power <= got.power_planned:
        return []
    share = got.power_planned / got.power
    depth = math.floor(machine.greatest_depth * share * 10.0) / 10.0
    feed = _rounded_down(machine.feed * share)
    choices = []
    if depth >= machine.last_depth:
        choices.append(f"greatest_depth to {format_length(depth, units)}")
    if machine.chip_load_low is None or chip_load(feed, machine.spindle_speed, machine.flutes) >= machine.chip_load_low:
        choices.append(f"feed to {format_length(feed, units)} a minute")
    remedy = (
        f"Set [machine] {', or '.join(choices)}"
        if choices
        else "Take a smaller cutter and stepover, or a stronger spindle"
    )
    return [
        _stop(
            "spindle-weak",
            f"The deepest pass takes {got.power:.0f} W; of the spindle's {machine.spindle_power:.0f} W, "
            f"{got.power_planned:.0f} W are planned with ({POWER_SHARE:.0%}).",
            f"{remedy}.",
            COMMON_PRACTICE,
        )
    ]


def _surface(machine: Machine, got: Feeds, units: Units) -> list[Finding]:
    if got.scallop <= 0.0:
        return []
    flat = math.floor(got.flat * 10.0) / 10.0
    return [
        Finding(
            "machine/ridges",
            "caution",
            f"The stepover of {format_length(machine.stepover, units)} is more than the cutter's flat of "
            f"{format_length(got.flat, units)}: ridges of {format_length(got.scallop, units)} stay between the strips.",
            f"Set [machine] stepover to {format_length(flat, units)} or less, or take inserts with a smaller corner radius.",
            COMMON_PRACTICE,
        )
    ]


def _holder(machine: Machine, units: Units) -> list[Finding]:
    if machine.holder_diameter is None or machine.holder_diameter <= machine.cutter_diameter:
        return []
    if machine.stick_out is None:
        return [
            Finding(
                "machine/stick-out-unknown",
                "caution",
                "The holder is wider than the cutter, and how far the cutter sticks out of it is not stated.",
                "Measure from the cutter's end up to the holder and state [machine] stick_out.",
                COMMON_PRACTICE,
            )
        ]
    if machine.stick_out > machine.greatest_depth:
        return []
    return [
        _stop(
            "holder-in-wood",
            f"The holder stands {format_length(machine.stick_out, units)} above the cutter's end and would rub on the wood "
            f"beside a pass of {format_length(machine.greatest_depth, units)}.",
            f"Set the cutter to stick out more than {format_length(machine.greatest_depth, units)}, or take less a pass.",
            COMMON_PRACTICE,
        )
    ]


def cost_findings(costs: Sequence[ErrorCost], units: Units) -> tuple[Finding, ...]:
    """Errors that would cost the promised thickness something worth a word."""
    return tuple(
        Finding(
            "machine/error-costs",
            "note",
            f"{cost.what.capitalize()}, {cost.way}, {format_length(cost.size, units)}: face {cost.face} gets skips of "
            f"{format_area(cost.skip_area, units)}; cutting them out costs {format_length(cost.loss, units)} of thickness.",
            f"{cost.change[:1].upper()}{cost.change[1:]}.",
            COMMON_PRACTICE,
        )
        for cost in costs
        if cost.loss > _WORTH_A_WORD and cost.skip_area > 0.0
    )
