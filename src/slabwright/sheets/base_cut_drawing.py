"""Drawings of the cut list: a card for each setting of the saw's stop, and each length of steel drawn like a tape."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from slabwright.base.cut_list_results import CutLength, CutPart, LaidPiece, SawStop
from slabwright.sheets.base_words import cut_length, mitre_words, steel_name
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, THIN, Picture, path_of, text_width
from slabwright.sheets.plan_view import nice_step
from slabwright.sheets.words import Words

CARD = 33.0
"""Height of a stop's card [mm]."""
TAPE = 24.5
"""Height of a length drawn like a tape [mm]."""
_STRIP = 10.5
_FOOT = 304.8
_GREAT_LETTER = 0.55
_LIE = {"parallel": "parallel cuts", "opposed": "opposed cuts", "one end": "other end square"}


def stop_card(stop: SawStop, width: float, words: Words) -> Picture:
    """How many, at which setting of the stop, from what, with which cuts; and the part's shape."""
    card = Picture(width, CARD)
    card.rectangle(0.3, 0.3, width - 0.6, CARD - 0.6, weight=MIDDLE)
    great = f"{stop.count} × {cut_length(stop.stop, words)}"
    size = min(
        GREAT,
        (width - 12.0) / (_GREAT_LETTER * len(great)) if len(great) * _GREAT_LETTER * GREAT > width - 12.0 else GREAT,
    )
    card.text(3.0, 11.0, great, size=size, weight=700, fill=CHOSEN)
    card.rectangle(width - 7.0, 3.0, 4.0, 4.0, weight=MIDDLE)
    fit = int((width - 6.0) / 1.8)
    card.text(
        3.0, 16.8, textwrap.shorten(f"{steel_name(stop.section, words)}: {', '.join(stop.parts)}", fit, placeholder="…")
    )
    shape_at, wide, high = 3.0, 0.5 * width, 5.6
    leans = [high * math.tan(math.radians(min(each, 60.0))) for each in stop.mitres]
    top, foot = 21.4, 21.4 + high
    parallel = stop.cuts == "parallel"
    face = wide - leans[1] if parallel else wide
    far = shape_at + wide - (0.0 if parallel else leans[1])
    card.polygon(
        [(shape_at, foot), (shape_at + face, foot), (far, top), (shape_at + leans[0], top)], weight=THICK, fill=SOFT
    )
    card.line(shape_at, foot + 2.0, shape_at + face, foot + 2.0, weight=THIN)
    for x in (shape_at, shape_at + face):
        card.line(x - 0.9, foot + 2.9, x + 0.9, foot + 1.1)
    card.text(shape_at + wide + 4.0, foot - 4.2, mitre_words(stop.mitres))
    if max(stop.mitres) > 0.0:
        card.text(shape_at + wide + 4.0, foot + 0.2, _LIE.get(stop.cuts, ""), weight=600)
        card.text(shape_at + wide + 4.0, foot + 4.6, "along the face" if parallel else "to the long points", fill=SOFT)
    return card


def tape_drawing(
    length: CutLength, parts: Sequence[CutPart], width: float, longest: float, kerf: float, words: Words
) -> Picture:
    """A length of steel like a tape from its first end: each piece with its cuts, then what is left.

    Args:
        length: and how it is cut
        parts: all of the cut list, as they are numbered
        width: of the drawing [mm]
        longest: of all lengths, so that all are to one scale [mm]
        kerf: of a cut [mm]
        words: how figures are written
    """
    drawing = Picture(width, TAPE)
    scale = (width - 1.0) / longest
    head = f"{length.times} × " if length.times > 1 else ""
    drawing.text(
        0.0, 3.8, f"{head}{steel_name(length.section, words)}, {cut_length(length.length, words)}, {length.source}", weight=600
    )  # fmt: skip
    kept = f"offcut {cut_length(length.offcut, words)}: {'keep' if length.kept else 'scrap'}"
    drawing.text(width, 3.8, kept if length.offcut > 0.0 else "nothing left", anchor="end")
    top, end = 6.0, 0.5 + scale * length.length
    foot = top + _STRIP
    drawing.rectangle(0.5, top, end - 0.5, _STRIP, weight=MIDDLE, fill=PAPER)
    used = 0.5 + scale * min(length.used + kerf, length.length)
    if end - used > 0.3:
        rest = path_of([(used, top), (end, top), (end, foot), (used, foot)], close=True)
        drawing.hatch(rest, (used, top, end, foot), step=2.2 if length.kept else 1.0, stroke=SOFT)
    by_name = {part.name: (number, part) for number, part in enumerate(parts, start=1)}
    face, before = 1.0, 0.0
    for piece in length.pieces:
        number, part = by_name[piece.part]
        # One cut ends the piece before and begins this one: it goes on with the slant of that cut.
        shares = piece.shares_cut and piece.first_mitre > 0.0 and before > 0.0
        face, before = (face if shares else 1.0), piece.last_mitre
        _draw_piece(drawing, piece, part, number, (scale, top, foot, face), words)
        face = face if part.cuts == "parallel" else -face
    drawing.rectangle(0.5, top, end - 0.5, _STRIP, weight=THICK)
    _ticks(drawing, scale, length.length, foot, words)
    return drawing


def lean(part: CutPart, mitre: float) -> float:
    """From the middle line to the long point of an end [mm]."""
    slants = sum(math.tan(math.radians(each)) for each in part.mitres)
    if part.cuts == "parallel":  # one slant alone makes the face shorter than the longest points
        return (part.long_points - part.short_points) / 2.0
    side = (part.long_points - part.short_points) / slants if slants > 0.0 else 0.0
    return side / 2.0 * math.tan(math.radians(mitre))


def _draw_piece(
    drawing: Picture,
    piece: LaidPiece,
    part: CutPart,
    number: int,
    at: tuple[float, float, float, float],
    words: Words,
) -> None:
    scale, top, foot, face = at
    x0, x1 = 0.5 + scale * piece.start, 0.5 + scale * piece.end
    a, b = face * scale * lean(part, piece.first_mitre), face * scale * lean(part, piece.last_mitre)
    b = -b if part.cuts == "parallel" else b
    drawing.polygon([(x0 + a, top), (x1 - b, top), (x1 + b, foot), (x0 - a, foot)], weight=MIDDLE, fill="#E4E8EB")
    for x, slant in ((x0, a), (x1, -b)):
        drawing.line(x + slant, top, x - slant, foot, weight=THICK)
    wide, middle = x1 - x0 - abs(a) - abs(b) - 1.0, (x0 + x1) / 2
    figure, name = cut_length(part.stop, words), f"{number} {part.name}"
    if text_width(figure) <= wide:
        drawing.text(middle, top + 4.4, name if text_width(name) <= wide else str(number), anchor="middle")
        drawing.text(middle, top + 8.9, figure, anchor="middle", weight=600)
    elif text_width(str(number)) <= wide:
        drawing.text(middle, top + _STRIP / 2 + 0.35 * TEXT, str(number), anchor="middle", weight=600)


def _ticks(drawing: Picture, scale: float, length: float, foot: float, words: Words) -> None:
    """Marks of a tape: millimetres, or feet."""
    unit = 1.0 if words.metric else _FOOT
    step = max(nice_step(length / unit, 12), 1.0)
    count = int(length / unit / step)
    for k in range(5 * (count + 1)):
        at = 0.5 + scale * unit * step * k / 5
        if at > 0.5 + scale * length:
            break
        drawing.line(at, foot, at, foot + (2.0 if k % 5 == 0 else 1.0), weight=THIN, stroke=INK)
        if k % 5 == 0:
            said = f"{step * k / 5:g}" + ("" if words.metric else "'")
            anchor = "start" if k == 0 else ("end" if at > drawing.width - 6.0 else "middle")
            drawing.text(at, foot + 6.2, said, anchor=anchor, fill=SOFT)
