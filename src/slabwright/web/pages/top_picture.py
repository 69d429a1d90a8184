"""The plan of one face of the top as pages show it: to scale, in the page's colours, its features to be picked by hand or key."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from slabwright.job.top_models import Channel, Placed
from slabwright.sheets.context import Context
from slabwright.sheets.machine_drawings import spread
from slabwright.sheets.top_drawing import Dimension, FaceDrawing, Seen, face_drawing
from slabwright.sheets.top_words import FACE_WORDS, Side, mark, size_of, tape
from slabwright.sheets.words import Words
from slabwright.top import clearance_rules as rule
from slabwright.top.clearances import kept_shape
from slabwright.top.feature_shapes import Edges
from slabwright.top.layout_results import Clearance
from slabwright.top.results import TopPlan

_WIDE, _NARROW = 1130.0, 345.0
"""Width that the drawing has on a laptop or a tablet, and on a phone [px]."""
_TEXT = 14.5
"""Height of its letters [px]."""
_LETTER = 0.52


@dataclass(frozen=True)
class _Paper:
    """Where the top lies on the drawing, in its own millimetres; y runs down the page."""

    letter: float
    way: float
    bounds: tuple[float, float, float, float]

    def place(self, x: float, y: float) -> tuple[float, float]:
        return x, -self.way * y


def plan_picture(
    context: Context, top: TopPlan, side: Side, chosen: str, narrow: bool, clashes: Sequence[Clearance]
) -> str:
    """One face with its features, running dimensions, the chosen feature's own dimensions, and what is too near to what.

    Args:
        context: of the plan with this top and the job that states it
        top: laid out
        side: which face is up
        chosen: name of a feature, or nothing
        narrow: whether it is shown on a phone
        clashes: clearances that do not hold
    """
    face = face_drawing(context, top, side)
    if narrow:
        face = _only(face, chosen)
    x0, y0, x1, y1 = (float(value) for value in top.outline.bounds)
    width = _NARROW if narrow else _WIDE
    margin = 7.5 * _TEXT
    letter = _TEXT * (x1 - x0) / (width - margin)
    paper = _Paper(letter, -1.0 if face.turned else 1.0, (x0, y0, x1, y1))
    words = context.words
    parts = [f'<path class="wood" d="{_data(paper, top.outline)}"/>']
    parts += _worked(paper, face, top, chosen)
    parts += _kept(paper, context, side)
    middle = paper.place(0.0, 0.0)[1]
    parts.append(f'<path class="centre" d="M{x0 - letter:.1f} {middle:.1f}H{x1 + letter:.1f}"/>')
    upper, lower = ("near edge", "far edge") if face.turned else ("far edge", "near edge")
    high, low = (y1, y0) if not face.turned else (-y0, -y1)
    parts.append(_text(paper, (x0 + x1) / 2, -high - 0.5 * letter, upper, "soft", "middle"))
    parts.append(_text(paper, x1, -low + 1.1 * letter, lower, "soft", "end"))
    parts.append(_text(paper, x0, -high - 0.5 * letter, "left end", "soft"))
    parts.append(_text(paper, x1, -high - 0.5 * letter, "right end", "soft", "end"))
    below, foot = _along(paper, face, words, -low)
    parts += [*below, *_across(paper, face, words)]
    parts.append(_features(paper, face, words, chosen, narrow))
    picked = next((one for one in top.features if one.name == chosen), None)
    asked = next((one for one in top.layout.top.features if one.name == chosen), None)
    shown = any(seen.feature.name == chosen for seen in face.features)
    if shown and picked and isinstance(asked, Placed) and picked.along is not None and picked.across is not None:
        parts += _own_dimensions(paper, top, asked, (picked.along, picked.across), context)
    parts += [_clash(paper, top, clash, words) for clash in clashes]
    left = x0 - 6.0 * letter
    box = (left, -high - 2.2 * letter, x1 + 2.2 * letter - left, foot + high + 2.2 * letter)
    said = f"Top, {FACE_WORDS[side]} up, {tape(x1 - x0, words)} long, {tape(y1 - y0, words)} wide at its widest"
    return (
        f'<svg class="plan" viewBox="{" ".join(f"{value:.1f}" for value in box)}" role="group" aria-label={quoteattr(said)} '
        f'data-side="{side}" font-size="{letter:.1f}" stroke-width="{letter / 10:.2f}">{"".join(parts)}</svg>'
    )


def _only(face: FaceDrawing, chosen: str) -> FaceDrawing:
    """The same drawing with the chosen feature's dimensions alone: a phone has no room for all."""
    places = [place for seen in face.features if seen.feature.name == chosen for place in places_of(seen)]
    own_x, own_y = ({round(place[axis], 1) for place in places} for axis in (0, 1))
    return dataclasses.replace(
        face,
        along=tuple(one for one in face.along if round(one.value, 1) in own_x),
        across=tuple(one for one in face.across if round(one.value, 1) in own_y),
    )


def places_of(seen: Seen) -> list[tuple[float, float]]:
    """Places of a feature that are dimensioned."""
    if isinstance(seen.asked, Channel):
        return [(float(x), float(y)) for x, y in seen.asked.path]
    if seen.feature.kind in ("pocket", "bar") or seen.feature.along is None or seen.feature.across is None:
        x0, y0, x1, y1 = seen.bounds
        return [(x0, y0), (x1, y1)]
    return [(seen.feature.along, seen.feature.across)]


def _data(paper: _Paper, shape: BaseGeometry) -> str:
    rings = []
    for part in getattr(shape, "geoms", [shape]):
        if isinstance(part, Polygon):
            for ring in (part.exterior, *part.interiors):
                places = (paper.place(x, y) for x, y, *_ in ring.coords)
                rings.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in places) + "Z")
    return "".join(rings)


def _text(
    paper: _Paper, x: float, y: float, said: str, kind: str = "", anchor: str = "start", on_end: bool = False
) -> str:
    turn = f' transform="rotate(-90 {x:.1f} {y:.1f})"' if on_end else ""
    named = f' class="{kind}"' if kind else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{named}{turn}>{escape(said)}</text>'


def _worked(paper: _Paper, face: FaceDrawing, top: TopPlan, chosen: str) -> list[str]:
    """Edges of this face that are chamfered or rounded, as a second line."""
    lines = Edges(top.outline).lines()
    parts = []
    for edge in face.edges:
        for name in edge.edges:
            runs = [part.coords for part in getattr(lines[name], "geoms", [lines[name]])]
            data = "".join(
                "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in (paper.place(x, y) for x, y, *_ in run)) for run in runs
            )
            parts.append(f'<path class="worked{" chosen" if edge.name == chosen else ""}" d="{data}"/>')
    return parts


def _kept(paper: _Paper, context: Context, side: Side) -> list[str]:
    """Places that are kept clear on the underside; from the show face they are seen as through glass."""
    stated = context.plan.job.stated.top
    parts = []
    for place in stated.keep_clear if stated else ():
        shape = kept_shape(place.outline)
        x, y = paper.place(shape.bounds[0], shape.bounds[3] if paper.way > 0 else shape.bounds[1])
        parts.append(f'<path class="kept{" beneath" if side == "show" else ""}" d="{_data(paper, shape)}"/>')
        parts.append(_text(paper, x + 0.3 * paper.letter, y + 1.1 * paper.letter, f"{place.name}: kept clear", "soft"))
    return parts


def _features(paper: _Paper, face: FaceDrawing, words: Words, chosen: str, narrow: bool) -> str:
    """The features as a list that is walked by arrow keys."""
    parts = []
    # Great ones first, so that what lies in them can be picked too.
    for seen in sorted(face.features, key=lambda one: -shapely.union_all(list(one.shapes)).area):
        name = seen.feature.name
        at = ""
        if seen.feature.along is not None and seen.feature.across is not None:
            at = f", {tape(seen.feature.along, words)} from the left end, {tape(seen.feature.across, words)} across"
        said = f"{seen.number} {name}, {seen.feature.kind} {size_of(seen.feature, seen.asked, words)}{at}"
        kind = f"seen {'own' if seen.own else 'through'}{' chosen' if name == chosen else ''}"
        shape = shapely.union_all(list(seen.shapes))
        x, y = _tag_place(paper, seen)
        px, py = paper.place(*_middle(seen))
        tagged = name == chosen or shape.area > (1.5 * paper.letter) ** 2 or not narrow
        tag = _text(paper, x, y, str(seen.number), "", "middle") if tagged else ""
        parts.append(
            f'<g class="{kind}" role="option" id="seen-{seen.number}" aria-selected="{"true" if name == chosen else "false"}" '
            f'aria-label={quoteattr(said)} data-pick={quoteattr(name)} data-number="{seen.number - 1}" data-x="{px:.1f}" '
            f'data-y="{py:.1f}"><path d="{_data(paper, shape)}"/>{tag}</g>'
        )
    active = next((f' aria-activedescendant="seen-{s.number}"' for s in face.features if s.feature.name == chosen), "")
    if not parts:
        return ""
    return f'<g role="listbox" tabindex="0" aria-label="Features on this face: arrow keys walk"{active}>{"".join(parts)}</g>'


def _middle(seen: Seen) -> tuple[float, float]:
    if isinstance(seen.asked, Channel):
        line = shapely.LineString(seen.asked.path)
        point = line.interpolate(0.5, normalized=True)
        return float(point.x), float(point.y)
    return float(seen.feature.along or 0.0), float(seen.feature.across or 0.0)


def _tag_place(paper: _Paper, seen: Seen) -> tuple[float, float]:
    """The number stands beside a small feature, and in the corner of a large one."""
    x0, y0, x1, y1 = seen.bounds
    if isinstance(seen.asked, Channel):
        x, y = paper.place(*_middle(seen))
        return x, y - 0.9 * paper.letter
    small = x1 - x0 < 2.0 * paper.letter
    middle = paper.place(0.0, (y0 + y1) / 2)[1]
    if small and y1 - y0 < 2.0 * paper.letter:
        return x1 + 0.55 * paper.letter, middle - 0.25 * paper.letter
    return (x0 + x1) / 2, middle - (y1 - y0) / 4 + 0.35 * paper.letter


def _along(paper: _Paper, face: FaceDrawing, words: Words, edge: float) -> tuple[list[str], float]:
    """Running dimensions from the left end, below the drawing, their figures on end; and where they end."""
    x0, _, x1, _ = paper.bounds
    letter = paper.letter
    ends = (Dimension(x0, (0.0,)), Dimension(x1, (0.0,)))
    shown = sorted((*face.along, *ends), key=lambda one: one.value)
    most = int((x1 - x0 + 4 * letter) / (1.15 * letter))
    if len(shown) > most:
        shown = [shown[round(k * (len(shown) - 1) / (most - 1))] for k in range(most)]
    foot = edge + 1.5 * letter
    label = foot + 0.9 * letter
    places = spread([one.value for one in shown], 1.15 * letter, x0 - 2 * letter, x1 + 1.2 * letter)
    parts, longest = [], 0.0
    for one, place in zip(shown, places, strict=True):
        start = edge if one in ends else max(paper.place(0.0, other)[1] for other in one.others)
        parts.append(f'<path class="dim" d="M{one.value:.1f} {start:.1f}V{foot:.1f}L{place:.1f} {label:.1f}"/>')
        said = mark(one.value - x0, words)
        longest = max(longest, len(said) * _LETTER * letter)
        parts.append(_text(paper, place + 0.35 * letter, label + 0.3 * letter, said, "", "end", on_end=True))
    return parts, label + longest + 0.9 * letter


def _across(paper: _Paper, face: FaceDrawing, words: Words) -> list[str]:
    """Running dimensions from the centre line, at the left."""
    x0, y0, _, y1 = paper.bounds
    letter = paper.letter
    shown = sorted((paper.place(0.0, one.value)[1], one) for one in face.across)
    low, high = sorted((paper.place(0.0, y0)[1], paper.place(0.0, y1)[1]))
    most = max(2, int((high - low) / (1.1 * letter)))
    if len(shown) > most:
        shown = [shown[round(k * (len(shown) - 1) / (most - 1))] for k in range(most)]
    side, label = x0 - 1.2 * letter, x0 - 2.2 * letter
    places = spread([at for at, _ in shown], 1.1 * letter, low, high)
    parts = []
    for (at, one), place in zip(shown, places, strict=True):
        parts.append(f'<path class="dim" d="M{min(one.others):.1f} {at:.1f}H{side:.1f}L{label:.1f} {place:.1f}"/>')
        said = mark(abs(one.value), words)
        parts.append(_text(paper, label - 0.3 * letter, place + 0.35 * letter, said, "", "end"))
    return parts


def _own_dimensions(paper: _Paper, top: TopPlan, asked: Placed, at: tuple[float, float], context: Context) -> list[str]:
    """The chosen feature's dimensions, from what they are typed from; and how its place goes over the year."""
    words, letter = context.words, paper.letter
    x0, _, x1, _ = paper.bounds
    where = {one.name: (one.along or 0.0, one.across or 0.0) for one in top.features}
    from_x = {"left end": x0, "right end": x1, "middle": (x0 + x1) / 2}.get(asked.along_from)
    from_x = where.get(asked.along_from, at)[0] if from_x is None else from_x
    edges = crossing_edges(top.outline, at[0])
    from_y = {"centre line": 0.0, "near edge": edges[0], "far edge": edges[1]}.get(asked.across_from)
    from_y = where.get(asked.across_from, at)[1] if from_y is None else from_y
    x, y = paper.place(*at)
    origin = paper.place(from_x, from_y)
    parts = [f'<path class="own-dim" d="{_arrowed(origin[0], x, y, letter, level=True)}"/>'] if origin[0] != x else []
    if origin[0] != x:
        middle, wide = (origin[0] + x) / 2, len(tape(abs(asked.along), words)) * _LETTER * letter
        middle = min(max(middle, x0 + wide / 2), x1 - wide / 2)
        parts.append(_text(paper, middle, y - 0.35 * letter, tape(abs(asked.along), words), "own-figure", "middle"))
    if abs(origin[1] - y) > 1e-9:
        parts.append(f'<path class="own-dim" d="{_arrowed(origin[1], y, x, letter, level=False)}"/>')
        said = tape(abs(asked.across), words)
        right = x + 0.5 * letter + len(said) * _LETTER * letter < x1
        parts.append(
            _text(
                paper,
                x + (0.5 if right else -0.5) * letter,
                (origin[1] + y) / 2 + 0.35 * letter,
                said,
                "own-figure",
                "start" if right else "end",
            )
        )
    return parts


def _arrowed(start: float, end: float, other: float, letter: float, *, level: bool) -> str:
    """A line with an arrow at its end, and a tick at its start."""
    back = math.copysign(0.55 * letter, end - start)
    half, tick = 0.22 * letter, 0.5 * letter
    if level:
        return (
            f"M{start:.1f} {other - tick:.1f}V{other + tick:.1f}M{start:.1f} {other:.1f}H{end:.1f}"
            f"M{end - back:.1f} {other - half:.1f}L{end:.1f} {other:.1f}L{end - back:.1f} {other + half:.1f}"
        )
    return (
        f"M{other - tick:.1f} {start:.1f}H{other + tick:.1f}M{other:.1f} {start:.1f}V{end:.1f}"
        f"M{other - half:.1f} {end - back:.1f}L{other:.1f} {end:.1f}L{other + half:.1f} {end - back:.1f}"
    )


def _clash(paper: _Paper, top: TopPlan, clash: Clearance, words: Words) -> str:
    """Where two things are too near, with a square and the distance."""
    by_name = {one.name: one for one in top.features}
    one = by_name.get(clash.first)
    if one is None or not one.solids:
        return ""
    here = one.shape()
    other = by_name.get(clash.second or "")
    there: BaseGeometry | None = None
    if other is not None and other.solids:
        there = other.shape()
    elif clash.rule == rule.EDGE or (clash.second and clash.rule == rule.WORKED_EDGE):
        there = top.outline.exterior
    elif clash.rule == rule.KEPT_CLEAR:
        place = next((each for each in top.layout.top.keep_clear if each.name == clash.second), None)
        there = kept_shape(place.outline) if place is not None else None
    start, end = nearest_points(here, there) if there is not None else (here.representative_point(),) * 2
    (ax, ay), (bx, by) = paper.place(start.x, start.y), paper.place(end.x, end.y)
    size = 0.7 * paper.letter
    said = mark(max(clash.distance, 0.0), words)
    return (
        f'<g class="clash"><path d="M{ax:.1f} {ay:.1f}L{bx:.1f} {by:.1f}"/>'
        f'<rect x="{(ax + bx - size) / 2:.1f}" y="{(ay + by - size) / 2:.1f}" width="{size:.1f}" height="{size:.1f}"/>'
        f"{_text(paper, (ax + bx) / 2, (ay + by) / 2 - 0.8 * paper.letter, said, 'clash-figure', 'middle')}</g>"
    )


def crossing_edges(outline: Polygon, along: float) -> tuple[float, float]:
    """Where the near and the far edge are at a place along the top [mm]."""
    return Edges(outline).across(along)


def season_picture(top: TopPlan, words: Words) -> str:
    """The width over the year as dimensions: driest, as made, dampest; what it changes by is drawn far too large."""
    about = top.movement
    if about is None:
        return ""
    most = max(abs(about.width_change_dry), abs(about.width_change_damp), 1e-9)
    rows = (
        ("driest", about.width_change_dry, (about.width_change_dry_low, about.width_change_dry_high)),
        ("as made", 0.0, None),
        ("dampest", about.width_change_damp, (about.width_change_damp_low, about.width_change_damp_high)),
    )
    left, right, step = 2.0, 284.0, 24.0
    parts = []
    for k, (name, change, likely) in enumerate(rows):
        y = 64.0 * k + 40.0
        end = right + change / most * step
        told = f"{tape(top.width, words)}" if likely is None else _signed(change, words)
        said = "" if likely is None else f", likely {_signed(likely[0], words)} to {_signed(likely[1], words)}"
        parts.append(
            f'<text x="{left}" y="{y - 18:.0f}">{name} <tspan class="great">{escape(told)}</tspan>'
            f'<tspan class="soft">{escape(said)}</tspan></text>'
        )
        parts.append(f'<rect class="wood" x="{left}" y="{y - 11:.0f}" width="{end - left:.1f}" height="22"/>')
        if likely is not None:
            parts.append(
                f'<path class="own-dim" d="M{right:.1f} {y - 14:.0f}V{y + 14:.0f}M{end:.1f} {y - 14:.0f}V{y + 14:.0f}"/>'
            )
    label = f"Width over the year: as made {tape(top.width, words)}, {_signed(about.width_change_dry, words)} in the driest "
    label += f"season, {_signed(about.width_change_damp, words)} in the dampest"
    return (
        f'<svg class="season" viewBox="0 0 318 186" role="img" aria-label={quoteattr(label)} font-size="15">'
        f"{''.join(parts)}</svg>"
    )


def _signed(mm: float, words: Words) -> str:
    return words.signed(mm)
