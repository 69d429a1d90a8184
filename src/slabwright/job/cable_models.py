"""`[[cables]]`: a cable from an outlet of the top to its plug: where it runs, how thick it is, what has to pass with it."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from slabwright.job.fields import Length, NotNegative, Number, Positive, Stated
from slabwright.quantities import INCH, Units


class CableEnd(Stated):
    """`[cables.plug]`, `[cables.connector]`: what sits on an end of the cable."""

    width: Positive = Field(description="across the cable, at its widest")
    height: Positive = Field(description="across the cable, the other way")
    length: Positive = Field(description="along the cable, with its stiff neck")
    fitting: Literal["fitted", "rewireable", "after the pull"] = Field(
        "fitted",
        description="fitted: comes on the cable, and must pass; rewireable: its maker lists it as one that may be taken off and "
        "put on; after the pull: comes loose, and is put on last",
    )


class CableStretch(Stated):
    """`[[cables.through]]`: one stretch of a cable's way: in a channel, through a plate, inside a tube, or along a tube."""

    channel: str | None = Field(None, description="a channel of the top that it lies in")
    plate: str | None = Field(None, description="a plate of the base that it goes through")
    tube: str | None = Field(
        None,
        description='a tube of the base that it runs inside: "right far upright", "left bottom rail", "stretcher"; the '
        "sheet The base and its cut list name them all",
    )
    outside: str | None = Field(
        None, description="a piece of the base that it is tied to, on its outside; named as for tube"
    )
    along: Length = Field(0.0, description="plate: of the opening's middle from the plate's middle, along the grain")
    across: Length = Field(0.0, description="plate: of the opening's middle from the plate's middle, across the grain")
    enters: NotNegative | None = Field(
        None,
        description="tube, outside: from the piece's first end to where the cable comes to it; left out: its end, and an end "
        "that is welded or capped is no way into a tube",
    )
    leaves: NotNegative | None = Field(
        None, description="tube, outside: from the piece's first end to where the cable leaves it; left out: its end"
    )
    opening: Positive | None = Field(
        None, description="clear diameter of the opening in a plate or a tube; left out: as much as has to pass"
    )
    lid: bool = Field(False, description="channel: true where a lid closes it once the cable lies in it")

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        ways = [way for way in ("channel", "plate", "tube", "outside") if getattr(self, way) is not None]
        if len(ways) != 1:
            raise ValueError("state channel, plate, tube or outside: one of them")
        way = ways[0]
        given = {name for name in self.model_fields_set if getattr(self, name) not in (None, False, 0.0)}
        allowed = {
            "channel": {"lid"},
            "plate": {"along", "across", "opening"},
            "tube": {"enters", "leaves", "opening"},
            "outside": {"enters", "leaves"},
        }[way]
        wrong = sorted(given - allowed - {way})
        if wrong:
            raise ValueError(f"{wrong[0]} does not go with {way}; {', '.join(sorted(allowed))} may stand there")
        if self.enters is not None and self.enters == self.leaves:
            raise ValueError("enters and leaves are the same place; state two")
        return self

    @property
    def kind(self) -> str:
        """Which of the four it is."""
        return next(way for way in ("channel", "plate", "tube", "outside") if getattr(self, way) is not None)

    @property
    def name(self) -> str:
        """Of the channel, the plate or the piece."""
        return str(getattr(self, self.kind))


class Cable(Stated):
    """`[[cables]]`: one cable of a listed assembly, from its outlet in the top to its plug."""

    name: str = Field(min_length=1, max_length=60, description="as the drawing calls it; no two alike")
    outlet: str = Field(description="the outlet (or through hole) of the top that it comes from")
    through: list[CableStretch] = Field(
        default_factory=list, max_length=40, description="its way, stretch by stretch, from the outlet to the plug"
    )
    diameter: Positive = Field(description="of the cable")
    plug: CableEnd | None = Field(None, description="what sits on its far end")
    connector: CableEnd | None = Field(
        None, description="what sits on its end at the outlet, where it can be unplugged from the unit"
    )
    bend_radius: Positive | None = Field(None, description="least that its maker allows, to the inside of the bend")
    bend_multiple: Number = Field(
        4.0, gt=0, le=40, description="of the diameter, where its maker states no radius (default: from memory)"
    )
    slack: NotNegative = Field(
        150.0,
        description="loop at the outlet, so that the unit comes out far enough to be unplugged (default: 150 mm, 6 in)",
    )
    reach: NotNegative = Field(
        1500.0,
        description="from the last tie to the socket; it hangs or lies free there (default: down to the floor and on to the "
        "farthest of [[brief.sockets]]; without one 1500 mm, 60 in, common practice)",
    )
    length: Positive | None = Field(None, description="of the cable as it is sold; left out: what is needed is told")
    tie_every: Positive = Field(300.0, description="between ties, at most (default: 300 mm, 12 in, common practice)")
    mains: bool = Field(True, description="false where it carries extra-low voltage or data only")

    @model_validator(mode="after")
    def _bends_less_than_it_is_long(self) -> Self:
        if self.plug is not None and min(self.plug.width, self.plug.height) < self.diameter and self.plug.length > 0:
            raise ValueError("the plug is narrower than its cable: look at plug.width, plug.height and diameter")
        return self

    def least_bend(self) -> float:
        """Least radius to the inside of a bend [mm]."""
        return self.bend_radius if self.bend_radius is not None else self.bend_multiple * self.diameter

    def in_units(self, units: Units) -> Cable:
        """This cable; in an inch job what it does not state is a whole number of inches."""
        usual = {"slack": 6.0, "reach": 60.0, "tie_every": 12.0} if units == "inch" else {}
        held = {name: inches * INCH for name, inches in usual.items() if name not in self.model_fields_set}
        return Cable.model_construct(self.model_fields_set, **{**self.__dict__, **held})

    def passes(self) -> tuple[str, CableEnd] | None:
        """What has to be drawn through with the cable, the smaller end of two; None: nothing but the cable itself."""
        ends = [("plug", self.plug), ("connector", self.connector)]
        if any(end is not None and end.fitting != "fitted" for _, end in ends):
            return None
        held = [(word, end) for word, end in ends if end is not None]
        if self.connector is None or self.plug is None:
            # Wired to the unit at one end: it is drawn from there, so the plug leads. Without a plug nothing does.
            return ("plug", self.plug) if self.plug is not None else None
        return min(held, key=lambda each: each[1].width * each[1].height)
