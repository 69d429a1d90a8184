"""Words on a drawing that keep clear of each other and of what is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from slabwright.sheets.picture import TEXT, THIN, Picture, text_width

Box = tuple[float, float, float, float]
"""x0, y0, x1, y1 on the page [mm]."""
_BOLD = 1.12
"""Bold letters are wider than the usual ones by so much."""
_TICK = 2.0


@dataclass(frozen=True)
class Spot:
    """A place where some words may stand.

    Attributes:
        x: of their anchor [mm]
        y: of their foot [mm]
        anchor: start, middle or end
        size: of the letters [mm]
    """

    x: float
    y: float
    anchor: str = "start"
    size: float = TEXT


@dataclass
class Labels:
    """What is taken of a drawing, and the words put on it since.

    Attributes:
        drawing: where to
        within: x0, y0, x1, y1 that words stay in [mm]
        taken: boxes that they keep clear of
    """

    drawing: Picture
    within: Box
    taken: list[Box] = field(default_factory=list)

    def take(self, *boxes: Box) -> None:
        """Keep words clear of these."""
        self.taken.extend(boxes)

    def put(self, said: str, spots: Sequence[Spot], weight: int = 600) -> Spot:
        """Write words at the first spot that is free; where none is, at the one that touches least.

        Args:
            said: the words
            spots: best first
            weight: of the letters
        """
        chosen = min(spots, key=lambda spot: self._touched(_box(said, spot)))
        self.take(_box(said, chosen))
        self.drawing.text(
            chosen.x, chosen.y, said, size=chosen.size, anchor=chosen.anchor, weight=weight, halo=True
        )  # fmt: skip
        return chosen

    def _touched(self, box: Box) -> float:
        """How much of a box is taken, or lies outside [mm2]."""
        x0, y0, x1, y1 = self.within
        inside = _shared(box, self.within)
        outside = (box[2] - box[0]) * (box[3] - box[1]) - inside
        return outside + sum(_shared(box, other) for other in self.taken) if x1 > x0 and y1 > y0 else outside


def _box(said: str, spot: Spot) -> Box:
    wide = _BOLD * text_width(said, spot.size)
    left = spot.x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[spot.anchor]
    return left - 0.4, spot.y - 0.78 * spot.size, left + wide + 0.4, spot.y + 0.24 * spot.size


def _shared(one: Box, other: Box) -> float:
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    return wide * high if wide > 0.0 and high > 0.0 else 0.0


def middles(box: Box, said: str, sizes: Iterable[float]) -> list[Spot]:
    """Spots for words inside a box: from its middle outwards, great letters before small ones.

    Args:
        box: they stand in [mm]
        said: the words
        sizes: falling [mm]
    """
    x0, y0, x1, y1 = box
    found = []
    for size in sizes:
        half = _BOLD * text_width(said, size) / 2.0 + 1.0
        shares = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
        places = [
            Spot(x0 + half + (x1 - x0 - 2.0 * half) * along, y0 + (y1 - y0) * down + 0.27 * size, "middle", size)
            for along in shares
            for down in shares[:7]
            if x1 - x0 > 2.0 * half and y1 - y0 > 1.4 * size
        ]
        found += sorted(places, key=lambda spot: abs(spot.x - (x0 + x1) / 2.0) + abs(spot.y - (y0 + y1) / 2.0))
    return found or [Spot((x0 + x1) / 2.0, (y0 + y1) / 2.0, "middle")]


def span(labels: Labels, x1: float, x2: float, y: float, said: str) -> None:
    """A horizontal dimension; where its words do not stand between its ticks, they stand beside it.

    Args:
        labels: of the drawing
        x1: one end [mm]
        x2: the other [mm]
        y: of its line [mm]
        said: its words
    """
    drawing = labels.drawing
    left, right = min(x1, x2), max(x1, x2)
    drawing.line(left, y, right, y, weight=THIN)
    for x in (left, right):
        drawing.line(x - 0.9, y + 0.9, x + 0.9, y - 0.9)
    labels.take((left - 1.0, y - 0.5, right + 1.0, y + 0.5))
    if text_width(said) + 2.0 * _TICK <= right - left:
        labels.put(said, [Spot((left + right) / 2.0, y - 1.4, "middle")], weight=400)
    else:
        labels.put(said, [Spot(left - _TICK, y + 1.2, "end"), Spot(right + _TICK, y + 1.2)], weight=400)
