"""Drawing the top on a page: text on end, running dimensions, tags that stand clear of each other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple
from xml.sax.saxutils import escape, quoteattr

from slabwright.sheets.colours import INK, PAPER, SOFT
from slabwright.sheets.fonts import FAMILY
from slabwright.sheets.machine_drawings import spread
from slabwright.sheets.picture import TEXT, THIN, Picture, text_width

PITCH = 1.12 * TEXT
"""Between two dimensions of a row [mm]."""
_LEAD = 4.0


class Ordinate(NamedTuple):
    """One running dimension.

    Attributes:
        at: its place on the page, along the row [mm]
        said: its figure
        start: where its line begins on the drawing, the other way [mm]
    """

    at: float
    said: str
    start: float


Box = tuple[float, float, float, float]


class TopPicture(Picture):
    """A drawing with text on end and running dimensions."""

    def on_end(self, x: float, y: float, text: str, *, fill: str = INK) -> None:
        """One line of text that reads from the right; it ends at (x, y), the middle of its last letter's right side."""
        self._parts.append(
            f'<text transform="translate({x + 0.35 * TEXT:.2f} {y:.2f}) rotate(-90)" font-family={quoteattr(FAMILY)} '
            f'font-size="{TEXT:.4g}" text-anchor="end" fill="{fill}">{escape(text)}</text>'
        )

    def below(self, dimensions: Sequence[Ordinate], foot: float, low: float, high: float) -> int:
        """Running dimensions below a drawing, their figures on end.

        Args:
            dimensions: what is dimensioned
            foot: where the drawing ends [mm]
            low: least place of a figure [mm]
            high: greatest [mm]

        Returns:
            How many did not fit.
        """
        shown = _as_many(sorted(dimensions), int((high - low) / PITCH) + 1)
        places = spread([each.at for each in shown], PITCH, low, high)
        for each, place in zip(shown, places, strict=True):
            self.line(each.at, each.start, each.at, foot, stroke=SOFT, weight=THIN)
            self.line(each.at, foot, place, foot + _LEAD, stroke=SOFT, weight=THIN)
            self.on_end(place, foot + _LEAD + 0.8, each.said)
        return len(dimensions) - len(shown)

    def beside(self, dimensions: Sequence[Ordinate], side: float, low: float, high: float, right: bool = False) -> int:
        """Running dimensions left (or right) of a drawing; see `below`."""
        shown = _as_many(sorted(dimensions), int((high - low) / PITCH) + 1)
        places = spread([each.at for each in shown], PITCH, low, high)
        way = 1.0 if right else -1.0
        for each, place in zip(shown, places, strict=True):
            self.line(each.start, each.at, side, each.at, stroke=SOFT, weight=THIN)
            self.line(side, each.at, side + way * _LEAD, place, stroke=SOFT, weight=THIN)
            anchor = "start" if right else "end"
            self.text(side + way * (_LEAD + 0.8), place + 0.35 * TEXT, each.said, anchor=anchor)
        return len(dimensions) - len(shown)

    def tag(self, place: tuple[float, float], number: int) -> None:
        """A feature's number in a ring; the place is its middle."""
        wide = max(5.0, text_width(str(number)) + 2.0)
        self.rectangle(place[0] - wide / 2, place[1] - 2.4, wide, 4.8, fill=PAPER, weight=0.25)
        self.text(place[0], place[1] + 0.35 * TEXT, str(number), anchor="middle", weight=700)


def _as_many(dimensions: Sequence[Ordinate], most: int) -> list[Ordinate]:
    """As many as there is room for, evenly out of all."""
    if len(dimensions) <= most:
        return list(dimensions)
    step = (len(dimensions) - 1) / max(most - 1, 1)
    return [dimensions[round(k * step)] for k in range(most)]


def free_place(box: Box, wide: float, high: float, taken: Sequence[Box], within: Box) -> tuple[float, float] | None:
    """Where something of a size stands next to a box, clear of what is taken; None where there is no room.

    Args:
        box: x0, y0, x1, y1 of what it belongs to [mm]
        wide: of it [mm]
        high: of it [mm]
        taken: boxes that it keeps clear of
        within: that it stays in

    Returns:
        Its middle.
    """
    x0, y0, x1, y1 = box
    middle_x, middle_y = (x0 + x1) / 2, (y0 + y1) / 2
    gap = 0.8
    across, along = gap + wide / 2, gap + high / 2
    places = [
        (x1 + across, middle_y),
        (x0 - across, middle_y),
        (middle_x, y0 - along),
        (middle_x, y1 + along),
        (x1 + across, y0 - along),
        (x1 + across, y1 + along),
        (x0 - across, y0 - along),
        (x0 - across, y1 + along),
        (x1 + across + 5.0, middle_y),
        (x0 - across - 5.0, middle_y),
        (middle_x, middle_y),
    ]
    for x, y in places:
        mine = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
        if mine[0] < within[0] or mine[1] < within[1] or mine[2] > within[2] or mine[3] > within[3]:
            continue
        if not any(touch(mine, other) for other in taken):
            return x, y
    return None


def touch(one: Box, other: Box) -> bool:
    """Whether two boxes share a place."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
