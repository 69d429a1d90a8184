"""How far a sum of costs may run: its quantiles from the ranges of what is added up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

TENTH = NormalDist().inv_cdf(0.9)
"""Standard deviations from the middle of a normal distribution to what is passed once in ten."""


@dataclass(frozen=True)
class Uncertain:
    """Something that is added up.

    Attributes:
        mean: expected
        deviation: standard deviation
        together: whether it runs over together with the others of its kind
    """

    mean: float
    deviation: float
    together: bool = False


def deviation(mean: float, low: float, high: float) -> float:
    """Standard deviation of something with a range that is passed once in ten at either end.

    Log-normal where the range lies above 0, as hours and prices are skewed: the logarithm's deviation is
    ln(high / low) / (2 * 1.2816), and deviation = mean * sqrt(exp(s^2) - 1). Else half the range over 1.2816.

    Args:
        mean: expected, 0 or more
        low: passed downwards once in ten
        high: passed upwards once in ten, at least `low`
    """
    if high <= low:
        return 0.0
    if low <= 0.0:
        return (high - low) / (2.0 * TENTH)
    s = min(math.log(high / low) / (2.0 * TENTH), 5.0)
    return mean * math.sqrt(math.expm1(s * s))


def quantile_of_sum(parts: Sequence[Uncertain], share: float, correlation: float) -> float:
    """What the sum stays below in a share of cases.

    Mean and variance of the sum are exact: variances add, and parts that run over together add twice the correlation times the
    product of their deviations for every pair. The sum's distribution is taken as log-normal with that mean and variance [1]_.

    Args:
        parts: what is added up
        share: of cases, above 0 and below 1
        correlation: between every two that run over together, 0 to 1

    Returns:
        The quantile; the mean itself where nothing is uncertain.

    Raises:
        ValueError: share or correlation lie outside their limits.

    References:
        .. [1] L. F. Fenton, The sum of log-normal probability distributions in scatter transmission systems, IRE Trans. Commun.
           Syst. 8 (1960), from memory
    """
    if not 0.0 < share < 1.0 or not 0.0 <= correlation <= 1.0:
        raise ValueError("share lies above 0 and below 1, correlation from 0 to 1")
    mean = math.fsum(part.mean for part in parts)
    own = math.fsum(part.deviation**2 for part in parts)
    joint = [part.deviation for part in parts if part.together]
    variance = own + correlation * (math.fsum(joint) ** 2 - math.fsum(each**2 for each in joint))
    if variance <= 0.0 or mean <= 0.0:
        return mean
    s2 = math.log1p(variance / mean**2)
    return mean * math.exp(NormalDist().inv_cdf(share) * math.sqrt(s2) - s2 / 2.0)
