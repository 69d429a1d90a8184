"""`[brief]`: who sits at the piece, on what, and where it stands."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from slabwright.job.calendar_models import Day
from slabwright.job.fields import NotNegative, Positive, Stated, Whole


class FloorTemplate(Stated):
    """`[brief.template]`: the outline of the top, laid on the client's floor at full size and signed."""

    length: Positive = Field(description="as it was laid out, along the top")
    width: Positive = Field(description="as it was laid out, at its widest")
    signed_by: str = Field("", max_length=80, description="who signed it; left out: not signed yet")
    date: Day | None = Field(None, description="when it was signed")


class Socket(Stated):
    """`[[brief.sockets]]`: a socket in the wall or the floor that the piece is plugged into."""

    name: str = Field("", max_length=60, description="as it is called; left out: its number")
    distance: NotNegative = Field(
        description="along the floor and up the wall, from the base's nearest leg to the socket"
    )


class MonitorArm(Stated):
    """`[[brief.monitor_arms]]`: an arm that is clamped to the top's edge, or bolted through it."""

    name: str = Field("", max_length=60, description="as it is called; left out: its number")
    fixing: Literal["clamp", "through bolt"] = Field("clamp", description="how it holds on to the top")
    thickness_most: Positive | None = Field(None, description="thickest top that its fixing takes, from its maker")
    thickness_least: NotNegative = Field(0.0, description="thinnest top that its fixing takes, from its maker")


class Opening(Stated):
    """`[[brief.doors]]`: a door on the way in, as far as it is known; `[delivery]` proves the whole way."""

    name: str = Field("", max_length=60, description="as it is called; left out: its number")
    width: Positive = Field(description="clear, between the open leaf and the other side")
    height: Positive = Field(2000.0, description="clear, floor to lintel (default: common practice)")


class Brief(Stated):
    """`[brief]`: what the client wants of it: who sits, on what, and where it stands."""

    seats: Whole | None = Field(None, ge=1, le=60, description="people who are to sit at it")
    at_ends: bool | None = Field(
        None, description="whether somebody sits at each end; left out: where the end is wide enough"
    )
    chair_arms: Positive | None = Field(
        None, description="height of the chairs' arms above the floor; left out: chairs without arms"
    )
    chair_seat: Positive | None = Field(None, description="height of the chairs' seats above the floor, sat on")
    chair_width: Positive | None = Field(None, description="of one chair, at its widest")
    knees: Positive | None = Field(
        None, description="height that is kept clear over the floor for knees; left out: as the table of sizes says"
    )
    behind: NotNegative | None = Field(
        None, description="room between the edge of the top and what stands behind the chairs"
    )
    passage: bool = Field(False, description="whether people walk past behind those who sit")
    floor: Literal["even", "uneven", "rug"] | None = Field(None, description="what it stands on")
    floor_off: NotNegative | None = Field(
        None, description="how far the floor is low under one foot; left out: not measured"
    )
    sun: Literal["none", "some", "strong"] | None = Field(None, description="sun that falls on it")
    sockets: list[Socket] = Field(default_factory=list, max_length=20, description="that it is plugged into")
    monitor_arms: list[MonitorArm] = Field(default_factory=list, max_length=20, description="that it carries")
    doors: list[Opening] = Field(default_factory=list, max_length=40, description="on the way in, as far as known")
    template: FloorTemplate | None = Field(None, description="the outline on the client's floor, signed")
    town: str = Field("", max_length=80, description="where it goes")
    wanted: Day | None = Field(None, description="day by which the client would like to have it")
