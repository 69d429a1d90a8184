"""Pictures of the base as pages show them: the kinds, both views with what a push moves, the height stack, steel like a tape."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.base.base_sizes import sizes_of
from slabwright.base.basing import BasePlan
from slabwright.base.cut_list_results import CutLength, CutPart
from slabwright.base.height_stack import HeightStack
from slabwright.base.kinds import draw, plate_bolts
from slabwright.base.loads import Loads
from slabwright.job.base_models import Base, BaseKind
from slabwright.sheets.base_cut_drawing import lean
from slabwright.sheets.base_drawing import Side, flat, seen_from
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words

At = Callable[[float, float], tuple[float, float]]
"""From places of a view to the page."""
KINDS: tuple[BaseKind, ...] = ("U legs", "closed loops", "inverted U", "four legs", "trestles")
_LENGTH, _WIDTH, _HEIGHT, _LEG = 1700.0, 800.0, 740.0, 662.0
"""Of the table in the pictures of the kinds [mm]."""
_LIFTED = 130.0
"""The top is drawn so much too high, so that a rail under it is seen [mm]."""
_TURN, _RISE = 0.42, 0.30
"""What a millimetre across goes to the right and up the page: the table is seen from the near side, from the left and above."""
_VIEW = 430.0
_TEXT = 17.0
_LEAN = 13.0
"""How far the moved outline is drawn from the standing one: far too much, so that it is seen."""


@cache
def kind_picture(kind: BaseKind) -> str:
    """One kind of base under a top, as it stands."""
    sizes = sizes_of(Base(), _LENGTH, _WIDTH, _HEIGHT, _LEG, "metric", kind)
    drawn = draw(kind, sizes, plate_bolts(Base(), sizes), "metric")

    def seen(x: float, y: float, z: float) -> tuple[float, float]:
        return x + _TURN * y, -z - _RISE * y

    lines = []
    for member in drawn.members:
        if member.part == "frame":
            ends = (drawn.nodes[member.first], drawn.nodes[member.last])
            lines.append((max(place[1] for place in ends), [seen(*place) for place in ends]))
    steel = "".join(
        f'<path class="tube" d="M{a[0]:.0f} {a[1]:.0f}L{b[0]:.0f} {b[1]:.0f}"/>'
        for _, (a, b) in sorted(lines, key=lambda line: -line[0])
    )
    half, wide = _LENGTH / 2, _WIDTH / 2
    upper, lower = _HEIGHT + _LIFTED, _HEIGHT - 50.0 + _LIFTED
    top = [seen(x, y, upper) for x, y in ((-half, -wide), (half, -wide), (half, wide), (-half, wide))]
    front = [seen(x, -wide, z) for x, z in ((-half, upper), (half, upper), (half, lower), (-half, lower))]
    side = [seen(half, y, z) for y, z in ((-wide, upper), (wide, upper), (wide, lower), (-wide, lower))]
    wood = "".join(
        f'<path class="wood" d="M{"L".join(f"{x:.0f} {y:.0f}" for x, y in face)}Z"/>' for face in (top, front, side)
    )
    left, low = -half - _TURN * wide - 40.0, -upper - _RISE * wide - 40.0
    return (
        f'<svg class="kind" viewBox="{left:.0f} {low:.0f} {_LENGTH + 2 * _TURN * wide + 80:.0f} '
        f'{upper + 2 * _RISE * wide + 110:.0f}" aria-hidden="true">{steel}{wood}</svg>'
    )


def views(plan: BasePlan, loads: Loads, words: Words) -> list[str]:
    """From the near side and from the left end, each with its dimensions and how far a push at the top moves it."""
    pushes: tuple[tuple[Side, str, float, float], ...] = (
        ("front", "lengthwise", loads.push_along.value, plan.sway_stiffness.x),
        ("left", "crosswise", loads.push_across.value, plan.sway_stiffness.y),
    )
    return [_view(plan, side, way, push, stiff, words) for side, way, push, stiff in pushes]


def _view(plan: BasePlan, side: Side, way: str, push: float, stiff: float, words: Words) -> str:
    seen = seen_from(plan, side)
    x0, _, x1, high = seen.bounds
    left, right, head = 84.0, 56.0, 66.0
    scale = min((_VIEW - left - right) / (x1 - x0), 250.0 / high)
    shift = left + (_VIEW - left - right - scale * (x1 - x0)) / 2.0
    floor = head + scale * high

    def at(x: float, z: float) -> tuple[float, float]:
        return shift + scale * (x - x0), floor - scale * z

    parts = [
        f'<path class="{kind}" fill-rule="evenodd" d="{_data(shape, at)}"/>'
        for kind, shape in (("wood", seen.top), ("plate", seen.plates), ("steel", seen.steel), ("foot", seen.feet))
        if not shape.is_empty
    ]
    parts += _leaning(plan, side, at)
    moves = words.finer(push / stiff)
    slab = at(0.0, high - plan.structure.top.thickness[1] / 2)[1]
    start = at(x0, 0.0)[0]
    parts.append(f'<path class="push" d="M{start - 52:.1f} {slab:.1f}H{start - 4:.1f}m-12 -7l12 7l-12 7"/>')
    end = at(x1, high)[0]
    parts.append(
        f'<path class="own" d="M{end:.1f} {head - 26:.1f}V{head + 4:.1f}M{end + _LEAN:.1f} {head - 26:.1f}V{head + 4:.1f}'
        f'M{end - 8:.1f} {head - 14:.1f}H{end + _LEAN + 8:.1f}"/>'
    )
    parts.append(f'<text x="4" y="16">Push here {way}, {escape(words.force(push))}:</text>')
    parts.append(f'<text class="great" x="4" y="46">moves {escape(moves)}</text>')
    parts.append(f'<path class="line" d="M{start - 14:.1f} {floor:.1f}H{end + 14:.1f}"/>')
    inner = end + 26.0
    parts.append(_upright(inner, at(0.0, high)[1], floor, tape(plan.height.even, words)))
    foot = floor
    for low, wide in _spans(plan, side, seen.steel):
        a, b = at(low, 0.0)[0], at(wide, 0.0)[0]
        foot += 24.0
        parts.append(
            f'<path class="dim" d="M{a:.1f} {foot - 6:.1f}v12M{b:.1f} {foot - 6:.1f}v12M{a:.1f} {foot:.1f}H{b:.1f}"/>'
            f'<text x="{(a + b) / 2:.1f}" y="{foot + 17:.1f}" text-anchor="middle">{escape(tape(wide - low, words))}</text>'
        )
        foot += 4.0
    label = f"{'From the near side' if side == 'front' else 'From the left end'}: a push of {words.force(push)} at the top, "
    label += f"{way}, moves it {moves}; {tape(plan.height.even, words)} high"
    return (
        f'<svg class="view" viewBox="0 0 {_VIEW:g} {foot + 26:.0f}" role="img" aria-label={quoteattr(label)} '
        f'font-size="{_TEXT:g}">{"".join(parts)}</svg>'
    )


def _spans(plan: BasePlan, side: Side, steel: BaseGeometry) -> list[tuple[float, float]]:
    """What is dimensioned level: leg frames middle to middle, or a frame outside to outside."""
    if side == "front":
        ends = sorted(
            {round(plate.x, 3) for plate in plan.drawn.plates} or {round(x, 3) for _, _, (x, _) in plan.drawn.feet}
        )
        return [(ends[0], ends[-1])] if len(ends) > 1 else []
    return [] if steel.is_empty else [(float(steel.bounds[0]), float(steel.bounds[2]))]


def _leaning(plan: BasePlan, side: Side, at: At) -> list[str]:
    """The moved middle lines and top, dashed; each place as far as it is high."""
    high = plan.height.even

    def moved(place: Sequence[float]) -> str:
        across, up = flat(np.array([place], dtype=float), side)[0].tolist()
        x, y = at(across, up)
        return f"{x + _LEAN * up / high:.1f} {y:.1f}"

    lines = "".join(
        f"M{moved(plan.drawn.nodes[member.first])}L{moved(plan.drawn.nodes[member.last])}"
        for member in plan.drawn.members
        if member.part == "frame"
    )
    x0, y0, x1, y1 = seen_from(plan, side).top.bounds
    (left, upper), (right, lower) = at(x0, y1), at(x1, y0)
    box = f"M{left + _LEAN:.1f} {upper:.1f}H{right + _LEAN:.1f}V{lower:.1f}H{left + _LEAN:.1f}Z"
    return [f'<path class="moved" d="{lines}{box}"/>']


def _data(shape: BaseGeometry, at: At) -> str:
    rings = []
    for part in getattr(shape, "geoms", [shape]):
        if isinstance(part, Polygon):
            for ring in (part.exterior, *part.interiors):
                places = [at(x, y) for x, y, *_ in ring.coords]
                rings.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in places) + "Z")
    return "".join(rings)


def _upright(x: float, top: float, low: float, said: str) -> str:
    middle = (top + low) / 2
    return (
        f'<path class="dim" d="M{x - 6:.1f} {top:.1f}h12M{x - 6:.1f} {low:.1f}h12M{x:.1f} {top:.1f}V{low:.1f}"/>'
        f'<text x="{x + 16:.1f}" y="{middle:.1f}" text-anchor="middle" transform="rotate(-90 {x + 16:.1f} {middle:.1f})">'
        f"{escape(said)}</text>"
    )


def stack_picture(plan: BasePlan, stack: HeightStack, words: Words) -> str:
    """What adds up to the height, from the floor up; not to scale, with every figure."""
    rows = [("top", stack.top, "wood", 44.0), ("plate", stack.plate, "plate", 22.0), ("leg", stack.leg, "steel", 84.0),
            ("foot", stack.foot, "foot", 24.0)]  # fmt: skip
    parts, y = [], 10.0
    for name, figure, kind, high in rows:
        wide = {"top": 130.0, "plate": 130.0, "leg": 34.0, "foot": 16.0}[name]
        parts.append(
            f'<rect class="{kind}" x="{130 - wide / 2:.0f}" y="{y:.0f}" width="{wide:.0f}" height="{high:.0f}"/>'
        )
        said = words.fine(figure) + (
            f" less {words.fine(stack.pocket)} let in" if name == "top" and stack.pocket else ""
        )
        parts.append(f'<text x="54" y="{y + high / 2 + 5:.0f}" text-anchor="end">{name}</text>')
        parts.append(f'<text class="bold" x="204" y="{y + high / 2 + 5:.0f}">{escape(said)}</text>')
        y += high
    parts.append(f'<path class="line" d="M40 {y:.0f}H220"/>')
    parts.append(f'<text class="great" x="4" y="{y + 34:.0f}">{escape(tape(plan.height.even, words))} high</text>')
    label = f"Height stack: top {words.fine(stack.top)} less {words.fine(stack.pocket)} let in, plate {words.fine(stack.plate)}, "
    label += f"leg {words.fine(stack.leg)}, foot {words.fine(stack.foot)}: {tape(plan.height.even, words)}"
    return (
        f'<svg class="stack" viewBox="0 0 {_VIEW:g} {y + 46:.0f}" role="img" aria-label={quoteattr(label)} '
        f'font-size="{_TEXT:g}">{"".join(parts)}</svg>'
    )


def steel_tape(length: CutLength, parts: Sequence[CutPart], longest: float, words: Words) -> str:
    """A length of steel like a tape: each piece by its number with its slanting cuts, then what is left, hatched by its lines."""
    width, top, high = 640.0, 4.0, 46.0
    scale, foot = (width - 2.0) / longest, top + high
    end = 1.0 + scale * length.length
    shapes = [f'<rect class="left" x="1" y="{top:.0f}" width="{end - 1:.1f}" height="{high:.0f}"/>']
    number = {part.name: (k, part) for k, part in enumerate(parts, start=1)}
    face, before = 1.0, 0.0
    told = []
    for piece in length.pieces:
        k, part = number[piece.part]
        told.append(f"{k} {part.name} {tape(part.rough, words)}")
        shares = piece.shares_cut and piece.first_mitre > 0.0 and before > 0.0
        face, before = (-face if shares else 1.0), piece.last_mitre
        x0, x1 = 1.0 + scale * piece.start, 1.0 + scale * piece.end
        a, b = face * scale * lean(part, piece.first_mitre), face * scale * lean(part, piece.last_mitre)
        corners = ((x0 + a, top), (x1 - b, top), (x1 + b, foot), (x0 - a, foot))
        shapes.append(f'<path class="piece" d="M{"L".join(f"{x:.1f} {y:.1f}" for x, y in corners)}Z"/>')
        shapes.append(f'<text class="bold" x="{(x0 + x1) / 2:.1f}" y="{top + 31:.0f}" text-anchor="middle">{k}</text>')
    unit = 1.0 if words.metric else 304.8
    step = 500.0 if words.metric else 1.0
    count = int(length.length / unit / step + 1e-9)
    every = max(1, math.ceil(count / 8))
    for tick in range(count + 1):
        x = 1.0 + scale * unit * step * tick
        shapes.append(f'<path class="line" d="M{x:.1f} {foot:.0f}v{10 if tick % every == 0 else 5}"/>')
        if tick % every == 0:
            said = f"{step * tick:g}{'' if words.metric else chr(39)}"
            anchor = "start" if tick == 0 else "end" if x > width - 30.0 else "middle"
            shapes.append(f'<text class="soft" x="{x:.1f}" y="{foot + 29:.0f}" text-anchor="{anchor}">{said}</text>')
    label = f"{length.section}, {tape(length.length, words)}: {'; '.join(told)}; {tape(length.offcut, words)} left"
    return (
        f'<svg class="tape" viewBox="0 0 {width:g} {foot + 36:.0f}" role="img" aria-label={quoteattr(label)} '
        f'font-size="21">{"".join(shapes)}</svg>'
    )
