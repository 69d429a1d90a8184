"""What touches must be before a place is found from them: stated once, enough, and not in a line."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats
from slabwright.machine.located import DatumKind

NEAR_LINE = 0.02
"""Touched places narrower than this share of their length lie nearly in a line."""


class RegistrationError(SlabwrightError):
    """Touches that do not fix how the piece lies."""


class Touched(Protocol):
    """A touched-off place, as `[[top.datums]]` states it."""

    @property
    def name(self) -> str:
        """As the sheets call it."""

    @property
    def kind(self) -> DatumKind:
        """Point, edge along (its y was touched) or edge across (its x)."""

    @property
    def stated(self) -> Sequence[float]:
        """Where the drawing has it [mm]."""

    @property
    def touched(self) -> Sequence[float]:
        """Where the machine found it [mm]."""

    @property
    def error(self) -> float:
        """Standard error of the touch, per axis [mm]."""


@dataclass(frozen=True)
class FeaturePlace:
    """Where a feature is, for its error.

    Attributes:
        x: of its middle in the drawing [mm]
        y: of its middle in the drawing [mm]
        clearance: that its place may be off by [mm]
        corners: of its outline, x and y in the drawing; errors of the turn are greatest there [mm]
    """

    x: float
    y: float
    clearance: float
    corners: tuple[tuple[float, float], ...] = ()


def place_of(value: FeaturePlace | tuple[float, float, float]) -> FeaturePlace:
    """A feature's place, from (x, y, clearance) too."""
    return value if isinstance(value, FeaturePlace) else FeaturePlace(*value)


def check_stated(
    datums: Sequence[Touched],
    features: Mapping[str, FeaturePlace | tuple[float, float, float]],
    machine_error: float,
) -> None:
    """Each place once, and all figures numbers."""
    names: set[str] = set()
    places: dict[tuple[str, float, float], str] = {}
    for datum in datums:
        where = f"top.datums, '{datum.name}'"
        figures = (*datum.stated, *datum.touched, datum.error)
        if len(figures) != 5 or not all(math.isfinite(value) for value in figures):
            raise RegistrationError(f"{where}: stated and touched are two numbers each, and error is one")
        if datum.error <= 0.0:
            raise RegistrationError(f"{where}: error of {datum.error:g}; the error of a touch is more than zero")
        if datum.name in names:
            raise RegistrationError(f"{where} is stated twice; leave one out, or give each place a name of its own")
        names.add(datum.name)
        # An edge may be stated by the same place twice, for its y (or x) is all that counts; touched twice there it may not be.
        spot = datum.stated if datum.kind == "point" else datum.touched
        key = (datum.kind, round(spot[0], 6), round(spot[1], 6))
        if key in places:
            raise RegistrationError(
                f"{where} is the same place as '{places[key]}', so it is stated twice; leave one of them out"
            )
        places[key] = datum.name
    for name, value in features.items():
        place = place_of(value)
        if not all(map(math.isfinite, (place.x, place.y, place.clearance))):
            raise RegistrationError(f"feature '{name}': its place and its room are numbers")
    if not (math.isfinite(machine_error) and machine_error >= 0.0):
        raise RegistrationError("top.machine_error is a length, zero or more")


def check_enough(datums: Sequence[Touched], axis: NDArray[np.intp]) -> None:
    """Three equations, with an x and a y among them."""
    if len(datums) < 2 or len(axis) < 3:
        raise RegistrationError(
            f"top.datums: {len(datums)} touched place{'' if len(datums) == 1 else 's'} cannot tell how the top lies; touch "
            "three holes or corners that are not in a line, or two places along an edge and one on an end"
        )
    if not (axis == 0).any():
        raise RegistrationError(
            "top.datums: only edges along the grain were touched, so the top may lie anywhere along the bed; touch an end "
            "(edge across), a corner or a hole as well"
        )
    if not (axis == 1).any():
        raise RegistrationError(
            "top.datums: only ends were touched, so the top may lie anywhere across the bed; touch a long edge (edge along), "
            "a corner or a hole as well"
        )


def check_not_in_line(touched: Floats) -> None:
    """Places in a line cannot show whether the piece lies mirrored."""
    spread = touched - touched.mean(axis=0)
    _, _, directions = np.linalg.svd(spread)
    length, width = np.ptp(spread @ directions.T, axis=0)
    if length <= 0.0 or width < NEAR_LINE * length:
        raise RegistrationError(
            "top.datums: the touched places lie nearly in a line, so it could not be seen whether the other face is up or an "
            "axis is read the wrong way; touch one more place, well off that line"
        )
