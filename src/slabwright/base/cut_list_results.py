"""What the cut list is made from, and what it holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure, working
from slabwright.base.sections import Section
from slabwright.findings import COMMON_PRACTICE, Finding

Over = Literal["depth", "width"]
Cuts = Literal["square", "one end", "opposed", "parallel"]
"""How the two cuts of a part lie: opposed ones lean towards each other, as in a picture frame; parallel ones lean alike."""


@dataclass(frozen=True)
class Part:
    """Steel parts that are alike.

    Attributes:
        name: as it is called on the drawings
        section: its steel
        length: to the long points, finished [mm]
        mitres: angle of the cut at each end from square [degrees]
        count: how many
        over: side of the section that the mitres run across
        opposite: long points lie on opposite faces; else on one face, as in a frame
        extra: left on for trimming later, at the second end [mm]
    """

    name: str
    section: Section
    length: float
    mitres: tuple[float, float] = (0.0, 0.0)
    count: int = 1
    over: Over = "depth"
    opposite: bool = False
    extra: float = 0.0


@dataclass(frozen=True)
class Saw:
    """The saw that cuts the steel; its figures are common practice where the shop states none.

    Attributes:
        kerf: that its blade takes [mm]
        greatest_mitre: [degrees]
        reach: widest that it cuts square in one pass [mm]
        out_of_square: by which its cut may be off [degrees]
        first_cut: that the sawn-off end of a bought length loses to be square and clean [mm]
    """

    kerf: float = 2.5
    greatest_mitre: float = 45.0
    reach: float = 150.0
    out_of_square: float = 0.25
    first_cut: float = 0.0


@dataclass(frozen=True)
class Supply:
    """A length that the yard sells.

    Attributes:
        length: [mm]
        price: of one; None: not known
        section: that it is for; empty: any
        available: how many; None: as many as wanted
    """

    length: float
    price: float | None = None
    section: str = ""
    available: int | None = None


@dataclass(frozen=True)
class OffcutOnHand:
    """An offcut from the rack: its section's name, its length [mm] and how many."""

    section: str
    length: float
    count: int = 1
    name: str = ""


@dataclass(frozen=True)
class Yard:
    """How steel comes to the shop.

    Attributes:
        longest: that the van takes [mm]; None: any
        price_per_cut: that the yard asks for
        kerf: of the yard's saw [mm]
    """

    longest: float | None = None
    price_per_cut: float = 0.0
    kerf: float = 3.0


@dataclass(frozen=True)
class CutPart:
    """One kind of part, as it is sawn."""

    name: str = figure("", "which part")
    section: str = figure("", "its steel")
    count: int = figure("1", "how many are sawn", rests_on=("base.parts",))
    long_points: float = figure("mm", "finished length to the long points", rests_on=("base.parts",), sure="as drawn")
    short_points: float = figure(
        "mm",
        "finished length between the short points",
        how="long points less the section's side times the tangent of each mitre",
        rests_on=("base.parts",),
        sure="exact",
    )
    rough: float = figure(
        "mm", "sawn length to the long points", how="finished length and what is left on for trimming", sure="exact"
    )
    mitres: tuple[float, float] = figure("deg", "of the cut at each end, from square", rests_on=("base.parts",))
    cuts: Cuts = figure(
        "",
        "how its two cuts lie: parallel, every face as long as any other; opposed, one face long and one short",
        rests_on=("base.parts",),
        sure="exact",
    )
    stop: float = figure(
        "mm",
        "sawn length as the stop takes it: between parallel cuts along a face, else to the long points",
        how="rough length; between parallel cuts less the section's side times the tangent of the mitre",
        sure="exact",
    )
    over: str = figure("", "side of the section that the mitres run across")
    mass: float = figure(
        "kg", "of one, as sawn", how="length on the middle line times the section's mass of a metre", source="section"
    )
    passes: int = figure(
        "1", "of the saw through each cut; 2: cut to the middle, turn over, cut the rest", rests_on=("shop:saw.reach",)
    )


@dataclass(frozen=True)
class LaidPiece:
    """A part in a length."""

    part: str = figure("", "which part")
    start: float = figure(
        "mm", "where it begins on the middle line, from the first end of the length", how="pieces and cuts before it"
    )
    end: float = figure("mm", "where it ends on the middle line", how="its beginning and its length")
    first_mitre: float = figure("deg", "of its cut nearer to the first end")
    last_mitre: float = figure("deg", "of its cut at the other end")
    turned: bool = figure("", "whether it lies end for end")
    shares_cut: bool = figure(
        "",
        "whether one cut ends the piece before it and begins this one; at opposed mitres the steel is turned over for that",
    )


@dataclass(frozen=True)
class CutLength:
    """Lengths of steel that are cut alike."""

    section: str = figure("", "its steel")
    length: float = figure("mm", "of the steel as it comes to the saw", rests_on=("shop:steel.lengths",))
    source: str = figure("", "where it comes from: bought, or an offcut on hand")
    times: int = figure("1", "how many are cut like this", how="cheapest plan over all ways to cut a length")
    pieces: tuple[LaidPiece, ...] = figure(
        "", "in the order of the cuts", how="the order that loses least between unlike mitres"
    )
    used: float = figure("mm", "taken by pieces and cuts", how="pieces on the middle line, cuts between, wedges lost")
    offcut: float = figure(
        "mm", "left, squared", how="what is left less one cut to square it", rests_on=("shop:saw.kerf",)
    )
    kept: bool = figure("", "whether the offcut is long enough to keep", rests_on=("shop:steel.keep",))


@dataclass(frozen=True)
class SawStop:
    """One setting of the saw's stop."""

    section: str = figure("", "which steel")
    stop: float = figure(
        "mm",
        "from the blade to the stop: between parallel cuts along a face, else to the long points",
        how="base.parts, stop",
    )
    mitres: tuple[float, float] = figure("deg", "of the two cuts, from square")
    cuts: Cuts = figure("", "how the two cuts lie: square, one end, opposed or parallel", rests_on=("base.parts",))
    count: int = figure("1", "how many are cut at this setting", how="parts of this length and these mitres")
    parts: tuple[str, ...] = figure("", "which parts these are")


@dataclass(frozen=True)
class Bought:
    """Steel to order."""

    section: str = figure("", "which steel")
    length: float = figure("mm", "as sold", rests_on=("shop:steel.lengths",))
    count: int = figure(
        "1", "how many", how="cheapest plan, fewest lengths among the cheapest", sure="base.cut_list.proofs"
    )
    yard_cuts: tuple[float, ...] = figure(
        "mm", "lengths that the yard cuts each into, to fit the van; none: left whole"
    )
    price: float | None = figure(
        "money", "of all of them, the yard's cuts included; none: no price is stated", rests_on=("shop:steel.lengths",)
    )


@dataclass(frozen=True)
class KeptOffcut:
    """Offcuts for the rack."""

    section: str = figure("", "which steel")
    length: float = figure(
        "mm", "squared", how="what its length leaves; or a part from the yard that is not cut at all"
    )
    count: int = figure("1", "how many")


@dataclass(frozen=True)
class SectionProof:
    """How sure the plan for one section is the cheapest."""

    section: str = figure("", "which steel")
    lengths: int = figure("1", "bought", how="cheapest plan, fewest lengths among the cheapest")
    least_lengths: int = figure(
        "1", "that any plan as cheap needs, at least", how="no plan over any ways to cut has fewer"
    )
    price: float | None = figure("money", "of the lengths; none: no price is stated and the least steel is bought")
    least_price: float | None = figure(
        "money", "that no plan costs less than", how="fractions of a length allowed, rounded up"
    )
    bought_length: float = figure("mm", "of steel that is bought, all together")
    proven: bool = figure("", "whether it is shown that no plan is cheaper, nor as cheap with fewer lengths")


@dataclass(frozen=True)
class TwoPass:
    """A plate wider than the saw reaches: cut from both edges."""

    part: str = figure("", "which plate")
    width: float = figure("mm", "of the plate, across the cut")
    first_depth: float = figure(
        "mm", "of the first cut, from the edge at the fence", how="half of the width and the overlap, within the reach"
    )
    overlap: float = figure("mm", "by which both cuts run past each other", how="both cuts less the width")
    ridge: float = figure(
        "mm",
        "that the saw's error may leave proud or hollow in the middle",
        how="half of the width times the tangent of the error: turned over, both halves lean alike",
        rests_on=("shop:saw.out_of_square",),
        source=COMMON_PRACTICE,
    )
    how: str = figure("", "what to do")


@dataclass(frozen=True)
class CutList:
    """All the sawing of a base."""

    parts: tuple[CutPart, ...] = working()
    lengths: tuple[CutLength, ...] = working()
    stops: tuple[SawStop, ...] = figure("", "settings of the saw's stop, longest first")
    bought: tuple[Bought, ...] = figure("", "steel to order")
    offcuts: tuple[KeptOffcut, ...] = figure("", "offcuts to keep for the next job")
    two_pass: tuple[TwoPass, ...] = figure("", "plates wider than the saw reaches")
    proofs: tuple[SectionProof, ...] = figure("", "how sure each section's plan is the cheapest")
    kerf: float = figure("mm", "that each cut takes", rests_on=("shop:saw.kerf",))
    cuts: int = figure(
        "1", "of the saw, all together", how="one for each end, shared where pieces nest, none at a square end"
    )
    findings: tuple[Finding, ...] = working(())
