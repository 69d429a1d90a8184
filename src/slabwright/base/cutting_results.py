"""Lengths that can be had, and the plan of how to cut them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Stock:
    """A length that can be had.

    Attributes:
        name: as the supplier or the rack calls it
        length: as bought [mm]
        price: of one, cuts at the yard included
        available: how many there are; None: as many as wanted
        parts: what reaches the shop [mm]: the whole of it, or what the yard cuts it into
        offcut: on hand already
    """

    name: str
    length: float
    price: float
    available: int | None = None
    parts: tuple[float, ...] = ()
    offcut: bool = False

    @property
    def pieces(self) -> tuple[float, ...]:
        """Lengths that reach the shop [mm]."""
        return self.parts or (self.length,)


@dataclass(frozen=True)
class Cut:
    """Lengths that are cut alike.

    Attributes:
        part: length that is cut [mm]
        counts: how many of each piece
        times: how many lengths
    """

    part: float
    counts: tuple[int, ...]
    times: int


@dataclass(frozen=True)
class CuttingPlan:
    """The plan of one section.

    Attributes:
        cuts: how lengths are cut
        taken: how many of each stock
        price: of all
        bound: no plan is cheaper
        lengths: how many are bought
        lengths_bound: no plan as cheap has fewer
        proven: whether no plan is cheaper, nor as cheap with fewer lengths
        fractional: least price with fractions of lengths allowed, before rounding up
    """

    cuts: tuple[Cut, ...]
    taken: tuple[int, ...]
    price: float
    bound: float
    lengths: int
    lengths_bound: int
    proven: bool
    fractional: float
