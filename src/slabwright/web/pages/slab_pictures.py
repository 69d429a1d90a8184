"""Pictures of the slab for its page: the faces before cutting, the wood left after each depth, the bed, a stack."""

from __future__ import annotations

from html import escape

import numpy as np

from slabwright.geometry.faces import FaceName
from slabwright.plan import Plan
from slabwright.sheets.colours import PAPER
from slabwright.sheets.context import Context, seen
from slabwright.sheets.fonts import FAMILY
from slabwright.sheets.height_map import bands_for, draw_height_map, draw_scale_bar
from slabwright.sheets.picture import MIDDLE, THICK, Picture
from slabwright.sheets.plan_view import View, draw_contact, draw_defects, draw_length_bar
from slabwright.sheets.stack_card import kinds_of
from slabwright.slab.shim_results import Stack
from slabwright.web.drawings import Drawing, add_drawing

_WIDE = 125.0
_WIDE_DEPTH = 110.0
_LEGEND = 11.0
_DEPTHS = 60
"""Depths of one face that pictures are named for; a slab with more is no slab."""


def _most(context: Context) -> float:
    return max(float(np.nanmax(context.stock(face).depth, initial=0.0)) for face in context.faces)


def _high(context: Context, face: FaceName, wide: float) -> float:
    x0, y0, x1, y1 = context.seated(context.outline(face), face).bounds
    return (wide - 4.0) * (y1 - y0) / max(x1 - x0, 1.0) + 4.0


def _low(context: Context, face: FaceName) -> bool:
    return bool(np.nanmin(context.stock(face).depth, initial=0.0) < -0.005)


def _unread(context: Context, face: FaceName) -> bool:
    outline = context.seated(context.outline(face), face)
    return outline.intersection(context.read(face)).area < outline.area * (1.0 - 1e-6)


def _for_screens(drawing: Picture) -> str:
    """A drawing with letters that every device has: a picture that stands by itself cannot load a font."""
    return drawing.svg().replace(f'font-family="{FAMILY}"', f'font-family="{FAMILY}, sans-serif"')


def face_picture(plan: Plan, face: FaceName) -> str:
    """The wood above the finished plane of a face, its defects, and the readings that carry the lie."""
    context = Context(plan)
    words = context.words
    outline = context.seated(context.outline(face), face)
    region = context.seated(context.region(face), face)
    high = _high(context, face, _WIDE)
    drawing = Picture(_WIDE, high + _LEGEND + 9.0)
    view = View.fit(outline.bounds, (2.0, 2.0, _WIDE - 4.0, high - 4.0), mirrored=face == "B")
    bands = bands_for(_most(context), words, 8)
    turn = context.slab.seat.planes.rotation()
    deciding = [
        view.point(*(turn @ np.array([one.x, one.y, one.z]))[:2])
        for one in context.slab.seat.contacts
        if one.face == face
    ]
    draw_height_map(
        drawing,
        view,
        context.stock(face),
        bands,
        words,
        outline=outline,
        read=context.read(face),
        clear_of=deciding,
    )
    drawing.path(view.data(outline), weight=THICK)
    drawing.path(view.data(region), weight=1.0, stroke=PAPER)
    drawing.path(view.data(region), weight=MIDDLE, dash="3 1.2")
    draw_defects(drawing, view, context.defects(face))
    for place in deciding:
        draw_contact(drawing, place)
    low, unread = _low(context, face), _unread(context, face)
    draw_scale_bar(drawing, bands, words, 2.0, high + 1.0, _WIDE - 8.0, low=low, unread=unread)
    draw_length_bar(drawing, view, 2.0, high + _LEGEND + 7.0, 70.0, words.metric)
    return _for_screens(drawing)


def depth_picture(plan: Plan, face: FaceName, index: int) -> str:
    """The wood left on a face after its depth with an index from 0."""
    context = Context(plan)
    level = [each for each in context.slab.passes if each.face == face][index].level
    outline = context.seated(context.outline(face), face)
    high = _high(context, face, _WIDE_DEPTH)
    drawing = Picture(_WIDE_DEPTH, high)
    view = View.fit(outline.bounds, (0.6, 0.6, _WIDE_DEPTH - 1.2, high - 1.2), mirrored=face == "B")
    draw_height_map(
        drawing,
        view,
        context.stock(face),
        bands_for(_most(context), context.words, 8),
        context.words,
        outline=outline,
        level=level,
        labelled=False,
        cell=1.5,
        read=context.read(face),
    )
    drawing.path(view.data(outline), weight=MIDDLE)
    return _for_screens(drawing)


def scale_picture(plan: Plan) -> str:
    """What the colours of the maps of wood left mean."""
    context = Context(plan)
    drawing = Picture(_WIDE, _LEGEND)
    low = any(_low(context, face) for face in context.faces)
    unread = any(_unread(context, face) for face in context.faces)
    bands = bands_for(_most(context), context.words, 8)
    draw_scale_bar(drawing, bands, context.words, 0.0, 1.0, _WIDE - 6.0, low=low, unread=unread)
    return _for_screens(drawing)


def _has_face(plan: Plan) -> bool:
    return plan.slab is not None


def _register() -> None:
    def face_of(face: FaceName) -> None:
        add_drawing(
            Drawing(
                f"slab-face-{face.lower()}",
                f"Face {face} before cutting",
                _has_face,
                lambda plan: face_picture(plan, face),
            )
        )

    def depth_of(face: FaceName, index: int) -> None:
        def there(plan: Plan) -> bool:
            return plan.slab is not None and sum(each.face == face for each in plan.slab.passes) > index

        add_drawing(
            Drawing(
                f"slab-left-{face.lower()}-{index + 1}",
                f"Wood left on face {face} after its depth {index + 1}",
                there,
                lambda plan: depth_picture(plan, face, index),
            )
        )

    faces: tuple[FaceName, FaceName] = ("A", "B")
    for face in faces:
        face_of(face)
        for index in range(_DEPTHS):
            depth_of(face, index)
    add_drawing(Drawing("slab-scale", "What the colours of wood left mean", _has_face, scale_picture))


_register()


def bed_picture(plan: Plan) -> tuple[str, str]:
    """The slab on its stacks from above, drawn in the page's own colours, and the same in words."""
    context = Context(plan)
    shims = context.slab.shims
    stacks = shims.stacks if shims is not None else ()
    outline = context.lying_outline
    wide = 900.0
    x0, y0, x1, y1 = outline.bounds
    scale = (wide - 60.0) / max(x1 - x0, 1.0)
    high = (y1 - y0) * scale + 80.0
    view = View.fit(outline.bounds, (30.0, 20.0, wide - 60.0, high - 80.0), mirrored=context.faces[0] == "B")
    parts = [
        f'<path class="wood" d="{view.data(outline)}"/>',
        f'<path class="line thin open" d="{view.data(context.lying_region)}"/>',
    ]
    for stack in stacks:
        x, y = view.point(*context.place(stack))
        kind = "carries" if stack.carries else "wedged"
        beside = 76.0 if y < (high - 40.0) / 2.0 else -46.0  # towards the middle of the slab, where no other stack is
        parts.append(
            f'<circle class="{kind}" cx="{x:.1f}" cy="{y:.1f}" r="33"/>'
            f'<text class="name {kind}-name" x="{x:.1f}" y="{y + 13:.1f}" text-anchor="middle">{escape(stack.name)}</text>'
            f'<text class="height" x="{x:.1f}" y="{y + beside:.1f}" text-anchor="middle">'
            f"{context.words.shim(stack.height)}</text>"
        )
    foot = high - 12.0
    parts.append(f'<text class="words" x="30" y="{foot:.1f}">x = 0 end</text>')
    parts.append(f'<text class="words" x="{wide - 30:.0f}" y="{foot:.1f}" text-anchor="end">far end</text>')
    carrying = ", ".join(stack.name for stack in stacks if stack.carries)
    words = f"{seen(context.faces[0])}. {len(stacks)} stacks; the slab stands on {carrying or 'none'}."
    head = f'<svg class="drawing bed" viewBox="0 0 {wide:g} {high:.1f}" role="img" aria-label="{escape(words)}">'
    return f"{head}{''.join(parts)}</svg>", words


def stack_picture(stack: Stack, most: float) -> str:
    """A stack from the side, its pieces to one scale with those of the other stacks.

    Args:
        stack: what
        most: height of the highest stack [mm]
    """
    scale = 120.0 / max(most, 1.0)
    top, parts = 130.0, ['<path class="line" d="M4 130H96"/>']
    for thickness, count in reversed(kinds_of(stack)):
        for _ in range(count):
            top -= thickness * scale
            parts.append(f'<rect class="wood" x="14" y="{top:.1f}" width="72" height="{thickness * scale:.1f}"/>')
    return f'<svg class="stack" viewBox="0 0 100 134" aria-hidden="true">{"".join(parts)}</svg>'
