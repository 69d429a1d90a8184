"""`[hands]`: who and what lifts. Stated for the shop; what a job states of it counts for that job."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from slabwright.job.fields import Mass, Positive, Stated, Whole

Aid = Literal["dolly", "hoist", "lift table", "suction cups", "straps", "trestles", "stair climber"]
AIDS: tuple[Aid, ...] = ("dolly", "hoist", "lift table", "suction cups", "straps", "trestles", "stair climber")
ONE_LIFTS = 23.0
"""What one person lifts alone where nothing is stated [kg]: the load constant of the revised NIOSH lifting equation."""


class Hands(Stated):
    """`[hands]`: who and what lifts: people at hand, aids, and what one of them lifts alone."""

    people: Whole = Field(
        1, ge=1, le=12, description="at hand in the shop when something is lifted, the maker among them; 1: alone"
    )
    people_on_delivery: Whole | None = Field(
        None, ge=1, le=12, description="at hand when the piece is carried in; left out: as in the shop"
    )
    alone_most: Mass = Field(
        ONE_LIFTS, description="that one person lifts alone (default: load constant of the NIOSH lifting equation)"
    )
    aids: list[Aid] = Field(
        default_factory=list, max_length=12, description="that are at hand; each is offered only where it serves"
    )
    hoist_most: Mass | None = Field(None, description="that the hoist may lift, from its plate")
    dolly_most: Mass | None = Field(None, description="that the dolly may carry, from its plate")
    lift_table_most: Mass | None = Field(None, description="that the lift table may carry, from its plate")
    suction_most: Mass | None = Field(None, description="that the suction cups may hold together, from their plates")
    bed_height: Positive = Field(750.0, description="of the bed above the floor (default: common practice)")
    van_floor: Positive = Field(600.0, description="of the van's floor above the ground (default: common practice)")
    steps: Whole | None = Field(
        None, ge=0, le=400, description="on the way in at the client's; 0: none; left out: some are reckoned with"
    )

    @model_validator(mode="after")
    def _plates_go_with_aids(self) -> Self:
        for aid, most in (
            ("hoist", self.hoist_most),
            ("dolly", self.dolly_most),
            ("lift table", self.lift_table_most),
            ("suction cups", self.suction_most),
        ):
            if most is not None and aid not in self.aids and "aids" in self.model_fields_set:
                raise ValueError(
                    f"{aid.replace(' ', '_').removesuffix('_cups')}_most is stated, but aids has no {aid!r}"
                )
        return self

    def most_of(self, aid: str) -> float | None:
        """What an aid may carry [kg]; None where nothing is stated or it has no such limit."""
        return {
            "hoist": self.hoist_most,
            "dolly": self.dolly_most,
            "lift table": self.lift_table_most,
            "suction cups": self.suction_most,
        }.get(aid)

    def delivering(self) -> int:
        """People at hand when the piece is carried in."""
        return self.people_on_delivery if self.people_on_delivery is not None else self.people


def hands_of(shop: Hands, job: Hands | None) -> Hands:
    """The shop's, with what the job states of it in its place."""
    if job is None:
        return shop
    return shop.model_copy(update={name: getattr(job, name) for name in job.model_fields_set})
