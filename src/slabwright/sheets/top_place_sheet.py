"""Where to cut: the piece in the slab, its centre line, the first cuts and the final ones."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import shapely
from shapely import LineString, Polygon, affinity
from shapely.geometry.base import BaseGeometry

from slabwright import quantities
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, SOFT, WOOD
from slabwright.sheets.context import Context, other, seen
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN
from slabwright.sheets.plan_view import (
    View,
    draw_defects,
    draw_length_bar,
    draw_origin,
    joined_bounds,
    near_origin,
    with_origin,
)
from slabwright.sheets.top_picture import Ordinate, TopPicture
from slabwright.sheets.top_words import mark, problems, tape, text_height
from slabwright.sheets.words import Words
from slabwright.top.placement_results import Placement
from slabwright.top.results import TopPlan
from slabwright.top.rough_cuts import RoughCut

_LEAST, _MOST = 70.0, 102.0
"""Height of the picture [mm]."""
_RUNNERS = 3
_FAR = 1e5
_STICKS_OUT = 18.0
"""How far a cut's line is drawn beyond the slab [mm of slab]."""


class Cut(NamedTuple):
    """A cut across, or along, the slab.

    Attributes:
        name: as the table calls it
        line: through the slab [mm]
        final: whether it makes the piece
        across: whether it is a crosscut
    """

    name: str
    line: LineString
    final: bool
    across: bool


@dataclass(frozen=True)
class Placed:
    """A placement's geometry in the slab's frame."""

    placement: Placement
    face: Polygon

    def at(self, u: float, v: float) -> tuple[float, float]:
        """The place at (along, across) of the piece's middle."""
        return turned_out(self.placement.x, self.placement.y, self.placement.turn, u, v)

    def through(self, a: tuple[float, float], b: tuple[float, float]) -> LineString:
        """The line through two places, as long as it runs on the show face."""
        dx, dy = _FAR * (b[0] - a[0]), _FAR * (b[1] - a[1])
        long = LineString([(a[0] - dx, a[1] - dy), (a[0] + dx, a[1] + dy)])
        wood = shapely.intersection(long, self.face)
        ends = sorted(
            shapely.get_coordinates(wood).tolist(),
            key=lambda p: (p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1]),
        )
        return LineString([ends[0], ends[-1]]) if len(ends) > 1 else LineString([a, b])

    def finals(self) -> list[Cut]:
        """The cuts that make the piece."""
        half, wide = self.placement.length / 2, self.placement.width
        found = [
            Cut(f"final, {end}", self.through(self.at(way * half, 0.0), self.at(way * half, 1.0)), True, True)
            for end, way in (("left", -1.0), ("right", 1.0))
        ]
        if wide is not None:
            found += [
                Cut(
                    f"final, {name}",
                    self.through(self.at(0.0, way * wide / 2), self.at(1.0, way * wide / 2)),
                    True,
                    False,
                )
                for name, way in (("smaller y", -1.0), ("greater y", 1.0))
            ]
        return found

    def rough(self, cut: RoughCut) -> Cut:
        """A first crosscut."""
        lean = math.radians(self.placement.centre_line.angle)
        beyond = (cut.x - math.sin(lean), cut.y + math.cos(lean))
        return Cut(f"first, {cut.end}", self.through((cut.x, cut.y), beyond), False, True)


def turned_out(x: float, y: float, turn: float, u: float, v: float) -> tuple[float, float]:
    """The place at (along, across) from a middle, turned by so many degrees."""
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return x + cos * u - sin * v, y + sin * u + cos * v


def piece_in_slab(plan: TopPlan) -> Polygon:
    """The finished outline in the slab's frame."""
    placed = plan.placement
    shape = affinity.translate(plan.outline, -placed.length / 2, 0.0)
    if placed.face_up == "B":
        shape = affinity.scale(shape, 1.0, -1.0, origin=(0.0, 0.0))
    turned = affinity.rotate(shape, placed.turn, origin=(0.0, 0.0))
    moved = affinity.translate(turned, placed.x, placed.y)
    assert isinstance(moved, Polygon)
    return moved


def place_sheet(context: Context, plan: TopPlan) -> Sheet:
    """Where the piece lies in the slab and what is cut, in the order of the cuts."""
    words, placed = context.words, plan.placement
    up = placed.face_up
    where = Placed(placed, context.outline(up))
    roughs = [where.rough(cut) for cut in placed.rough_cuts if cut.needed]
    cuts = [*roughs, *where.finals()]
    beside, below = _sure(placed, words)
    columns = [
        [blocks.figures(beside), *below, *_runners(placed, words)],
        [blocks.steps(_steps(context, placed, words)), _table(where, cuts, words)],
        [
            *problems(context, ("no-board", "placement-time", "other-face"), 1),
            blocks.checks(["Tape hooked at x = 0 both times", *_squares(placed, words)]),
            blocks.caution("crosscutting"),
        ],
    ]
    room = context.paper.inner_height - text_height(context, columns) - 4.0
    drawing = _drawing(context, plan, where, cuts, min(max(room, _LEAST), _MOST))
    return Sheet("Where to cut the top", f"{seen(up)}.", [blocks.picture(drawing)], columns, "wide")


def _drawing(context: Context, plan: TopPlan, where: Placed, cuts: list[Cut], height: float) -> TopPicture:
    words, placed, paper = context.words, plan.placement, context.paper
    up = placed.face_up
    drawing = TopPicture(paper.inner_width, height)
    outlines = [context.outline("A"), context.outline("B")]
    shapes: list[BaseGeometry] = [*outlines, *(_stretched(cut.line) for cut in cuts)]
    bounds = joined_bounds([*shapes, shapely.Point(0.0, 0.0)])
    box = (5.0, 8.0, paper.inner_width - 10.0, height - 28.0)
    view = View.fit(bounds, box, mirrored=up == "B")
    if beside := near_origin(view, [view.point(*placed.corners[0])], context.outline(up)):
        view = View.fit(bounds, with_origin(*box, up), mirrored=up == "B")
    drawing.path(view.data(context.outline(up)), weight=THICK, fill=WOOD)
    drawing.path(view.data(context.outline(other(up))), weight=THIN, dash="1.2 0.9")
    piece = piece_in_slab(plan)
    drawing.path(view.data(piece), weight=0.0, fill="#DDE6F2")
    for k, runner in enumerate(placed.runners_up[:_RUNNERS]):
        _draw_runner(drawing, view, where, k, (runner.x, runner.y, runner.turn))
    line = placed.centre_line
    x0, _, x1, _ = where.face.bounds
    a, b = view.point(x0 - 40.0, line.at(x0 - 40.0)), view.point(x1 + 40.0, line.at(x1 + 40.0))
    drawing.line(*a, *b, weight=MIDDLE, dash="7 1.2 1.2 1.2")
    for cut in cuts:
        ends = view.ring(_stretched(cut.line).coords)
        ink, dash = (CHOSEN, "") if cut.final else (SOFT, "4 1.4")
        drawing.polyline(ends, weight=THICK if cut.final else MIDDLE, stroke=ink, dash=dash)
    drawing.path(view.data(piece), weight=THICK, stroke=CHOSEN)
    defects = context.slab.survey.defects_a if up == "A" else context.slab.survey.defects_b
    draw_defects(drawing, view, [(each.kind, each.place) for each in defects])
    for k, runner in enumerate(placed.runners_up[:_RUNNERS]):
        _name_runner(drawing, view, where, k, words, (runner.x, runner.y, runner.turn), runner.thickness)
    draw_origin(drawing, view, beside)
    foot = max(view.page_box(shape)[3] for shape in shapes) + 1.0
    on_line = [crossing(cut.line, placed) for cut in cuts if cut.across]
    drawing.below(
        [Ordinate(view.point(x, y)[0], mark(x, words), view.point(x, y)[1]) for x, y in on_line],
        foot,
        3.0,
        drawing.width - 3.0,
    )
    drawing.text(
        drawing.width / 2,
        foot + 8.0,
        "x of the crosscuts on the centre line",
        anchor="middle",
        fill=SOFT,
    )
    draw_length_bar(drawing, view, 5.0, 4.0, 60.0, words.metric)
    said = "Blue: final cuts. Dashed: first cuts. Dash-dot: centre line. Thin: face {face}. Grey: runners-up."
    drawing.text(drawing.width - 4.0, 4.0, said.format(face=other(up)), anchor="end", fill=SOFT)
    return drawing


def _stretched(line: LineString) -> LineString:
    grow = 1.0 + 2 * _STICKS_OUT / max(line.length, 1.0)
    return affinity.scale(line, grow, grow)


def _draw_runner(drawing: TopPicture, view: View, where: Placed, k: int, at: tuple[float, float, float]) -> None:
    half, wide = where.placement.length / 2, where.placement.width
    if wide is not None:
        corners = [
            turned_out(*at, u, v)
            for u, v in ((-half, -wide / 2), (half, -wide / 2), (half, wide / 2), (-half, wide / 2))
        ]
        drawing.path(view.data(Polygon(corners)), stroke=SOFT, weight=THIN, dash=f"{2 + k} 1")
        return
    for way in (-half, half):
        cut = where.through(turned_out(*at, way, 0.0), turned_out(*at, way, 1.0))
        drawing.polyline(view.ring(cut.coords), stroke=SOFT, weight=THIN, dash=f"{2 + k} 1")


def _name_runner(
    drawing: TopPicture,
    view: View,
    where: Placed,
    k: int,
    words: Words,
    at: tuple[float, float, float],
    thickness: float,
) -> None:
    """Its letter and thickness at its right cut, each at its own height."""
    half = where.placement.length / 2
    _, y0, _, y1 = where.face.bounds
    v = (0.3 - 0.2 * k) * (y1 - y0) * (-1.0 if view.mirrored else 1.0)
    x, y = view.point(*turned_out(*at, half, v))
    drawing.text(x - 1.2, y + 0.35 * TEXT, f"{letter(k)} {_down(thickness, words)}", fill=SOFT, halo=True)


def letter(k: int) -> str:
    """What a runner-up is called."""
    return "PQRSTUVW"[k]


def crossing(line: LineString, placed: Placement) -> tuple[float, float]:
    """Where a crosscut crosses the centre line [mm]."""
    (ax, ay), (bx, by) = line.coords[0], line.coords[-1]
    slope = math.tan(math.radians(placed.centre_line.angle))
    base = placed.centre_line.at(ax) - ay
    share = base / ((by - ay) - slope * (bx - ax))
    return ax + share * (bx - ax), ay + share * (by - ay)


def _sure(placed: Placement, words: Words) -> tuple[list[tuple[str, str, bool]], list[Block]]:
    unit = words.unit
    figures = [(_down(placed.thickness, words), f"{unit}, sure of this place", True)]
    told = "No other place gives more: proven."
    if not placed.proven or placed.gap > 0.005:
        how = "proven" if placed.proven else "the search's time ended first"
        told = f"Another place gives at most {words.finer(placed.gap)} more: {how}."
    said = f"Thickness that 19 of 20 such slabs keep here, nothing filled. {told}"
    if placed.cost > 0.005:
        said += f" Defects and sapwood in it count as {words.fine(placed.cost)}."
    return figures, [blocks.text(said)]


def _down(mm: float, words: Words) -> str:
    """A promised thickness, rounded down, without its unit."""
    return words.least(mm).removesuffix(" mm").removesuffix('"')


def _runners(placed: Placement, words: Words) -> list[Block]:
    if not placed.runners_up:
        return [blocks.text("No other placement stands apart from this one.")]
    rows = [
        ["[chosen]", _down(placed.thickness, words), mark(placed.x, words), mark(placed.y, words), _turn(placed.turn)]
    ]
    rows += [
        [letter(k), _down(each.thickness, words), mark(each.x, words), mark(each.y, words), _turn(each.turn)]
        for k, each in enumerate(placed.runners_up[:_RUNNERS])
    ]
    return [blocks.table(["Place", f"Sure, {words.unit}", "middle x", "y", "turn"], "lrrrr", rows, pad=2.6)]


def _turn(degrees: float) -> str:
    return quantities.format_angle(degrees).replace("-", "−")


def _steps(context: Context, placed: Placement, words: Words) -> list[str]:
    line = placed.centre_line
    outline = context.outline(placed.face_up)
    x0, _, x1, _ = outline.bounds
    ends = [x0 + 0.06 * (x1 - x0), x1 - 0.06 * (x1 - x0)]
    step = 10.0 if words.metric else quantities.INCH
    ends = [round(x / step) * step for x in ends]
    told = [
        f"at x {mark(x, words)}: y {mark(line.at(x), words)}, {_in_from_edge(outline, x, line.at(x), words)}"
        for x in ends
    ]
    said = [f"Centre line: mark it {told[0]}; {told[1]}. Snap it on the show face."]
    said += [_first(cut, words) for cut in placed.rough_cuts]
    off = placed.off_centre_line
    skew = "square to the centre line" if abs(off) < 0.005 else f"{quantities.format_angle(abs(off))} off square to it"
    said.append(
        f"Both faces flat: strike the line anew from the marks on the ends. Final cuts {skew}: by the table, not by the eye."
    )
    return said


def _in_from_edge(outline: Polygon, x: float, y: float, words: Words) -> str:
    _, low, _, high = outline.bounds
    cut = shapely.intersection(outline, LineString([(x, low - 1.0), (x, high + 1.0)]))
    return f"{tape(y - cut.bounds[1], words)} in from the edge of smaller y"


def _first(cut: RoughCut, words: Words) -> str:
    if not cut.needed:
        return f"{cut.end.capitalize()} end: no wood for a first cut; the final cut is the first one there."
    return (
        f"First cut {cut.end}, at x {mark(cut.x, words)}, square to the centre line: it may be off by "
        f"{quantities.format_angle(cut.out_of_square, 1)}, {tape(math.floor(cut.out_over_width), words)} over the width."
    )


def _squares(placed: Placement, words: Words) -> list[str]:
    if placed.width is None:
        return [f"{tape(placed.length, words)} between the final cuts, at both edges"]
    diagonal = math.hypot(placed.length, placed.width)
    return [
        f"{tape(placed.length, words)} by {tape(placed.width, words)}, both diagonals {tape(diagonal, words)}",
    ]


def _table(where: Placed, cuts: list[Cut], words: Words) -> Block:
    """Where each cut meets the rim of the show face."""
    rows = []
    for cut in cuts:
        (ax, ay), (bx, by) = sorted(cut.line.coords, key=lambda p: p[1] if cut.across else p[0])
        rows.append([cut.name, f"{mark(ax, words)}, {mark(ay, words)}", f"{mark(bx, words)}, {mark(by, words)}"])
    return blocks.table(["Cut", "from x, y", "to x, y"], "lrr", rows, pad=2.2)
