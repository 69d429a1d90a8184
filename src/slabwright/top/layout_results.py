"""Results of the layout: where each feature sits in the finished top, and how much wood stays beside and under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE
from slabwright.job.top_models import Top

_STATED = ("job:top.features",)
_DEEP = ("job:top.features", "board.thickness")


@dataclass(frozen=True)
class Solid:
    """Wood that is taken out, upright between two depths: a core in plan, grown all round by a radius.

    Attributes:
        core: a point (round hole), a line (channel) or a polygon, in the top's frame [mm]
        radius: by which the core is grown [mm]
        upper: depth of its upper end below the show face [mm]
        lower: depth of its lower end below the show face [mm]
    """

    core: BaseGeometry
    radius: float
    upper: float
    lower: float

    def shape(self) -> BaseGeometry:
        """Its shape in plan; rounds are drawn within 0.1 % of their radius."""
        return self.core.buffer(self.radius, quad_segs=18) if self.radius else self.core


@dataclass(frozen=True)
class TopFeature:
    """One feature, placed: plan from the left end and the centre line, depths from the faces of the finished top."""

    name: str = figure("", "as the drawing calls it", rests_on=_STATED)
    kind: str = figure("", "what it is", rests_on=_STATED)
    face: str = figure("", "the face that it is cut into", rests_on=_STATED)
    along: float | None = figure(
        "mm",
        "of its middle from the left end; empty where it has none",
        how="the stated distance added to the end, the middle or the feature that it is dimensioned from",
        rests_on=(*_STATED, "job:piece.length"),
        change="its along, along_from, or that of the feature it is dimensioned from",
    )
    across: float | None = figure(
        "mm",
        "of its middle from the centre line, towards the far edge positive; empty where it has none",
        how="the stated distance added to the centre line, the edge where it is, or the feature that it is dimensioned from",
        rests_on=(*_STATED, "top.placement.y"),
        change="its across, across_from, or that of the feature it is dimensioned from",
    )
    length: float | None = figure("mm", "over all along the grain, as cut; empty for worked edges", rests_on=_STATED)
    width: float | None = figure("mm", "over all across the grain, as cut; empty for worked edges", rests_on=_STATED)
    depth: float = figure(
        "mm",
        "of its deepest place below its own face",
        how="as stated; a hole in a pocket goes from the pocket's floor; a through hole goes through",
        rests_on=_DEEP,
        change="its depth, or that of the pocket it lies in",
    )
    upper: float = figure("mm", "depth of its upper end below the show face", rests_on=_DEEP)
    lower: float = figure("mm", "depth of its lower end below the show face", rests_on=_DEEP)
    wood_left: float | None = figure(
        "mm",
        "wood between its floor and the other face; empty where it goes through",
        how="final thickness - depth",
        rests_on=_DEEP,
        sure="as sure as the board's thickness",
        change="a shallower cut, or a thicker top",
    )
    wood_asked: float | None = figure(
        "mm",
        "wood that is asked for there",
        how="pocket: the greater of two thirds of the thickness and 25 mm; channel, key, let-in steel 15 mm; recess 10 mm; "
        "insert or drill point 8 mm; as long as the job states no others",
        rests_on=("job:top.clearances", "board.thickness"),
        source=COMMON_PRACTICE,
        change="[top.clearances]",
    )
    lies_in: str | None = figure("", "the pocket or groove of the same face that it lies in", rests_on=_STATED)
    solids: tuple[Solid, ...] = working(())

    def shape(self) -> BaseGeometry:
        """The feature's whole shape in plan, in the top's frame."""
        import shapely

        return shapely.union_all([solid.shape() for solid in self.solids])


@dataclass(frozen=True)
class Layout:
    """Every feature of the top, placed."""

    features: tuple[TopFeature, ...] = figure("", "the features", rests_on=_DEEP)
    length: float = figure("mm", "of the finished top, end to end", rests_on=("job:piece.length",))
    width: float = figure("mm", "of the finished top, at its widest", rests_on=("job:piece.width", "top.placement.y"))
    thickness: float = figure("mm", "that depths were worked out with", rests_on=("board.thickness",))
    outline: Polygon = working(None)
    top: Top = working(None)
    openings: Mapping[str, tuple[float, float, float]] = working(None)
    meant: frozenset[tuple[str, str]] = working(frozenset())
    """Pairs of features that are cut into each other on purpose, each pair in both orders."""

    def named(self, name: str) -> TopFeature:
        """The feature of that name."""
        return next(feature for feature in self.features if feature.name == name)


@dataclass(frozen=True)
class Clearance:
    """One distance that has a rule."""

    rule: str = figure(
        "",
        "what is measured: between two features, edge of the top, wood under the floor, worked edge, nut, kept clear, bolt's "
        "end, bend or size of the cable, hole under its plate",
    )
    first: str = figure("", "the feature")
    second: str | None = figure("", "the other feature or place, where there is one")
    distance: float = figure(
        "mm",
        "as laid out; nothing or less: they are cut into each other, or it reaches out",
        how="least distance in space between what is cut out, measured on the exact shapes",
        rests_on=("top.features", "board.thickness"),
        sure="on paper; what is cut differs by the error of placing",
        change="move one of them, or make it smaller or shallower",
    )
    least: float = figure("mm", "that is asked for", rests_on=("job:top.clearances",), source=COMMON_PRACTICE)
    holds: bool = figure("", "whether the distance is at least that")
    source: str = figure("", "whose rule it is")
