"""A plate of the base to scale, its holes, slots and openings dimensioned from its near end and from its middle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.base.drill_plan import PlateDrill
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.top_words import mark
from slabwright.sheets.words import Words

_LEFT, _RIGHT, _HEAD, _BELOW = 30.0, 30.0, 17.0, 22.0
_APART = 1.2
_SAME = 0.05


@dataclass(frozen=True)
class AlikePlates:
    """Plates that are drilled alike.

    Attributes:
        plate: the first of them, as drawn
        names: of all of them
        turned: those that are the same plate turned over about its length
    """

    plate: PlateDrill
    names: tuple[str, ...]
    turned: tuple[str, ...]


def plates_alike(plates: Sequence[PlateDrill]) -> tuple[AlikePlates, ...]:
    """Each distinct plate once; one that is another turned over about its length is not drawn again."""
    found: list[tuple[PlateDrill, list[str], list[str]]] = []
    for plate in plates:
        for first, names, turned in found:
            if _shape(first, 1.0) == _shape(plate, 1.0):
                names.append(plate.name)
                break
            if _shape(first, -1.0) == _shape(plate, 1.0):
                turned.append(plate.name)
                break
        else:
            found.append((plate, [plate.name], []))
    return tuple(AlikePlates(plate, (*names, *turned), tuple(turned)) for plate, names, turned in found)


def _shape(plate: PlateDrill, turn: float) -> tuple[object, ...]:
    def whole(value: float) -> int:
        return round(value / _SAME)

    holes = sorted((whole(turn * h.along), whole(h.across), whole(h.length), whole(h.width)) for h in plate.holes)
    openings = sorted((whole(turn * o.along), whole(o.across), whole(o.diameter)) for o in plate.openings)
    return (whole(plate.width), whole(plate.length), whole(plate.thickness), tuple(holes), tuple(openings))


def hole_letters(plate: PlateDrill) -> list[str]:
    """The number of each hole, then of each opening, row by row from the near end."""
    rims = [(h.across, h.along) for h in plate.holes] + [(o.across, o.along) for o in plate.openings]
    order = sorted(range(len(rims)), key=lambda k: (round(rims[k][0], 1), round(rims[k][1], 1)))
    found = [""] * len(rims)
    for number, k in enumerate(order, start=1):
        found[k] = str(number)
    return found


def plate_picture(plate: PlateDrill, width: float, high: float, words: Words) -> Picture:
    """A plate from above, its near end to the left and the table's left end up.

    Args:
        plate: what is drilled
        width: of the drawing [mm]
        high: its greatest height [mm]
        words: how figures are written
    """
    scale = min((width - _LEFT - _RIGHT) / plate.length, (high - _HEAD - _BELOW) / plate.width)
    long, deep = scale * plate.length, scale * plate.width
    picture = Picture(width, _HEAD + _BELOW + deep)
    left, top = (width - long) / 2, _HEAD
    middle_x, middle_y = left + long / 2, top + deep / 2

    def at(along: float, across: float) -> tuple[float, float]:
        return middle_x + scale * across, middle_y + scale * along

    picture.rectangle(left, top, long, deep, weight=THICK, fill="#E4E8EB")
    picture.line(left - 4.0, middle_y, left + long + 4.0, middle_y, weight=THIN, dash="5 1 1 1")
    picture.line(middle_x, top - 3.0, middle_x, top + deep + 3.0, weight=THIN, dash="5 1 1 1")
    names = hole_letters(plate)
    across: list[float] = []
    along: list[float] = []
    for hole, name in zip(plate.holes, names, strict=False):
        x, y = at(hole.along, hole.across)
        reach, radius = scale * (hole.length - hole.width) / 2, scale * hole.width / 2
        _slot(picture, x, y, reach, radius)
        _number(picture, x + reach + radius, y - radius, name, left + long)
        across.append(hole.across)
        along.append(hole.along)
    for opening, name in zip(plate.openings, names[len(plate.holes) :], strict=True):
        x, y = at(opening.along, opening.across)
        radius = scale * opening.diameter / 2
        picture.circle(x, y, radius, fill=PAPER, weight=THICK)
        picture.circle(x, y, max(radius - 0.8, 0.3), weight=THIN, dash="1 0.6")
        _number(picture, x + radius, y - radius, name, left + long)
        across.append(opening.across)
        along.append(opening.along)
    # From the near end above, from the middle below; along, from the middle, at the right.
    places = sorted({round(value, 2) for value in across})
    from_end = [(at(0.0, value)[0], mark(plate.length / 2 + value, words)) for value in places]
    from_end = [(left, "0"), *from_end, (left + long, mark(plate.length / 2 * 2, words))]
    _row(picture, from_end, top, -1.0)
    from_middle = [(at(0.0, value)[0], mark(value, words)) for value in places]
    _row(picture, [each for each in from_middle if abs(each[0] - middle_x) > 0.1] + [(middle_x, "0")], top + deep, 1.0)
    picture.text(0.0, 4.0, "from the near end", fill=SOFT)
    picture.text(0.0, top + deep + 14.0 + TEXT, "from the middle", fill=SOFT)
    ups = sorted({round(value, 2) for value in along} | {-plate.width / 2, plate.width / 2, 0.0})
    _column(picture, [(at(value, 0.0)[1], mark(value, words)) for value in ups], left + long)
    for x, anchor, said in ((left - 6.0, "end", "near end"), (left + long + 6.0 + 10.0, "start", "")):
        if said:
            picture.text(x, middle_y - 1.6, said, anchor=anchor, fill=SOFT)
    picture.text(left - 6.0, top + 3.0, "left end up", anchor="end", fill=SOFT)
    picture.text(width, picture.height - 1.4, f"1 : {1 / scale:.1f}", anchor="end", fill=SOFT)
    return picture


def _slot(picture: Picture, x: float, y: float, reach: float, radius: float) -> None:
    """Round ends, longest along the page."""
    data = (
        f"M{x - reach:.2f} {y - radius:.2f}H{x + reach:.2f}A{radius:.2f} {radius:.2f} 0 0 1 {x + reach:.2f} {y + radius:.2f}"
        f"H{x - reach:.2f}A{radius:.2f} {radius:.2f} 0 0 1 {x - reach:.2f} {y - radius:.2f}Z"
    )
    picture.path(data, weight=THICK, fill=PAPER)
    far = radius + 1.2
    picture.line(x - reach - far, y, x + reach + far, y, weight=THIN)
    picture.line(x, y - far, x, y + far, weight=THIN)


def _number(picture: Picture, x: float, y: float, name: str, edge: float) -> None:
    x, y = min(x + 2.4, edge - 2.8), y - 1.8
    picture.circle(x, y, 2.5, fill=PAPER, weight=MIDDLE, stroke=CHOSEN)
    picture.text(x, y + 0.33 * TEXT, name, anchor="middle", weight=700, fill=CHOSEN)


def _spread(wanted: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """Places near the wanted ones, in their order, that keep their sizes apart."""
    found: list[float] = []
    for place, size in zip(wanted, sizes, strict=True):
        least = found[-1] + (sizes[len(found) - 1] + size) / 2 + _APART if found else place
        found.append(max(place, least))
    # What was pushed on is let back half of the way, so that a group stands about its middle.
    for k in range(len(found) - 2, -1, -1):
        room = found[k + 1] - (sizes[k] + sizes[k + 1]) / 2 - _APART
        found[k] = min(room, max(wanted[k], found[k - 1] + (sizes[k - 1] + sizes[k]) / 2 + _APART if k else wanted[k]))
    return found


def _row(picture: Picture, items: Sequence[tuple[float, str]], edge: float, way: float) -> None:
    """Figures over or under an edge, each with a line to its place."""
    ordered = sorted(items)
    spread = _spread([x for x, _ in ordered], [text_width(said) for _, said in ordered])
    for (x, said), to in zip(ordered, spread, strict=True):
        picture.polyline([(x, edge + way * 0.6), (x, edge + way * 3.0), (to, edge + way * 6.0)], weight=THIN)
        y = edge + way * 7.0 + (TEXT * 0.75 if way > 0 else 0.0)
        picture.text(to, y, said, anchor="middle", halo=True)


def _column(picture: Picture, items: Sequence[tuple[float, str]], edge: float) -> None:
    """Figures beside the right edge."""
    ordered = sorted(items)
    spread = _spread([y for y, _ in ordered], [TEXT * 0.9 for _ in ordered])
    for (y, said), to in zip(ordered, spread, strict=True):
        picture.polyline([(edge + 0.6, y), (edge + 3.0, y), (edge + 6.0, to)], weight=THIN, stroke=INK)
        picture.text(edge + 7.0, to + 0.35 * TEXT, said, halo=True)
