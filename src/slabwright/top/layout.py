"""The layout: every feature of the top at its place, its depths from the final thickness, and the wood left under it."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely import Polygon

from slabwright.findings import SlabwrightError
from slabwright.job.top_models import (
    ACROSS_FROM,
    ALONG_FROM,
    Bar,
    Channel,
    Edge,
    Insert,
    Outlet,
    Placed,
    Pocket,
    ThroughHole,
    Top,
)
from slabwright.top.feature_shapes import Edges, Opening, opening_without_movement, plan_of, solids_of
from slabwright.top.layout_results import Layout, Solid, TopFeature
from slabwright.top.slots import PocketRoom

_EPS = 1e-6


def positions(top: Top, outline: Polygon) -> dict[str, tuple[float, float]]:
    """The middle of every feature that has one: along from the left end, across from the centre line [mm].

    Args:
        top: states where they are dimensioned from
        outline: of the finished top, in the top's frame [mm]

    Raises:
        SlabwrightError: something is dimensioned from nothing that is known, or from itself in a circle.
    """
    return _Places(top, Edges(outline)).all()


class _Places:
    """Resolves what is dimensioned from what; along and across are two questions."""

    def __init__(self, top: Top, edges: Edges) -> None:
        self.edges = edges
        self.number = {feature.name: number for number, feature in enumerate(top.features)}
        self.placed = {feature.name: feature for feature in top.features if isinstance(feature, Placed)}
        self.along: dict[str, float] = {}
        self.across: dict[str, float] = {}

    def all(self) -> dict[str, tuple[float, float]]:
        return {name: (self.along_of(name, ()), self.across_of(name, ())) for name in self.placed}

    def along_of(self, name: str, asked: tuple[str, ...]) -> float:
        if name in self.along:
            return self.along[name]
        one = self.placed[name]
        edges = self.edges
        if one.along_from == "left end":
            found = edges.left + one.along
        elif one.along_from == "right end":
            found = edges.right - one.along
        elif one.along_from == "middle":
            found = (edges.left + edges.right) / 2.0 + one.along
        else:
            other = self._other(name, one.along_from, "along_from", ALONG_FROM, asked)
            found = self.along_of(other, (*asked, name)) + one.along
        self.along[name] = found
        return found

    def across_of(self, name: str, asked: tuple[str, ...]) -> float:
        if name in self.across:
            return self.across[name]
        one = self.placed[name]
        if one.across_from == "centre line":
            found = one.across
        elif one.across_from in ("near edge", "far edge"):
            near, far = self.edges.across(self.along_of(name, ()))
            found = near + one.across if one.across_from == "near edge" else far - one.across
        else:
            other = self._other(name, one.across_from, "across_from", ACROSS_FROM, asked)
            found = self.across_of(other, (*asked, name)) + one.across
        self.across[name] = found
        return found

    def _other(self, name: str, other: str, key: str, places: Sequence[str], asked: tuple[str, ...]) -> str:
        head = f"top.features[{self.number[name]}].{key}: '{name}' is dimensioned from '{other}'"
        if other == name or other in asked:
            circle = "" if other == name else " from ".join(f"'{step}'" for step in (*asked, name, other))
            why = f", which comes back to itself: {circle}" if circle else ", itself"
            raise SlabwrightError(f"{head}{why}; dimension one of them from an end or the centre line")
        if other in self.placed:
            return other
        usual = ", ".join(f"'{place}'" for place in places)
        if other in self.number:
            raise SlabwrightError(f"{head}, which has no middle; say {usual}, or a feature that has one")
        near = difflib.get_close_matches(other, [*places, *self.placed], n=1, cutoff=0.6)
        meant = f"; did you mean '{near[0]}'?" if near else f"; say {usual}, or the name of another feature"
        raise SlabwrightError(f"{head}, and there is no such place or feature{meant}")


def layout(top: Top, outline: Polygon, thickness: float, rooms: Sequence[PocketRoom] = ()) -> Layout:
    """Place every feature in the finished top.

    Args:
        top: what is stated
        outline: of the finished top in its own frame: x from the left end, y from the centre line, seen from the show face [mm]
        thickness: final [mm]
        rooms: openings of the pockets round their plates; without one a pocket gets the jig rule along, paint and placing across

    Returns:
        The layout; what breaks a rule is told by `clearances` and `layout_findings`.

    Raises:
        SlabwrightError: a feature is dimensioned from nothing that is known, or in a circle; a bolt's plate is not known; the
            top has no thickness or no outline.
    """
    return laid_out(top, outline, thickness, _openings(top, rooms))


def laid_out(top: Top, outline: Polygon, thickness: float, openings: Mapping[str, Opening]) -> Layout:
    """Place every feature, with pockets of known openings; see `layout`."""
    if not thickness > 0.0 or outline.is_empty or not outline.area > 0.0:
        raise SlabwrightError("top: features want a board: its thickness and its outline")
    at = positions(top, outline)
    hosts = _hosts(top, at, openings)
    depths = {feature.name: feature.depth for feature in top.features if isinstance(feature, Pocket | Bar)}
    placed = []
    for feature in top.features:
        host = hosts.get(feature.name)
        sunk = depths[host] if host and isinstance(feature, Insert) else 0.0
        solids = solids_of(feature, at.get(feature.name), openings.get(feature.name), thickness, sunk)
        placed.append(_placed(feature, at.get(feature.name), solids, host, sunk, top, thickness))
    x_low, y_low, x_high, y_high = outline.bounds
    return Layout(
        features=tuple(placed),
        length=x_high - x_low,
        width=y_high - y_low,
        thickness=thickness,
        outline=outline,
        top=top,
        openings=openings,
        meant=_meant(top, placed, hosts),
    )


def _openings(top: Top, rooms: Sequence[PocketRoom]) -> dict[str, Opening]:
    slack = top.paint + top.clearances.placing
    known = {room.name: (room.opening_length, room.opening_width, room.shift) for room in rooms}
    return {
        feature.name: known.get(feature.name) or opening_without_movement(feature, slack)
        for feature in top.features
        if isinstance(feature, Pocket)
    }


def _hosts(top: Top, at: Mapping[str, tuple[float, float]], openings: Mapping[str, Opening]) -> dict[str, str]:
    """The pocket or groove that each hole lies wholly in, on the hole's own face."""
    wells = [feature for feature in top.features if isinstance(feature, Pocket | Bar)]
    by_name = {well.name: well for well in wells}
    boxes = np.array(
        [plan_of(well, at[well.name], openings.get(well.name))[0][0].bounds for well in wells], dtype=np.float64
    ).reshape(-1, 4)
    shown = np.array([well.face == "show" for well in wells], dtype=bool)
    found: dict[str, str] = {}
    for number, feature in enumerate(top.features):
        if not isinstance(feature, Insert | ThroughHole):
            continue
        x, y = at[feature.name]
        radius = (feature.drill if isinstance(feature, Insert) else feature.diameter) / 2.0 - _EPS
        inside = (boxes[:, :2] <= (x - radius, y - radius)).all(axis=1)
        inside &= (boxes[:, 2:] >= (x + radius, y + radius)).all(axis=1)
        if isinstance(feature, Insert):
            inside &= shown == (feature.face == "show")
            if feature.plate is not None:
                _check_plate(top, number, feature, by_name)
        inner = [wells[index].name for index in np.flatnonzero(inside)]
        if inner:
            stated = feature.plate if isinstance(feature, Insert) else None
            found[feature.name] = stated if stated in inner else inner[0]
    return found


def _check_plate(top: Top, number: int, insert: Insert, wells: Mapping[str, Pocket | Bar]) -> None:
    head = f"top.features[{number}].plate: the bolt of '{insert.name}' goes through '{insert.plate}'"
    plate = wells.get(insert.plate or "")
    if plate is None:
        near = difflib.get_close_matches(insert.plate or "", list(wells), n=1, cutoff=0.5)
        known = any(feature.name == insert.plate for feature in top.features)
        what = "which has no plate" if known else "and there is no such feature"
        meant = f"; did you mean '{near[0]}'?" if near else "; name a pocket or let-in steel, or leave plate out"
        raise SlabwrightError(f"{head}, {what}{meant}")
    if plate.face != insert.face:
        raise SlabwrightError(f"{head}, which lies in the other face; give both the same face")


def _placed(
    feature: object,
    at: tuple[float, float] | None,
    solids: tuple[Solid, ...],
    host: str | None,
    sunk: float,
    top: Top,
    thickness: float,
) -> TopFeature:
    from slabwright.top.clearance_rules import floor_rule

    assert isinstance(feature, Placed | Channel | Edge)
    if isinstance(feature, Edge):
        upper, lower = (0.0, feature.size) if feature.face == "show" else (thickness - feature.size, thickness)
    else:
        upper, lower = min(solid.upper for solid in solids), max(solid.lower for solid in solids)
    rule = floor_rule(feature, top.clearances, thickness)
    left: float | None = None
    if rule is not None:
        deepest = solids[-1]
        shown = feature.face == "show" and not isinstance(feature, Outlet)
        left = thickness - deepest.lower if shown else deepest.upper
    box = None
    if solids:
        bounds = np.array([solid.core.bounds for solid in solids])
        grown = np.array([solid.radius for solid in solids])
        box = (bounds[:, 2:] + grown[:, None]).max(axis=0) - (bounds[:, :2] - grown[:, None]).min(axis=0)
    return TopFeature(
        name=feature.name,
        kind=feature.kind,  # type: ignore[union-attr]
        face=feature.face,
        along=at[0] if at else None,
        across=at[1] if at else None,
        length=None if box is None else float(box[0]),
        width=None if box is None else float(box[1]),
        depth=thickness - upper if feature.face == "underside" else lower,
        upper=upper,
        lower=lower,
        wood_left=left,
        wood_asked=None if rule is None else rule.least,
        lies_in=host,
        solids=solids,
    )


def _meant(top: Top, placed: Sequence[TopFeature], hosts: Mapping[str, str]) -> frozenset[tuple[str, str]]:
    """Pairs that are cut into each other on purpose.

    A hole in its pocket; a bolt's hole and its plate's pocket; a channel that ends in, or whose middle runs through, what a
    cable goes to; a channel that ends in another one.
    """
    pairs = set(hosts.items())
    pairs |= {(one.name, one.plate) for one in top.features if isinstance(one, Insert) and one.plate is not None}
    by_name = {feature.name: feature for feature in placed}
    for channel in (feature for feature in top.features if isinstance(feature, Channel)):
        line = by_name[channel.name].solids[0]
        ends = [shapely.Point(channel.path[0]), shapely.Point(channel.path[-1])]
        for other in placed:
            if other.name == channel.name or not _reach(line, other.solids):
                continue
            if other.kind in ("outlet", "through hole"):
                joins = any(solid.core.distance(line.core) < solid.radius - _EPS for solid in other.solids)
            elif other.kind in ("pocket", "bar", "channel"):
                joins = any(solid.core.distance(end) <= solid.radius + _EPS for solid in other.solids for end in ends)
            else:
                joins = False
            if joins:
                pairs.add((channel.name, other.name))
    return frozenset(pairs | {(second, first) for first, second in pairs})


def _reach(line: Solid, solids: Sequence[Solid]) -> bool:
    """Whether two features meet in depth."""
    return any(line.upper <= solid.lower + _EPS and solid.upper <= line.lower + _EPS for solid in solids)
