"""What a paint's film takes: coverage, wet film and amounts, from volume solids and dry film."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.job.coating_fields import M2_PER_LITRE
from slabwright.job.finish_models import Coating

MIL = 25.4
"""One thousandth of an inch [micrometres]."""


def coverage(solids: float, film: float) -> float:
    """Theoretical area that a litre covers [m2/l].

    What is solid of a litre, spread as thick as the film [1]_:

        coverage = 10 * solids / film

    Args:
        solids: volume solids [%], above 0 to 100
        film: dry film [micrometres], above 0

    Raises:
        ValueError: there is no such film or no such share of solids.

    References:
        .. [1] arithmetic: 1 l is 1000 cm3; 1 % of it, 1 micrometre thick, covers 10 m2.
    """
    if not 0.0 < solids <= 100.0:
        raise ValueError(f"volume solids of {solids:g} % cannot be: they are above 0 and at most 100 %")
    if not film > 0.0:
        raise ValueError(f"a dry film of {film:g} micrometres cannot be: it is above 0")
    return 10.0 * solids / film


def coverage_us(solids: float, mils: float) -> float:
    """The same in units of the United States [sq ft per gallon], film in mils: 1604 * share of solids / film [1]_.

    Raises:
        ValueError: there is no such film or no such share of solids.

    References:
        .. [1] a gallon has 231 cubic inches: 231 * 1000 / 144 = 1604.17 sq ft, a mil thick.
    """
    return coverage(solids, mils * MIL) / M2_PER_LITRE


def practical(theoretical: float, loss: float) -> float:
    """Coverage after losses: theoretical * (1 - loss); in the units that it is given in.

    Raises:
        ValueError: the loss is no share below 1.
    """
    if not 0.0 <= loss < 1.0:
        raise ValueError(f"a loss of {loss:g} cannot be: it is a share from 0, below 1")
    return theoretical * (1.0 - loss)


def wet_film(film: float, solids: float, thinner: float = 0.0) -> float:
    """Wet film that dries to a film: film * (1 + thinner) / share of solids [as film].

    Args:
        film: dry [micrometres or mils]
        solids: volume solids before thinning [%]
        thinner: share of the volume that is added

    Raises:
        ValueError: there is no such film or no such share of solids.
    """
    coverage(solids, film)
    return film * (1.0 + thinner) / (solids / 100.0)


@dataclass(frozen=True)
class PartAmount:
    """How much of one component is measured out."""

    name: str = figure("", "A, B, or thinner; empty: it comes ready to use")
    volume: float | None = figure(
        "l",
        "of it; empty where it is weighed and its density is not known",
        how="volume of the mix by the parts, or mass over density",
        rests_on=("shop:coatings",),
    )
    mass: float | None = figure(
        "kg",
        "of it; empty where its density is not known",
        how="mass of the mix by the parts, or volume times density",
        rests_on=("shop:coatings",),
    )


def densities(coating: Coating) -> tuple[float | None, float | None, float | None]:
    """Density of the mix, of A and of B, as far as they are stated or follow [kg/l]."""
    more = coating.more
    a, b, mixed = more.density_a, more.density_b, more.density
    if coating.mix is None or len(coating.mix) == 1:
        return (mixed or a, mixed or a, None)
    first, second = coating.mix
    if coating.mix_by == "mass":
        # The stated components rule; a mix's own density serves where one of them is not known.
        mixed = (first + second) / (first / a + second / b) if a and b else mixed
        return mixed, a, b
    return (first * a + second * b) / (first + second) if a and b else mixed, a, b


def parts_of(coating: Coating, litres: float) -> tuple[PartAmount, ...]:
    """What is measured out for a volume of the mix, thinner beside it.

    Args:
        coating: with its parts and densities
        litres: of the mix, before thinner [l]
    """
    mixed, a, b = densities(coating)
    found: list[PartAmount]
    if coating.mix is None or len(coating.mix) == 1:
        found = [PartAmount("", litres, litres * mixed if mixed else None)]
    else:
        whole = sum(coating.mix)
        shares = [part / whole for part in coating.mix]
        found = []
        for name, share, density in zip("AB", shares, (a, b), strict=True):
            if coating.mix_by == "volume":
                found.append(PartAmount(name, litres * share, litres * share * density if density else None))
            else:
                assert mixed is not None  # a coating that is mixed by mass states what gives it
                mass = litres * mixed * share
                found.append(PartAmount(name, mass / density if density else None, mass))
    if coating.more.thinner > 0.0:
        found.append(PartAmount("thinner", litres * coating.more.thinner, None))
    return tuple(found)
