"""What is stated once the slab is at work: what stands on the bed, what was found after a cut, readings again, what came out."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from slabwright.geometry.faces import FaceName
from slabwright.job.fields import NotNegative, Point, Positive, Stated, Whole, Words


class Clamp(Stated):
    """`[[clamps]]`: a clamp, stop or wedge on the bed; the cutter keeps clear of it."""

    name: str = Field("", description="as it is called on the sheets; left out: its kind and number")
    kind: Literal["clamp", "stop", "wedge"] = Field("clamp", description="what it is")
    at: Point = Field(description="x, y of its lower left corner, from the bed's near left corner")
    size: tuple[Positive, Positive] = Field(description="its size along and across the bed")
    height: Positive = Field(description="of its top above the bed")
    face: Literal["A", "B", "both"] = Field("both", description="the face that is up when it stands there")
    setting: Whole | None = Field(
        None, ge=1, le=2, description="of a slab longer than the travel: 1 or 2; left out: both"
    )


class Check(Stated):
    """`[[checks]]`: what was found while working, after a face was cut."""

    face: FaceName = Field(description="the face that was cut")
    after: Literal["rough", "skim"] = Field("skim", description="after which cut")
    kind: Literal["straightedge", "winding sticks", "thickness"] = Field(description="what was used")
    value: NotNegative = Field(
        description="largest gap under the straightedge, wind over the length, or thickness at the place"
    )
    at: Point | None = Field(None, description="x, y of the place, in the slab's frame")
    date: Words = Field("", description="when it was checked")


class Rereading(Stated):
    """`[[rereadings]]`: the slab read again after a rest; the same job goes on from it."""

    survey: str = Field(description="readings, as [slab] survey")
    after: Literal["rough A", "rough B", "skim A"] = Field(description="the last cut before it was read again")
    date: Words = Field("", description="when it was read")


class AsMade(Stated):
    """`[as_made]`: what came out."""

    thickness: Positive | None = Field(None, description="of the finished board, least measured")
    length: Positive | None = Field(None, description="of the finished top")
    width: Positive | None = Field(None, description="of the finished top, at its widest")
