"""A stack of shims drawn to be read from two metres."""

from __future__ import annotations

from itertools import groupby

from slabwright.sheets.colours import CARE, CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.picture import GREAT, MIDDLE, THICK, THIN, Picture, text_width
from slabwright.sheets.words import Words
from slabwright.slab.shim_results import Stack

_PITCH = GREAT * 0.86
_HEAD = 15.5
_FOOT = 13.5
_LEFT, _WIDE = 4.0, 22.0
UNREAD = "Unread: build, then feeler"
UNREAD_CARRIES = "Carries, unread: level it"


def kinds_of(stack: Stack) -> list[tuple[float, int]]:
    """The stack's pieces with how many there are of each, thickest first."""
    return [(thickness, len(list(same))) for thickness, same in groupby(sorted(stack.pieces, reverse=True))]


def _figures(stack: Stack, words: Words) -> list[str]:
    """The figure beside each kind of piece, thickest first."""
    return [
        words.shim(thickness) if count == 1 else f"{count} × {words.shim(thickness)}"
        for thickness, count in kinds_of(stack)
    ]


def card_width(stacks: tuple[Stack, ...], words: Words) -> float:
    """The width of card that the widest figure wants."""
    widest = max(text_width(figure, GREAT) for stack in stacks for figure in (*_figures(stack, words), "0"))
    return _LEFT + _WIDE + 6.0 + 1.04 * widest + 2.0


def card_height(stacks: tuple[Stack, ...]) -> float:
    """The height of card that the stack with most kinds of piece wants."""
    return _HEAD + _FOOT + max([len(kinds_of(stack)) for stack in stacks] + [2]) * _PITCH + 2.0


def stack_card(
    stack: Stack, place: tuple[float, float], words: Words, scale: float, width: float, height: float
) -> Picture:
    """Draw one stack from the side, its pieces to scale, with each piece's figure and the whole in great type.

    Args:
        stack: what
        place: along and across from the slab's x = 0, y = 0 [mm]
        words: how figures are written
        scale: page mm for each mm of shim
        width: of the card [mm]
        height: of the card [mm]
    """
    picture = Picture(width, height)
    picture.rectangle(0.3, 0.3, width - 0.6, height - 0.6, weight=THICK if stack.carries else MIDDLE, stroke=INK)
    picture.circle(9.0, 8.5, 6.2 if len(stack.name) == 1 else 7.4, weight=THICK, fill=INK if stack.carries else PAPER)
    picture.text(
        9.0,
        8.5 + 0.35 * GREAT,
        stack.name,
        size=GREAT,
        anchor="middle",
        weight=600,
        fill=PAPER if stack.carries else INK,
    )
    total = words.shim(stack.height)
    picture.text(width - 3.0, 8.5 + 0.35 * GREAT, total, size=GREAT, anchor="end", weight=700)
    foot = height - _FOOT
    left, wide = _LEFT, _WIDE
    picture.line(2.5, foot, left + wide + 1.5, foot, weight=THICK)
    kinds = kinds_of(stack)
    top = foot
    middles = []
    for thickness, count in reversed(kinds):
        lower = top
        for _ in range(count):
            top -= thickness * scale
            picture.rectangle(left, top, wide, thickness * scale, weight=THIN, fill=WOOD)
        middles.append((lower + top) / 2)
    label = foot - 1.2
    for figure, middle in zip(reversed(_figures(stack, words)), middles, strict=True):
        picture.polyline(
            [(left + wide, middle), (left + wide + 2.0, middle), (left + wide + 5.0, label - 0.33 * GREAT)], weight=THIN
        )
        picture.text(left + wide + 6.0, label, figure, size=GREAT, weight=600)
        label -= _PITCH
    if not kinds:
        picture.text(left + wide + 6.0, foot - 1.2, "no shim", size=GREAT)
    if stack.read:
        word = "Carries the slab" if stack.carries else f"Wedge {words.finer(stack.wedge)}, do not lift"
        picture.text(4.0, height - 7.9, word, weight=600, fill=CHOSEN if stack.carries else INK)
    else:
        picture.polygon([(4.2, height - 7.7), (7.8, height - 7.7), (6.0, height - 11.2)], stroke=CARE, weight=THICK)
        picture.text(9.0, height - 7.9, UNREAD_CARRIES if stack.carries else UNREAD, weight=600, fill=CARE)
    picture.text(4.0, height - 2.8, f"x {words.place(place[0])}, y {words.place(place[1])}", fill=SOFT)
    return picture


def drawing_scale(stacks: tuple[Stack, ...], height: float) -> float:
    """Page mm for each mm of shim, so that the highest stack fits a card; a round figure, at most 4 to 1."""
    room = height - _HEAD - _FOOT - 1.0
    most = max([stack.height for stack in stacks] + [1.0])
    return next((scale for scale in (4.0, 3.0, 2.0, 1.5, 1.0, 0.5) if scale * most <= room), room / most)


def name_text(scale: float) -> str:
    """A drawing scale in words."""
    return "full size" if scale == 1.0 else (f"{scale:g} times full size" if scale > 1 else f"1 to {1 / scale:.2g}")
