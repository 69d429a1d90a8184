"""`[[top.plates_as_made]]`: the welded, painted plates as they were measured, or marked through in their pockets."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from slabwright.job.fields import Length, NotNegative, Positive, Stated


class HoleAsMade(Stated):
    """A hole or a slot of the plate, measured from the plate's middle (or, marked through, from the pocket's)."""

    insert: str = Field(min_length=1, max_length=60, description="the insert that its bolt goes into")
    along: Length = Field(description="of its middle, along the grain, to the right")
    across: Length = Field(description="of its middle, across the grain, to the far edge")
    length: Positive | None = Field(
        None, description="across the grain, end to end, with its paint; left out: as planned"
    )
    width: Positive | None = Field(None, description="along the grain, with its paint; left out: as planned")


class PlateAsMade(Stated):
    """One plate as it was made."""

    plate: str = Field(min_length=1, max_length=60, description="the pocket that it lies in")
    way: Literal["measured", "marked through"] = Field(
        "measured",
        description="measured: with tape and caliper; marked through: laid in its pocket, its holes marked in the wood",
    )
    length: Positive | None = Field(None, description="along the grain, at its longest; left out: as planned")
    width: Positive | None = Field(None, description="across the grain, at its widest; left out: as planned")
    corner_radius: NotNegative | None = Field(None, description="of its sharpest corner; left out: as planned")
    thickness: Positive | None = Field(None, description="with its paint; left out: as planned")
    bow: NotNegative = Field(0.0, description="gap under a straightedge laid over it")
    diagonals_differ: NotNegative = Field(0.0, description="difference of its two diagonals")
    painted: bool = Field(True, description="whether the sizes are over the paint")
    error: NotNegative = Field(0.3, description="of measuring it (default: from memory)")
    holes: list[HoleAsMade] = Field(
        default_factory=list, max_length=100, description="its holes and slots that were measured"
    )

    @model_validator(mode="after")
    def _once(self) -> Self:
        names = [hole.insert for hole in self.holes]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise ValueError(f"two holes are for the insert {twice!r}; state each once")
        return self
