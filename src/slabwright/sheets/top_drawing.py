"""What the drawing of one face of the top shows, before it is drawn on a page or in a file: features, tags, dimensions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from slabwright.job.top_models import Channel, Edge, Feature
from slabwright.sheets.context import Context
from slabwright.sheets.top_words import FACE_WORDS, Side, numbers, of_face, stated
from slabwright.top.layout_results import TopFeature
from slabwright.top.results import TopPlan

_SAME = 0.05
"""Places this near to each other have one dimension [mm]."""


@dataclass(frozen=True)
class Seen:
    """A feature as it is seen on one face.

    Attributes:
        number: on the drawings
        feature: as placed
        asked: as stated
        shapes: what is cut into this face, in the top's frame; of an outlet seen from the show face only its hole
        own: whether it is cut into this face; else it comes out here
    """

    number: int
    feature: TopFeature
    asked: Feature
    shapes: tuple[BaseGeometry, ...]
    own: bool

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """The least rectangle round it [mm]."""
        x0, y0, x1, y1 = shapely.union_all(list(self.shapes)).bounds
        return float(x0), float(y0), float(x1), float(y1)


@dataclass(frozen=True)
class Dimension:
    """A place that is dimensioned: from the left end along, or from the centre line across.

    Attributes:
        value: the place [mm]
        others: places the other way at which it stands on a feature, rising [mm]
    """

    value: float
    others: tuple[float, ...]


@dataclass(frozen=True)
class FaceDrawing:
    """The drawing of one face.

    Attributes:
        side: which face
        features: what is seen on it that has a shape
        edges: worked edges of it
        along: dimensions from the left end
        across: dimensions from the centre line, towards the far edge positive
    """

    side: Side
    features: tuple[Seen, ...]
    edges: tuple[Edge, ...]
    along: tuple[Dimension, ...]
    across: tuple[Dimension, ...]

    @property
    def turned(self) -> bool:
        """Whether the top was turned over about its length: the near edge is uppermost."""
        return self.side == "underside"

    @property
    def title(self) -> str:
        """Of its sheet."""
        return f"Top, {FACE_WORDS[self.side]}"


def face_drawing(context: Context, plan: TopPlan, side: Side) -> FaceDrawing:
    """What is seen on one face, with the dimensions that mark it out.

    Pockets, let-in steel: both ends and both sides of what is cut. Holes, keys: the middle. Channels: the corners of the path.
    """
    number, asked = numbers(plan), stated(context)
    seen = []
    for feature in of_face(plan, side):
        if not feature.solids:
            continue
        own = feature.face == side
        solids = feature.solids if own else feature.solids[:1]
        seen.append(
            Seen(number[feature.name], feature, asked[feature.name], tuple(solid.shape() for solid in solids), own)
        )
    edges = tuple(each for each in asked.values() if isinstance(each, Edge) and each.face == side)
    places = [place for each in seen for place in _places(each)]
    return FaceDrawing(
        side,
        tuple(seen),
        edges,
        _gathered([(x, y) for x, y in places]),
        _gathered([(y, x) for x, y in places]),
    )


def _places(seen: Seen) -> list[tuple[float, float]]:
    if isinstance(seen.asked, Channel):
        return [(float(x), float(y)) for x, y in seen.asked.path]
    if seen.feature.kind in ("pocket", "bar"):
        x0, y0, x1, y1 = seen.bounds
        return [(x0, y0), (x1, y1), (x0, y1), (x1, y0)]
    assert seen.feature.along is not None and seen.feature.across is not None
    return [(seen.feature.along, seen.feature.across)]


def _gathered(places: Sequence[tuple[float, float]]) -> tuple[Dimension, ...]:
    found: list[tuple[float, list[float]]] = []
    for value, other in sorted(places):
        if found and value - found[-1][0] <= _SAME:
            found[-1][1].append(other)
        else:
            found.append((value, [other]))
    return tuple(Dimension(value, tuple(sorted(others))) for value, others in found)
