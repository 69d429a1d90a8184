"""What mending the slab comes to: each defect that stays in the top, its options side by side, the one taken."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shapely.geometry.base import BaseGeometry

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY
from slabwright.job.mend_models import MendKind

Side = Literal["show", "underside", "both"]

_PLACE = ("job:slab.defects", "top.placement", "slab.seat")
_PRICES = (
    "shop:prices.hour",
    "job:fill.price_per_litre",
    "job:fill.price_per_visible_area",
    "shop:prices.insert_per_piece",
)


@dataclass(frozen=True)
class KeyPlace:
    """Where a key's middle lies."""

    x: float = figure("mm", "of its middle along the grain, in the frame of the readings", rests_on=_PLACE)
    y: float = figure("mm", "of its middle across the grain, in the frame of the readings", rests_on=_PLACE)
    along: float | None = figure(
        "mm", "of its middle from the top's left end; empty where no piece is placed", rests_on=("top.placement",)
    )
    across: float | None = figure(
        "mm", "of its middle from the top's centre line; empty where no piece is placed", rests_on=("top.placement",)
    )
    outline: BaseGeometry = working()
    """In the frame of the readings."""


@dataclass(frozen=True)
class Keys:
    """The keys (bow ties) across one check."""

    face: Literal["show", "underside"] = figure("", "the face that they are let into", rests_on=("job:slab.defects",))
    length: float = figure(
        "mm",
        "across the check; the key's grain runs this way",
        how="as stated; else one and a half times the board's thickness",
        rests_on=("job:mends", "board.thickness"),
        source=FROM_MEMORY,
        change="[[mends]] key.length",
    )
    width: float = figure(
        "mm",
        "at its ends, along the check",
        how="as stated; else half of its length",
        rests_on=("job:mends",),
        source=FROM_MEMORY,
        change="[[mends]] key.width",
    )
    waist: float = figure(
        "mm",
        "at its middle, along the check",
        how="as stated; else half of the width at its ends",
        rests_on=("job:mends",),
        source=FROM_MEMORY,
        change="[[mends]] key.waist",
    )
    depth: float = figure(
        "mm",
        "of its floor below its face",
        how="as stated; else four tenths of the board's thickness; a third to a half is usual",
        rests_on=("job:mends", "board.thickness"),
        source=FROM_MEMORY,
        change="[[mends]] key.depth",
    )
    spacing: float = figure(
        "mm",
        "between the middles of two keys along the check",
        how="length of the check that is keyed over the number of keys; one key serves as much to either side as half of this",
        rests_on=("job:mends", "job:slab.defects"),
    )
    turn: float = figure(
        "deg",
        "of the keys' length against the grain of the slab: square to the check",
        how="direction of the check and a right angle",
        rests_on=("job:slab.defects",),
    )
    places: tuple[KeyPlace, ...] = figure("", "each key")


@dataclass(frozen=True)
class MendOption:
    """One way of mending one defect, with what it costs."""

    kind: MendKind = figure("", "what is done")
    fits: bool = figure("", "whether it can be done here and the job allows it", rests_on=_PLACE)
    reason: str = figure("", "why not; empty where it fits")
    money: float | None = figure(
        "money",
        "what it costs; empty without prices",
        how="hours at their price; epoxy by the litre with what leaks off, and by the visible area on the show face; keys by the "
        "piece where a let-in piece has a price; cut off: the wood; reject: the slab's wood",
        rests_on=(*_PRICES, "shop:prices.wood_per_cubic_metre"),
        change="prices in the shop file and [fill]",
    )
    hours: float = figure(
        "hour", "of work, apart from what goes with the volume", how="by the kind of work", source=FROM_MEMORY
    )
    days: float = figure(
        "day",
        "of waiting",
        how="pours and the wait before machining; a day for a key's glue",
        rests_on=("shop:epoxy.hours_between_pours", "shop:epoxy.hours_before_machining", "shop:thin_epoxy"),
        source="the epoxy's data sheet; glue: " + COMMON_PRACTICE,
    )
    thickness: float = figure(
        "mm",
        "of the board that it costs",
        how="moved: thickest flat piece of the readings where it lies now, less that where it would lie",
        rests_on=("top.placement.thickness_read",),
        sure="of the readings",
    )
    length: float = figure(
        "mm",
        "of the piece that it costs",
        how="from the nearer end to beyond the defect; none where the piece can be moved",
        rests_on=("top.placement", "job:slab.defects"),
    )
    volume: float = figure(
        "mm3",
        "of epoxy that it takes, with what leaks off and without waste",
        how="empty volume over the share that stays",
        rests_on=("job:slab.defects", "shop:epoxy.leak_loss"),
    )
    note: str = figure("", "what to know about it")


@dataclass(frozen=True)
class Mended:
    """One defect that stays in the finished top."""

    name: str = figure("", "on map and cards: D and its number in [[slab.defects]]", rests_on=("job:slab.defects",))
    number: int = figure("1", "in [[slab.defects]], from 1")
    kind: str = figure("", "what it is", rests_on=("job:slab.defects",))
    side: Side = figure(
        "", "the finished faces on which it is seen", how="its face, or both where it goes through", rests_on=_PLACE
    )
    x: float = figure("mm", "of its middle along the grain, in the frame of the readings", rests_on=_PLACE)
    y: float = figure("mm", "of its middle across the grain, in the frame of the readings", rests_on=_PLACE)
    along: float | None = figure(
        "mm", "of its middle from the top's left end; empty where no piece is placed", rests_on=("top.placement",)
    )
    across: float | None = figure(
        "mm", "of its middle from the top's centre line; empty where no piece is placed", rests_on=("top.placement",)
    )
    length: float = figure("mm", "of what of it lies in the piece, the longer way", rests_on=_PLACE)
    width: float = figure("mm", "of it, the shorter way", rests_on=("job:slab.defects",))
    area: float = figure(
        "mm2",
        "seen on the finished face",
        how="its stated shape, as far as it lies in the piece",
        rests_on=_PLACE,
        sure="as its stated shape; where it goes down slanting the finished face shows it elsewhere",
    )
    depth: float = figure(
        "mm",
        "that is left of it in the finished board, at its deepest",
        how="stated depth less the wood that comes off above it; through: the board's thickness",
        rests_on=("job:slab.defects", "slab.passes", "board.thickness"),
        sure="empty depth in the job: taken as through",
        change="probe it and state its depth",
    )
    through: bool = figure("", "whether it goes through the finished board, or may do", rests_on=("board.thickness",))
    depth_known: bool = figure("", "whether its depth is stated", rests_on=("job:slab.defects",))
    missing: float = figure(
        "1",
        "share of its shape that is empty or dug out",
        how="as stated; else as usual for its kind",
        rests_on=("job:mends",),
        source=FROM_MEMORY,
        change="[[mends]] missing",
    )
    volume: float = figure(
        "mm3",
        "empty in the finished board",
        how="area times the depth that is left, times the share that is missing",
        rests_on=_PLACE,
    )
    leaks: bool = figure(
        "",
        "whether a part of what is poured runs off",
        how="through, of unknown depth, or a check, which may run on unseen",
        rests_on=_PLACE,
    )
    tape: bool = figure("", "whether it is taped underneath before it is filled", how="where it goes through or may do")
    dam: bool = figure("", "whether it is open at an edge or end of the piece, so that it wants a dam", rests_on=_PLACE)
    in_patch: str = figure(
        "", "the filled dip that it lies under; empty where it lies in none", rests_on=("slab.patches",)
    )
    options: tuple[MendOption, ...] = figure("", "ways of mending it, side by side")
    recommended: MendKind = figure(
        "",
        "the first in the usual order for its kind that fits",
        how="order of its kind; the slab is rejected where nothing fits",
        source=COMMON_PRACTICE,
    )
    chosen: MendKind = figure(
        "",
        "what the sheets follow",
        how="as stated; else keys that the top states across it; else what is recommended",
        rests_on=("job:mends", "job:top.features"),
        change="[[mends]] choose",
    )
    stated: bool = figure("", "whether the job states it", rests_on=("job:mends",))
    keys: Keys | None = figure("", "keys across it; empty where none are wanted or there is no room")
    keyed_by: tuple[str, ...] = figure(
        "", "keys of [[top.features]] that lie across it", rests_on=("job:top.features",)
    )
    note: str = figure("", "the maker's words", rests_on=("job:mends", "job:slab.defects"))
    outline: BaseGeometry = working()
    """In the frame of the readings, as far as it lies in the piece."""
    filled_area: float = working(0.0)
    """Of the liquid's surface when it is full [mm2]."""

    def option(self, kind: MendKind) -> MendOption:
        """One of its options."""
        return next(option for option in self.options if option.kind == kind)


@dataclass(frozen=True)
class Gone:
    """A defect that needs no mending."""

    name: str = figure("", "D and its number in [[slab.defects]]")
    kind: str = figure("", "what it is", rests_on=("job:slab.defects",))
    why: Literal["outside the piece", "cut away with the face"] = figure("", "where it goes", rests_on=_PLACE)


@dataclass(frozen=True)
class LetIn:
    """Wood that is let into a dip of the show face, in place of epoxy."""

    name: str = figure("", "patch and its letter", rests_on=("slab.patches",))
    x: float = figure("mm", "its middle, along", rests_on=("slab.patches",))
    y: float = figure("mm", "its middle, across", rests_on=("slab.patches",))
    length: float = figure("mm", "of the dip along the grain", rests_on=("slab.patches",))
    width: float = figure("mm", "of the dip across", rests_on=("slab.patches",))
    depth: float = figure("mm", "of its recess below the finished face: all of the dip", rests_on=("slab.patches",))
    hours: float = figure("hour", "to cut the recess, fit the piece and glue it", source=FROM_MEMORY)
    money: float | None = figure(
        "money", "a piece at its price; empty without one", rests_on=("shop:prices.insert_per_piece",)
    )


@dataclass(frozen=True)
class Mending:
    """What is mended while the faces are cut."""

    mends: tuple[Mended, ...] = figure("", "defects that stay in the top")
    gone: tuple[Gone, ...] = figure("", "defects that go with what is cut off")
    when: str = figure(
        "", "between which cuts it is done", rests_on=("slab.procedures", "job:slab.procedure"), source=COMMON_PRACTICE
    )
    hours: float = figure("hour", "of work, of all that is chosen", how="added up", source=FROM_MEMORY)
    days: float = figure(
        "day", "of waiting, of all that is chosen", how="the longest; epoxy and glue wait side by side"
    )
    money: float | None = figure(
        "money", "of all that is chosen; empty where a price is lacking", how="added up", rests_on=_PRICES
    )
    thickness: float = figure("mm", "that later work is planned with", rests_on=("board.thickness",))
    outline: BaseGeometry = working()
    """Of the piece on the show face, in the frame of the readings."""
    let_in: tuple[LetIn, ...] = figure(
        "", "wood that is let into the dips of the show face", rests_on=("job:fill.way", "slab.patches"), default=()
    )
