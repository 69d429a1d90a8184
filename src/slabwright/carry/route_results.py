"""Results of the way in: each passage, how the piece goes through it, and what is left."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE
from slabwright.geometry.bands import Region, Shape

_STEPS = ("job:delivery.steps", "job:delivery.hand_room", "job:delivery.padding")
_HOW = (
    "how far every side of it could stand farther out and still go, on the roomiest way, less hand room and padding;"
    " straight ways and corners in closed form, others by a search in place and turn that is proved between its poses, and told"
    " no further than comfortable room"
)
_SURE = "on the safe side: what is told as room is proved; a way that leaves under 3 mm on each side may be missed"


@dataclass(frozen=True)
class Pose:
    """Where its middle is, and how it is turned."""

    x: float = figure("mm", "across the way: from its low wall; in a section: up from the floor")
    y: float = figure("mm", "along the way, from where the passage begins")
    turn: float = figure("deg", "turned in the drawing's plane")
    tilt: float = figure("deg", "leaned, out of level")


@dataclass(frozen=True)
class Way:
    """How one part goes through a passage, or through its flight or its landing."""

    part: str = figure("", "what is carried")
    place: str = figure("", "of stairs: flight or landing")
    attitude: str = figure("", "flat, on its long edge, on its end, or tilted", source=COMMON_PRACTICE)
    margin: float = figure("mm", "left on each side beyond hands and padding", how=_HOW, rests_on=_STEPS, sure=_SURE)
    tightest: str = figure("", "what leaves least: width, height, length or turn")
    view: str = figure("", "in which it is drawn: plan or section")
    length: float = figure("mm", "of it in that view, untilted: the first of its two sizes")
    width: float = figure("mm", "of it in that view: the second")
    poses: tuple[Pose, ...] = figure("", "its way, pose by pose")
    shape: Shape = working()
    region: Region = working()
    most: float | None = figure(
        "mm",
        "left on each side by the roomiest way that was worked out, where that is another: harder to carry",
        how=_HOW,
        rests_on=_STEPS,
        sure=_SURE,
        default=None,
    )
    most_attitude: str = figure("", "how it is held on that way", default="")
    or_more: bool = figure(
        "",
        "whether there may be more room than is told",
        how="a way that is turned or leaned is measured no further than comfortable room",
        default=False,
    )

    @property
    def roomiest(self) -> float:
        """Left on each side by the roomiest way that was worked out [mm]."""
        return self.margin if self.most is None else self.most

    @property
    def held(self) -> str:
        """How it is held on the roomiest way."""
        return self.attitude if self.most is None else self.most_attitude


@dataclass(frozen=True)
class Passage:
    """One step of the way in."""

    name: str = figure("", "as the job calls it", rests_on=("job:delivery.steps",))
    kind: str = figure("", "van, door, corner, stairs or lift", rests_on=("job:delivery.steps",))
    margin: float = figure(
        "mm",
        "left by the roomiest way, least over all that is carried through",
        how=_HOW,
        rests_on=_STEPS,
        sure=_SURE,
        change="see `helps`",
    )
    ways: tuple[Way, ...] = figure("", "how each part goes through")
    helps: tuple[str, ...] = figure("", "what would help, tried in the model", how="each was worked out anew")

    @property
    def tight(self) -> Way:
        """The way that decides."""
        return min(self.ways, key=lambda way: way.roomiest)

    @property
    def or_more(self) -> bool:
        """Whether there may be more room than is told."""
        return self.tight.or_more


@dataclass(frozen=True)
class WayIn:
    """The delivery route."""

    margin: float | None = figure(
        "mm",
        "least over the passages, on each side, beyond hands and padding; empty where no step is stated",
        how=_HOW,
        rests_on=(*_STEPS, "job:piece.length", "job:piece.width", "job:piece.height"),
        sure=_SURE,
        source="corner: the ladder problem, with a width; stairs and doors: geometry",
        change="take it apart (`delivery.apart`), less hand room, or another way in",
    )
    carried: str = figure("", "whole, or what comes off for the way")
    tightest: str = figure("", "the passage that leaves least")
    stops_whole: tuple[str, ...] = figure("", "passages that the whole piece does not go through")
    passages: tuple[Passage, ...] = figure("", "the way in, step by step")

    @property
    def or_more(self) -> bool:
        """Whether there may be more room than is told."""
        return bool(self.passages) and min(self.passages, key=lambda passage: passage.margin).or_more
