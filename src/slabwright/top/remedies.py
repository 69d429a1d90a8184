"""What mends a clash: each remedy is laid out and checked anew before it is told."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from slabwright.job.top_models import Bar, Channel, Edge, Feature, Insert, Key, Outlet, Placed, Pocket
from slabwright.quantities import INCH, Units, format_length
from slabwright.top import clearance_rules as rule
from slabwright.top.channel_path import corners, crossing, most_radius, without_loop
from slabwright.top.clearances import cable_bend, clearances
from slabwright.top.feature_shapes import channel_path
from slabwright.top.layout import laid_out
from slabwright.top.layout_results import Clearance
from slabwright.top.moving import Move, Trial, across_words, along_words, step_of

_LEAST_CUT = 3.0
"""A pocket, channel or key shallower than this is none [mm]. Common practice."""
_EPS = 1e-6


def fine_step(units: Units) -> float:
    """The step in which a depth is told [mm]: half a millimetre, or 1/64 in."""
    return 0.5 if units == "metric" else INCH / 64.0


def down(length: float, step: float) -> float:
    """Down to whole steps."""
    return math.floor(length / step + _EPS) * step


def up(length: float, step: float) -> float:
    """Up to whole steps."""
    return math.ceil(length / step - _EPS) * step


def remedy(trial: Trial, clash: Clearance) -> str:
    """What mends a clash, in words; where nothing that was tried does, that is told.

    Args:
        trial: the layout to try on
        clash: that does not hold
    """
    ways = {
        rule.FLOOR: _floor,
        rule.WORKED_EDGE: _worked_edge,
        rule.PLATE: _under_plate,
        rule.CABLE: _cable_size,
        rule.BEND: _bend,
    }
    if trial.tired:
        return "Mend the problems above first; what mends this one is worked out once fewer are left."
    told = ways.get(clash.rule, _place)(trial, clash)
    return told or _none(trial, clash)


def _key(clash: Clearance) -> tuple[str, str, str | None]:
    return clash.rule, clash.first, clash.second


def _movable(trial: Trial, clash: Clearance) -> Iterator[list[str]]:
    """Who may move: holes, pockets and keys first, then the pockets that they lie in, then whole channels."""
    names = [name for name in (clash.second, clash.first) if name in trial.stated]
    yield [name for name in names if isinstance(trial.stated[name], Placed)]
    hosts = [trial.layout.named(name).lies_in for name in names]
    yield [host for host in hosts if host is not None and host not in names]
    yield [name for name in names if isinstance(trial.stated[name], Channel)]


def _place(trial: Trial, clash: Clearance) -> str | None:
    """The nearest free position, and a shallower cut where that clears it too."""
    shallower = next(_shallower(trial, clash), None) if clash.second else None
    for names in _movable(trial, clash):
        moves: list[Move] = [move for move in map(trial.free_place, names) if move is not None]
        if moves:
            nearest = min(moves, key=lambda move: move.distance)
            return nearest.words + (f" Or {shallower[:1].lower()}{shallower[1:]}" if shallower else "")
    return shallower


def least_depth(feature: Feature, rules_bolt_end: float) -> float:
    """The least depth at which a feature is still of use [mm]."""
    if isinstance(feature, Insert):
        return max(feature.engagement + rules_bolt_end, feature.outer_length or 0.0)
    if isinstance(feature, Channel):
        return feature.cable_diameter or _LEAST_CUT
    if isinstance(feature, Bar):
        return feature.wall or _LEAST_CUT
    return _LEAST_CUT


def _shallower(trial: Trial, clash: Clearance) -> Iterator[str]:
    """Shallower cuts that leave enough wood between two features of opposite faces."""
    step = fine_step(trial.units)
    for name in (clash.second, clash.first):
        stated = trial.stated.get(name or "")
        if not isinstance(stated, Pocket | Insert | Channel | Key | Bar):
            continue
        least = max(least_depth(stated, trial.layout.top.clearances.bolt_end), stated.depth / 2.0)
        # The wood that is lacking is at most what the cut must be shallower by: the first whole step that holds is taken.
        for lack in (clash.least - clash.distance, _height_lack(trial, clash)):
            depth = down(stated.depth - lack, step)
            if depth < least - _EPS:
                continue
            if trial.holds({stated.name: {"depth": depth}}, _key(clash)):
                yield f"Make '{stated.name}' {format_length(depth, trial.units)} deep."
                break


def _height_lack(trial: Trial, clash: Clearance) -> float:
    """What the gap in height lacks of the whole distance, as if nothing lay apart in plan."""
    one, other = trial.layout.named(clash.first), trial.layout.named(clash.second or clash.first)
    return clash.least - max(one.upper - other.lower, other.upper - one.lower)


def _floor(trial: Trial, clash: Clearance) -> str | None:
    """A shallower cut; a shorter insert; a shallower pocket round it; else the top that it wants."""
    stated = trial.stated[clash.first]
    lack = clash.least - clash.distance
    if isinstance(stated, Insert):
        return (
            _shorter_insert(trial, clash, stated, lack) or _shallower_host(trial, clash, lack) or _thicker(trial, clash)
        )
    key = "recess_depth" if isinstance(stated, Outlet) else "depth"
    depth = down(getattr(stated, key) - lack, fine_step(trial.units))
    least = least_depth(stated, trial.layout.top.clearances.bolt_end)
    if depth >= least - _EPS and trial.holds({stated.name: {key: depth}}, _key(clash)):
        left = format_length(clash.distance + getattr(stated, key) - depth, trial.units)
        what = "its recess" if isinstance(stated, Outlet) else "it"
        bolts = [
            one.plate_thickness
            for one in trial.layout.top.features
            if isinstance(one, Insert) and one.plate == stated.name and one.plate_thickness
        ]
        proud = max(bolts, default=0.0) - depth
        after = f"; its plate then stands {format_length(proud, trial.units)} proud" if proud > _EPS else ""
        return f"Make {what} {format_length(depth, trial.units)} deep: {left} stays{after}."
    return _thicker(trial, clash)


def _shorter_insert(trial: Trial, clash: Clearance, insert: Insert, lack: float) -> str | None:
    units, bolt_end = trial.units, trial.layout.top.clearances.bolt_end
    depth = down(insert.depth - lack, fine_step(units))
    engagement = min(insert.engagement, depth - bolt_end)
    if depth <= 0.0 or engagement < insert.thread - _EPS:
        return None
    changes = {"depth": depth, "engagement": engagement}
    shorter = insert.outer_length is not None and insert.outer_length > depth + _EPS
    if shorter:
        changes["outer_length"] = depth
    if not trial.holds({insert.name: changes}, _key(clash)):
        return None
    left = format_length(clash.distance + insert.depth - depth, units)
    told = f"Drill it {format_length(depth, units)} deep: {left} stays"
    if shorter:
        told = f"Use an insert of at most {format_length(depth, units)} and drill it as deep: {left} stays"
    if engagement < insert.engagement - _EPS:
        told += f"; the bolt then holds in {format_length(engagement, units)} of thread"
    return f"{told}."


def _shallower_host(trial: Trial, clash: Clearance, lack: float) -> str | None:
    host = trial.stated.get(trial.layout.named(clash.first).lies_in or "")
    if not isinstance(host, Pocket | Bar):
        return None
    depth = down(host.depth - lack, fine_step(trial.units))
    if depth < _LEAST_CUT or not trial.holds({host.name: {"depth": depth}}, _key(clash)):
        return None
    left = format_length(clash.distance + host.depth - depth, trial.units)
    return f"Make the pocket '{host.name}' {format_length(depth, trial.units)} deep: {left} stays."


def _thicker(trial: Trial, clash: Clearance) -> str | None:
    """The thinnest top on which the floor holds, laid out anew at that thickness."""
    layout = trial.layout
    taken = layout.thickness - clash.distance
    share = layout.top.clearances.pocket_floor_share if isinstance(trial.stated[clash.first], Pocket) else 0.0
    rules = layout.top.clearances
    floor = rules.pocket_floor if share else clash.least
    thickness = up(max(taken + floor, taken / (1.0 - share)), fine_step(trial.units))
    tried = clearances(laid_out(layout.top, layout.outline, thickness, layout.openings))
    if any(_key(one) == _key(clash) and not one.holds for one in tried):
        return None
    return (
        f"As stated it wants a top of {format_length(thickness, trial.units)}: a thicker placement, or more fill; or take a "
        "smaller part."
    )


def _worked_edge(trial: Trial, clash: Clearance) -> str | None:
    """A smaller chamfer or round; else the nearest free position."""
    edge = trial.stated[clash.second or clash.first]
    assert isinstance(edge, Edge)
    first = trial.stated[clash.first]
    step = fine_step(trial.units)
    if isinstance(first, Edge) and clash.second and first.face == edge.face:
        kept: list[str] = [one for one in edge.edges if one not in first.edges]
        if kept and trial.holds({edge.name: {"edges": kept}}, _key(clash)):
            return f"Let '{edge.name}' run along {', '.join(kept)} only."
        return f"Leave out '{edge.name}': '{first.name}' already works the same edges."
    size = down(edge.size - max(step, clash.least - clash.distance), step)
    least = max(step, 0.0 if clash.least == 0.0 else edge.size / 2.0)
    while size >= least:
        if trial.holds({edge.name: {"size": size}}, _key(clash)):
            return f"Make '{edge.name}' {format_length(size, trial.units)}."
        size -= step
    return _place(trial, clash)


def _under_plate(trial: Trial, clash: Clearance) -> str | None:
    """The nearest place under the plate, as the insert is dimensioned."""
    insert, plate = trial.stated[clash.first], trial.stated[clash.second or ""]
    assert isinstance(insert, Insert) and isinstance(plate, Pocket | Bar)
    here, there = trial.layout.named(insert.name), trial.layout.named(plate.name)
    size = (plate.length, plate.width) if isinstance(plate, Pocket) else (plate.width, plate.length)
    changes: dict[str, float] = {}
    told = []
    for key, origin, extent, at, middle, words in (
        ("along", insert.along_from, size[0], here.along, there.along, along_words),
        ("across", insert.across_from, size[1], here.across, there.across, across_words),
    ):
        room = extent / 2.0 - insert.drill / 2.0
        offset = (at or 0.0) - (middle or 0.0)
        if abs(offset) <= room + _EPS:
            continue
        if room < 0.0:
            return None
        shift = math.copysign(room, offset) - offset
        sign = -1.0 if origin in ("right end", "far edge") else 1.0
        step, typed = step_of(trial.units), getattr(insert, key) + sign * shift
        typed = up(typed, step) if sign * shift > 0.0 else down(typed, step)
        changes[key] = typed
        told.append(words(origin, typed, trial.units))
    if not changes or not trial.holds({insert.name: changes}, _key(clash)):
        move = trial.free_place(plate.name)
        return None if move is None or not trial.holds(move.changes, _key(clash)) else move.words
    return f"Move '{insert.name}' under its plate: {' and '.join(told)}."


def _cable_size(trial: Trial, clash: Clearance) -> str | None:
    channel = trial.stated[clash.first]
    assert isinstance(channel, Channel) and channel.cable_diameter is not None
    step = fine_step(trial.units)
    changes = {
        "width": max(channel.width, up(channel.cable_diameter + step, step)),
        "depth": max(channel.depth, up(channel.cable_diameter, step)),
    }
    if not trial.holds({channel.name: changes}, _key(clash)):
        return f"Take a cable of at most {format_length(min(channel.width, channel.depth), trial.units)}."
    return (
        f"Make the channel {format_length(changes['width'], trial.units)} wide and "
        f"{format_length(changes['depth'], trial.units)} deep."
    )


def _bend(trial: Trial, clash: Clearance) -> str | None:
    """Rounded corners; else a wider channel; else the cable that would go."""
    channel = trial.stated[clash.first]
    assert isinstance(channel, Channel) and channel.cable_bend is not None
    units = trial.units
    step = step_of(units)
    cable = channel.cable_diameter or channel.width
    unsaid = "" if channel.cable_diameter else " State cable_diameter too: a thinner cable has more room."

    def bend(changes: dict[str, float]) -> float:
        found = cable_bend(channel.model_copy(update=changes))
        return math.inf if found is None else found[0]

    enough = up(channel.cable_bend + cable / 2.0, step)
    for radius in np.arange(up(channel.corner_radius + step, step), enough + step / 2.0, step).tolist():
        if bend({"corner_radius": radius}) >= channel.cable_bend:
            if trial.holds({channel.name: {"corner_radius": radius}}, _key(clash)):
                return f"Round the channel's corners: corner_radius = {format_length(radius, units)}.{unsaid}"
            break
    for width in np.arange(up(channel.width + step, step), 3.0 * channel.width, step).tolist():
        if bend({"width": width, "cable_diameter": cable}) >= channel.cable_bend:
            if trial.holds({channel.name: {"width": width, "cable_diameter": cable}}, _key(clash)):
                return f"Make the channel {format_length(width, units)} wide.{unsaid}"
            break
    return (
        f"Take a cable that may bend to {format_length(max(0.0, clash.distance), units)}, or lay the path with longer legs and "
        f"flatter corners.{unsaid}"
    )


def _none(trial: Trial, clash: Clearance) -> str:
    """That no remedy was found by changing one thing; what is there now is told as what could be agreed."""
    here = format_length(max(0.0, clash.distance), trial.units)
    names = [name for name in (clash.first, clash.second) if name in trial.stated]
    for name in reversed(names):
        if _holds_without(trial, name, clash):
            return f"No free place was found for one alone; without '{name}' the rest is clear: leave it out or make it smaller."
    return (
        f"No free place was found by moving one alone: move both, or agree on {here} and state it in [top.clearances]."
    )


def _holds_without(trial: Trial, name: str, clash: Clearance) -> bool:
    """Whether nothing of the clash's features is broken once one of them is left out; others may hang on it."""
    layout = trial.layout
    hangs = any(
        name in (getattr(one, "along_from", None), getattr(one, "across_from", None), getattr(one, "plate", None))
        for one in layout.top.features
    )
    if hangs:
        return False
    trial.count()
    top = layout.top.model_copy(update={"features": [one for one in layout.top.features if one.name != name]})
    tried = clearances(laid_out(top, layout.outline, layout.thickness, layout.openings))
    others = {clash.first, clash.second} - {name}
    return all(one.holds for one in tried if one.first in others or one.second in others)


def crossing_words(channel: Channel, units: Units) -> tuple[str, str] | None:
    """Where a channel crosses itself and what mends it; None where it does not.

    Args:
        channel: as stated
        units: of the words
    """
    path = channel_path(channel)
    if len(path) < 2:
        place = f"{format_length(path[0][0], units)}, {format_length(path[0][1], units)}"
        return f"The channel '{channel.name}' has one corner only, at {place}", "State where it goes: a second corner."
    legs = crossing(path)
    if legs is None:
        return None
    said = f"The channel '{channel.name}' crosses itself: leg {legs[0] + 1} meets leg {legs[1] + 1}"
    shorter = without_loop(path, legs)
    if len(shorter) >= 2 and crossing(shorter) is None and len(shorter) < len(path):
        left_out = [str(number + 1) for number in range(legs[0] + 1, legs[1] + 1)]
        many = "corners" if len(left_out) > 1 else "corner"
        return said, f"Leave out {many} {' and '.join(left_out)} of its path: it then runs clear."
    return said, "State the corners in the order in which the cutter passes them, each once."


def tight_corners(channel: Channel, units: Units) -> tuple[str, str] | None:
    """That a channel's corners cannot be rounded as stated, and to what they can; None where they can."""
    path = channel_path(channel)
    if len(path) < 3 or channel.corner_radius <= 0.0:
        return None
    tightest = min(corners(path), key=most_radius, default=None)
    if tightest is None or most_radius(tightest) >= channel.corner_radius - _EPS:
        return None
    most = down(most_radius(tightest), fine_step(units))
    return (
        f"Corner {tightest.number + 1} of the channel '{channel.name}' has legs too short to be rounded to "
        f"{format_length(channel.corner_radius, units)}; {format_length(most, units)} is the most",
        f"State corner_radius = {format_length(most, units)}, or longer legs.",
    )
