"""Layers of a place, batches of a pour, and the mix on the scale: plain functions on volumes and grams."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.job.epoxy_models import Epoxy, ThinEpoxy
from slabwright.job.loaded import Job
from slabwright.reference.mending import mending_figures

_EVEN = 1e-9


@dataclass(frozen=True)
class Mix:
    """One batch on the scale [g]."""

    grams: int
    resin: int
    hardener: int
    tint: int
    off_ratio: float


def epoxies(job: Job) -> tuple[Epoxy, ThinEpoxy]:
    """The sheets of casting and thin epoxy, in the air that the job states for its finish where the shop states none."""
    air = job.stated.finish.temperature if job.stated.finish is not None else None
    return job.shop.epoxy.in_air_of(air), job.shop.thin_epoxy.in_air_of(air)


def layer_count(depth: float, greatest: float) -> int:
    """Layers of equal depth that a depth asks for, none deeper than the greatest."""
    return max(1, math.ceil(depth / greatest - _EVEN))


def layers(volume: float, area: float, depth: float, overfill: float, count: int) -> tuple[float, ...]:
    """Volume of each of some layers of equal depth, from the bottom up.

    The place is taken to widen upwards as a power of the height, such that its depth, its area at the top and its volume are
    met; above the finished face it goes straight up:

        V(h) = volume * min(h / depth, 1)^(area depth / volume) + area * max(h - depth, 0)

    Args:
        volume: below the finished face [mm3]
        area: at the finished face [mm2]
        depth: below the finished face [mm]
        overfill: above it [mm]
        count: of layers

    Returns:
        Volumes that add up to `volume + area * overfill` [mm3].
    """
    power = max(1.0, area * depth / volume) if volume > 0.0 else 1.0

    def below(height: float) -> float:
        within = volume * min(height / depth, 1.0) ** power if depth > 0.0 else volume
        return within + area * max(0.0, height - depth)

    levels = [below((depth + overfill) * number / count) for number in range(count)]
    levels.append(volume + area * overfill)
    return tuple(upper - lower for lower, upper in itertools.pairwise(levels))


def greatest_batch(epoxy: Epoxy) -> float | None:
    """The most that may be mixed at once [g]; None where the working time is too short for any batch.

    Mixing and pouring take four fifths of the working time at most (common practice):

        most = (0.8 * working - mixing) / minutes per litre * density

    Args:
        epoxy: its sheet
    """
    left = mending_figures().pouring["working_share"] * epoxy.working_minutes * epoxy.slower - epoxy.mixing_minutes
    if left <= 0.0:
        return None
    most = left / epoxy.minutes_per_litre * epoxy.density * 1000.0
    sheet = math.inf if epoxy.greatest_batch is None else epoxy.greatest_batch * 1000.0
    most = min(most, sheet)
    return most if most >= 1.0 else None


def least_batch(epoxy: Epoxy) -> int:
    """The least batch whose ratio is not shifted much by half a gram on the scale, of the smaller part [g]."""
    pouring = mending_figures().pouring
    smaller = min(epoxy.resin_share, 1.0 - epoxy.resin_share)
    return math.ceil(pouring["scale"] / 2.0 / pouring["ratio_error"] / smaller)


def batch_sizes(grams: float, most: float, least: int) -> tuple[int, ...]:
    """Whole grams of each batch of a pour, as equal as can be; none above the most.

    Args:
        grams: that the pour takes
        most: of one batch [g]
        least: of one batch, as far as the most allows [g]

    Returns:
        Sizes whose sum is at least `grams`, and grows with it.
    """
    if grams <= 0.0:
        return ()
    cap = max(1, math.floor(most + _EVEN))
    total = math.ceil(grams - _EVEN)
    count = math.ceil(total / cap)
    total = max(total, count * min(least, cap))
    size, more = divmod(total, count)
    return tuple(size + (number < more) for number in range(count))


def mix(grams: int, epoxy: Epoxy) -> Mix:
    """Resin, hardener and tint of one batch, to the gram; they add up to it.

    Args:
        grams: of the batch
        epoxy: its sheet
    """
    tint = 0
    if epoxy.tint_share > 0.0:
        tint = round(grams * epoxy.tint_share / (1.0 + epoxy.tint_share))
        while tint > epoxy.tint_most * (grams - tint) + _EVEN:
            tint -= 1
    resin = round((grams - tint) * epoxy.resin_share)
    hardener = grams - tint - resin
    off = abs(resin / hardener / epoxy.resin_to_hardener - 1.0) if hardener else math.inf
    return Mix(grams, resin, hardener, tint, off)


def shared_out(wanted: Sequence[float], sizes: Sequence[int]) -> tuple[tuple[tuple[int, float], ...], ...]:
    """Which place each batch goes into, one place after the other.

    Args:
        wanted: of each place, in any unit
        sizes: of the batches

    Returns:
        For each batch the number of each place and its share of the batch; the shares of a batch add up to 1.
    """
    total, made = sum(wanted), sum(sizes)
    found = []
    place, left = 0, (wanted[0] / total * made if wanted else 0.0)
    for size in sizes:
        room, into = float(size), []
        while room > _EVEN * made and place < len(wanted):
            taken = min(room, left)
            if taken > _EVEN * made:
                into.append((place, taken / size))
            room, left = room - taken, left - taken
            if left <= _EVEN * made:
                place += 1
                left = wanted[place] / total * made if place < len(wanted) else 0.0
        found.append(tuple(into))
    return tuple(found)
