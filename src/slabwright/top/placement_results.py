"""What placing the piece comes to."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from slabwright.accounts import figure, working
from slabwright.geometry.faces import FaceName
from slabwright.geometry.planes import PlanePair
from slabwright.top.rough_cuts import CentreLine, RoughCut

_SEARCH = (
    "job:slab.survey",
    "job:slab.outline",
    "job:slab.end_trim",
    "job:slab.edge_margin",
    "job:piece.length",
    "job:piece.width",
    "job:top.turn_most",
    "job:top.defect_cost",
    "job:slab.defects",
)
_PROOF = "proven where `proven` is true: all other shifts and turns were ruled out in groups, none looked at by sample"


@dataclass(frozen=True)
class RunnerUp:
    """Another placement to choose from, apart from the best one and from the others."""

    x: float = figure("mm", "of the piece's centre, along", rests_on=_SEARCH)
    y: float = figure("mm", "of the piece's centre, across", rests_on=_SEARCH)
    turn: float = figure(
        "deg", "of the piece against the x axis; positive: it rises towards greater y", rests_on=_SEARCH
    )
    thickness: float = figure(
        "mm",
        "promised of that placement",
        how="as the thickness of the chosen placement",
        rests_on=("top.placement.thickness",),
        rounds="down",
    )
    cost: float = figure("mm", "what defects and sapwood in it count as", rests_on=("top.placement.cost",))


@dataclass(frozen=True)
class FaceUp:
    """The best placement with one face shown."""

    face: FaceName = figure("", "the face that is shown")
    x: float = figure("mm", "of the piece's centre, along", rests_on=_SEARCH)
    y: float = figure("mm", "of the piece's centre, across", rests_on=_SEARCH)
    turn: float = figure("deg", "of the piece against the x axis", rests_on=_SEARCH)
    thickness: float = figure(
        "mm", "promised of that placement", how="as for the chosen face", rests_on=_SEARCH, rounds="down"
    )
    cost: float = figure(
        "mm", "what defects and sapwood on that face count as", how="as for the chosen face", rests_on=_SEARCH
    )
    bound: float = figure(
        "mm",
        "no placement with that face shown is worth more than this thickness, its cost put against this one's",
        how="as for the chosen face",
        rests_on=_SEARCH,
        rounds="up",
    )
    proven: bool = figure("", "whether the search ended before its time did", rests_on=_SEARCH)


@dataclass(frozen=True)
class Placement:
    """Where the finished piece lies in the slab, in the frame of the readings (face A up)."""

    x: float = figure(
        "mm",
        "of the piece's centre, along the grain, in the frame of the readings",
        how="of all shifts and turns on the ground, the one of the greatest promised thickness less what defects and sapwood "
        "count as",
        rests_on=_SEARCH,
        sure=_PROOF,
        change="shorter or narrower, a larger [top] turn_most, or a runner-up",
    )
    y: float = figure(
        "mm",
        "of the piece's centre, across the grain; with both long edges live the place on the centre line",
        how="as x",
        rests_on=_SEARCH,
        sure=_PROOF,
        change="as x",
    )
    turn: float = figure(
        "deg",
        "of the piece against the x axis of the readings; positive: it rises towards greater y",
        how="as x",
        rests_on=_SEARCH,
        sure=_PROOF,
        change="[top] turn_most",
    )
    face_up: FaceName = figure(
        "",
        "the face that is shown",
        how="as the job states; else the face whose best placement is worth more",
        rests_on=("job:slab.show_face", "top.placement.faces"),
    )
    length: float = figure("mm", "of the finished piece", rests_on=("job:piece.length",))
    width: float | None = figure(
        "mm", "of the finished piece; empty where both long edges stay live", rests_on=("job:piece.width",)
    )
    thickness: float = figure(
        "mm",
        "promised of this placement, 19 times in 20",
        how="widest strip between the faces inside the piece, each reading and each place between readings lowered by the same "
        "number of its own spreads; that number is such that at this placement it comes to what 19 of 20 drawn boards keep",
        rests_on=_SEARCH,
        sure="top.placement.bound",
        change="another placement gives at most top.placement.bound",
        rounds="down",
    )
    bound: float = figure(
        "mm",
        "no placement is worth more than this thickness, its defects and sapwood put against this one's",
        how="placements taken in groups: the strip of the places that all of a group share, less what is spoilt in all of them; "
        "the greatest over all groups that were not ruled out",
        rests_on=_SEARCH,
        sure="proven: fewer places can only give a thicker piece",
        rounds="up",
    )
    gap: float = figure(
        "mm",
        "how much more another placement may be worth at the most",
        how="the most that any placement could give, less this thickness",
        rests_on=("top.placement.bound", "top.placement.thickness"),
        change="more time for the search",
    )
    proven: bool = figure("", "whether the search ended before its time did", rests_on=("top.placement.gap",))
    thickness_read: float = figure(
        "mm",
        "thickest flat piece of the readings alone at this placement",
        how="widest strip between the readings inside the piece",
        rests_on=_SEARCH,
        sure="as the readings; between them wood is lower and higher",
    )
    thickness_drawn: float = figure(
        "mm",
        "what 19 of 20 drawn boards keep of this placement, at the tilt of its readings",
        how="draws of what lies between the readings inside the piece; the same as thickness_read where nothing is hidden",
        rests_on=_SEARCH,
        sure="19 times in 20; within 0.01 mm of the thickness where the search ended in time",
        change="more readings",
    )
    cost: float = figure(
        "mm",
        "what defects and sapwood in it count as",
        how="area of them on the show face inside the piece, times the cost of a square decimetre",
        rests_on=("job:top.defect_cost", "job:slab.defects"),
        sure="as the outlines of the defects",
        change="[top] defect_cost; a placement that leaves them out",
    )
    corners: tuple[tuple[float, float], ...] = figure(
        "mm",
        "x and y of its corners: left near, right near, right far, left far; with live edges where the cuts meet them",
        how="from x, y, turn, length and width",
        rests_on=("top.placement.x", "top.placement.y", "top.placement.turn"),
    )
    runners_up: tuple[RunnerUp, ...] = figure(
        "",
        "other placements to choose from",
        how="the best that lie more than a twentieth of the length, or more than a degree, from this one and from each other",
        rests_on=_SEARCH,
        sure="each is worked out in full; that no better one lies near it is not proven",
    )
    faces: tuple[FaceUp, ...] = figure("", "face A up against face B up", rests_on=_SEARCH)
    centre_line: CentreLine = figure("", "the middle line of the long edges")
    off_centre_line: float = figure(
        "deg",
        "turn of the piece against the centre line",
        how="turn less the centre line's angle",
        rests_on=("top.placement.turn", "top.placement.centre_line.angle"),
    )
    rough_cuts: tuple[RoughCut, ...] = figure("", "first crosscuts, square to the centre line")
    looked_at: int = figure(
        "1", "groups of placements that were compared", how="counted", sure="exact", rests_on=("top.placement.bound",)
    )
    planes: PlanePair = working()
    """Of `thickness_read`."""
    area_a: BaseGeometry = working()
    """What the piece has of face A."""
    area_b: BaseGeometry = working()
    """What the piece has of face B."""


@dataclass(frozen=True)
class NoRoom:
    """The piece does not go into the outlines of both faces."""

    length: float = figure("mm", "asked for", rests_on=("job:piece.length",))
    width: float | None = figure(
        "mm", "asked for; empty where both long edges stay live", rests_on=("job:piece.width",)
    )
    longest: float | None = figure(
        "mm",
        "length that goes in at that width, in whole mm; empty where none was found",
        how="tried at thirteen turns, column by column, and checked against the outlines",
        rests_on=("job:slab.outline", "job:slab.end_trim", "job:top.turn_most"),
        sure="it goes in; a slightly longer one may",
    )
    widest: float | None = figure(
        "mm",
        "width that goes in at that length, in whole mm; empty where none was found, or with live edges",
        how="tried at thirteen turns, column by column, and checked against the outlines",
        rests_on=("job:slab.outline", "job:slab.end_trim", "job:top.turn_most"),
        sure="it goes in; a slightly wider one may",
    )
