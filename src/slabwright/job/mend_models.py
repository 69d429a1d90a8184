"""`[[mends]]`: how each defect that stays in the top is mended."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from slabwright.job.fields import Number, Positive, Stated, Whole

MendKind = Literal["cut off", "key", "key and fill", "thin epoxy", "fill", "leave", "reject"]
MEND_KINDS: tuple[MendKind, ...] = ("cut off", "key", "key and fill", "thin epoxy", "fill", "leave", "reject")


class MendKey(Stated):
    """Sizes of the keys (bow ties) across a check; what is left out follows the board's thickness."""

    length: Positive | None = Field(None, description="across the check, along the key's own grain")
    width: Positive | None = Field(None, description="at its ends, along the check")
    waist: Positive | None = Field(None, description="at its middle, along the check")
    depth: Positive | None = Field(None, description="of its floor below its face")
    spacing: Positive | None = Field(None, description="most between the middles of two keys along the check")
    count: Whole | None = Field(None, ge=1, le=40, description="how many; left out: as the spacing asks for")

    @model_validator(mode="after")
    def _has_a_waist(self) -> Self:
        if self.waist is not None and self.width is not None and self.waist >= self.width:
            raise ValueError("waist must be less than width: a key holds by being wider at its ends")
        return self


class Mend(Stated):
    """`[[mends]]`: what is done with one defect."""

    defect: Whole = Field(ge=1, le=10_000, description="its number in [[slab.defects]], from 1: D1 on the sheets")
    choose: MendKind | None = Field(None, description="what is done; left out: what is recommended")
    missing: Number | None = Field(
        None,
        ge=0,
        le=1,
        description="share of its shape that is empty or is dug out; left out: as is usual for its kind",
    )
    key: MendKey = Field(MendKey(), description="sizes of the keys across a check")
    note: str = Field("", max_length=200, description="anything to remember")
