"""`[delivery]`: the maker's own way in, step by step, from the workshop's door to the room."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from slabwright.job.fields import NotNegative, Positive, Stated, Whole, positive_length, published

_LEAST_CLEAR = 100.0
"""A way in that is narrower than this is a slip of the unit [mm]: common practice."""


def _way(value: object, info: ValidationInfo) -> float:
    length = float(positive_length(value, info))
    if length < _LEAST_CLEAR:
        like = f'"{value} m" if metres were meant' if isinstance(value, int | float) else 'such as "0.9 m" or "36 in"'
        raise ValueError(f"is {length:g} mm, narrower than any way in; write {like}")
    return length


Way = Annotated[float, BeforeValidator(_way), published("LengthAboveZero")]
"""A clear size of a way in."""


class _Step(Stated):
    name: str = Field("", max_length=40, description="as it is called on the sheets; left out: its kind and number")


class VanStep(_Step):
    """A van: in through its rear opening, flat on its floor."""

    kind: Literal["van"] = Field(description="van")
    width: Way = Field(description="of the rear opening, at its narrowest")
    height: Way = Field(description="of the rear opening")
    floor_length: Way = Field(description="of the floor with the door closed")
    inside_width: Way | None = Field(None, description="between the wheel arches or linings; left out: as the opening")
    inside_height: Way | None = Field(None, description="floor to roof; left out: as the opening")


class DoorStep(_Step):
    """A door, straight on or out of or into a corridor that runs past it."""

    kind: Literal["door"] = Field(description="door")
    width: Way = Field(description="clear, between the open leaf and the other side")
    height: Way = Field(description="clear, floor to lintel")
    depth: Positive = Field(150.0, description="of the wall with its frame (default: common practice)")
    before: Way | None = Field(
        None, description="width of the corridor that runs past the door in front; left out: straight on"
    )
    behind: Way | None = Field(
        None, description="width of the corridor that runs past the door behind; left out: straight on"
    )
    ceiling: Way | None = Field(
        None, description="of the corridor in front and behind; left out: nothing is stood up or leaned there"
    )


class CornerStep(_Step):
    """A corridor that turns a right corner."""

    kind: Literal["corner"] = Field(description="corner")
    before: Way = Field(description="clear width of the corridor before the corner")
    after: Way = Field(description="clear width of the corridor after it")
    height: Way = Field(description="to the ceiling, or what hangs from it")


class StairsStep(_Step):
    """A flight of stairs, with a landing where it has one."""

    kind: Literal["stairs"] = Field(description="stairs")
    width: Way = Field(description="clear, between wall and rail")
    headroom: Way = Field(description="upright from the line of the nosings to what is overhead")
    rise: Positive = Field(description="of one step")
    going: Positive = Field(description="of one step, nosing to nosing")
    turn: Whole = Field(0, description="degrees turned on the landing: 0, 90 or 180")
    landing: Way | None = Field(None, description="depth of the landing, along the first flight")
    landing_headroom: Way | None = Field(None, description="over the landing; left out: as over the flight's nosings")
    well: NotNegative = Field(0.0, description="between the two flights of a half turn")

    @model_validator(mode="after")
    def _turns_on_a_landing(self) -> Self:
        if self.turn not in (0, 90, 180):
            raise ValueError("turn must be 0, 90 or 180")
        if self.turn and self.landing is None:
            raise ValueError("stairs that turn need their landing: state landing, its depth along the first flight")
        if self.rise > self.going * 1.75:
            raise ValueError(
                "rise is more than 1.75 x going: state rise and going of one step of stairs, not of a ladder"
            )
        return self


class LiftStep(_Step):
    """A lift car."""

    kind: Literal["lift"] = Field(description="lift")
    door_width: Way = Field(description="clear, doors open")
    door_height: Way = Field(description="clear")
    width: Way = Field(description="of the car, inside the handrails")
    depth: Way = Field(description="of the car, from its closed door to its rear wall or handrail")
    height: Way = Field(description="of the car")
    wall: Positive = Field(150.0, description="depth of the doorway (default: common practice)")

    @model_validator(mode="after")
    def _door_in_car(self) -> Self:
        if self.door_width > self.width:
            raise ValueError("door_width is more than the car's width; state the clear sizes")
        if self.door_height > self.height:
            raise ValueError("door_height is more than the car's height; state the clear sizes")
        return self


Step = Annotated[VanStep | DoorStep | CornerStep | StairsStep | LiftStep, Field(discriminator="kind")]


class Delivery(Stated):
    """`[delivery]`: the way in, in the order in which it is gone."""

    steps: list[Step] = Field(
        default_factory=list, max_length=40, description="van, doors, corners, stairs, lifts, in the order of the way"
    )
    hand_room: NotNegative = Field(
        30.0, description="kept free on each side for hands that hold it (default: common practice)"
    )
    padding: NotNegative = Field(6.0, description="thickness of blankets or corner guards on it (default: from memory)")
    apart: Literal["if needed", "always", "never"] = Field(
        "if needed", description="whether the top comes off the base for the way"
    )
