"""Places at the top, and what of the piece matters to those who sit at it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.base.base_results import BaseStructure
from slabwright.job.base_models import BaseFeet
from slabwright.job.brief_models import Brief
from slabwright.job.loaded import Job
from slabwright.reference.seating import seating

_LYING = 0.34
"""A member that rises by less than this over its length is a rail; a steeper one is a leg."""


@dataclass(frozen=True)
class Piece:
    """What of the piece matters to those who sit at it [mm]; None: not known yet.

    Attributes:
        length: of the top
        width: of the top
        height: of the top above the floor
        thickness: of the top, thickest likely
        between: clear along the top, between the legs; None: no base
        spread: middle to middle of the legs, along
        hangs: by which rails and plates hang below the top's underside, over the places where people sit; None: no base
        low_rail: whether a rail runs along where feet are
        travel: of the feet, screwed out
        levellers: whether the feet can be screwed
    """

    length: float | None
    width: float | None
    height: float | None
    thickness: float | None
    between: float | None = None
    spread: float | None = None
    hangs: float | None = None
    low_rail: bool = False
    travel: float = 0.0
    levellers: bool = False

    @property
    def underside(self) -> float | None:
        """Of the top, above the floor [mm]."""
        return None if self.height is None or self.thickness is None else self.height - self.thickness


@dataclass(frozen=True)
class Places:
    """Places along a top."""

    each: float = figure("mm", "width of one place", source="seating.toml", rests_on=("job:brief.chair_width",))
    on_a_side: int = figure(
        "1",
        "places along one long edge",
        how="whole places in the clear length between the legs, and one beyond each leg where the top reaches that far",
        rests_on=("job:piece.length", "job:base.spread"),
    )
    at_ends: int = figure("1", "places at both ends together", how="one each where the end is wide enough")
    seats: int = figure(
        "1", "people that find a place", how="both long edges, where the top is wide enough for two, and ends"
    )


def piece_of(job: Job, thickness: float | None, base: BaseStructure | None, width: float | None = None) -> Piece:
    """What of the piece matters to those who sit at it.

    Args:
        job: what is stated
        thickness: of the board as it is known today, thickest likely [mm]; None: as the base carries it, or as stated
        base: as a structure; None: not planned
        width: of the top, where none is stated [mm]; None: not known
    """
    stated = job.stated
    piece = stated.piece
    wide = piece.width if piece.width is not None else width
    thick = thickness
    if thick is None and base is not None:
        thick = base.structure.top.thickness[2]
    elif thick is None and piece.thickness != "max":
        thick = piece.thickness
    feet = stated.base.feet if stated.base is not None else BaseFeet()
    screwed, levellers = feet.travel()[1], feet.kind == "levellers"
    if base is None or piece.height is None:
        return Piece(piece.length, wide, piece.height, thick, travel=screwed, levellers=levellers)
    drawn = base.drawn
    legs, low, hangs = [], False, 0.0
    for member in drawn.members:
        if member.part != "frame":
            continue
        first, last = drawn.nodes[member.first], drawn.nodes[member.last]
        size = max(member.section.depth, member.section.width)
        long = math.dist(first, last)
        rises = abs(last[2] - first[2]) / long if long else 0.0
        middle = (first[2] + last[2]) / 2.0
        if rises > _LYING:
            legs += [(first[0], size), (last[0], size)]
        elif abs(last[0] - first[0]) > abs(last[1] - first[1]):
            # A rail along the top: high ones are over knees, low ones where feet are.
            if middle > piece.height / 2.0:
                hangs = max(hangs, drawn.underside - middle + member.section.depth / 2.0)
            else:
                low = True
    between = spread = None
    if legs:
        left, right = [x + s / 2 for x, s in legs if x < 0.0], [x - s / 2 for x, s in legs if x > 0.0]
        if left and right:
            between = min(right) - max(left)
            spread = min(x for x, _ in legs if x > 0.0) - max(x for x, _ in legs if x < 0.0)
    return Piece(
        length=piece.length,
        width=wide,
        height=piece.height,
        thickness=thick,
        between=between,
        spread=spread,
        hangs=hangs,
        low_rail=low,
        travel=screwed,
        levellers=levellers,
    )


def places(brief: Brief, piece: Piece) -> Places | None:
    """Places at the top; None before its length is known.

    Args:
        brief: chairs, and whether somebody sits at the ends
        piece: what of it is known
    """
    if piece.length is None:
        return None
    table = seating()
    least = table["place"]["least"]
    if brief.chair_arms is not None:
        least = max(least, table["armchair"]["least"])
    each = max(least, brief.chair_width or 0.0)
    if piece.between is None:
        side = _whole(piece.length / each)
    else:
        beyond = (piece.length - piece.between) / 2.0
        side = _whole(piece.between / each) + 2 * (1 if beyond >= each else 0)
        # Without a leg in the way of knees a place may straddle it: never more than the edge has room for.
        side = min(side, _whole(piece.length / each))
    width = piece.width
    sides = 2 if width is None or width >= table["across"]["narrow"] else 1
    wide = width is not None and width >= table["end"]["least"]
    ends = 2 if (brief.at_ends if brief.at_ends is not None else wide) and (width is None or width >= each) else 0
    return Places(each=each, on_a_side=side, at_ends=ends, seats=sides * side + ends)


def _whole(count: float) -> int:
    return math.floor(count + 1e-9)
