"""What logged hours teach: the usual time of one kind of operation and its spread, newer jobs counting more.

The logarithm of what an operation took over what it usually takes is normal, mean and variance unknown; the usual times are the
prior, with b0 = a0 within^2. The conjugate normal-inverse-gamma model gives in closed form [1]_, with weights w of the logged
hours y:

    k = k0 + sum w,   m = (k0 m0 + sum w y) / k,   a = a0 + sum w / 2
    b = b0 + (sum w y^2 - (sum w y)^2 / sum w) / 2 + k0 sum w (mean y - m0)^2 / (2 k)

and for the next one a Student t of 2 a degrees of freedom about m, of scale sqrt(b (k + 1) / (a k)).

References:
    .. [1] Bernardo and Smith, Bayesian Theory, 1994, appendix A: normal model, both parameters unknown (from memory)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from slabwright.reference.hours import KindOfWork, SpreadRules


@dataclass(frozen=True)
class Taken:
    """What one logged operation took.

    Attributes:
        job: whose
        ratio: minutes that it took over the usual minutes of its amount
    """

    job: str
    ratio: float


@dataclass(frozen=True)
class Belief:
    """What is known of a kind's time over its usual time, logarithms throughout.

    Attributes:
        centre: prior mean, m0
        behind_centre: equivalent number of logged operations behind it, k0
        behind_spread: the same behind the prior spread, 2 a0
        within: prior scale from job to job, b0 = a0 within^2
        weight: sum of the weights
        total: sum of weight x y
        squares: sum of weight x y^2
        logged: operations that were logged
        jobs: jobs that they were logged in
        far_off: logged ones that lay too far off to count in full
    """

    centre: float
    behind_centre: float
    behind_spread: float
    within: float
    weight: float = 0.0
    total: float = 0.0
    squares: float = 0.0
    logged: int = 0
    jobs: int = 0
    far_off: int = 0

    @property
    def known(self) -> float:
        """Equivalent number of operations behind the mean, k."""
        return self.behind_centre + self.weight

    @property
    def mean(self) -> float:
        """Mean of the logarithm, m."""
        return (self.behind_centre * self.centre + self.total) / self.known

    @property
    def freedom(self) -> float:
        """Degrees of freedom of the next one, 2 a."""
        return self.behind_spread + self.weight

    @property
    def variance_within(self) -> float:
        """Square of the t's scale of one operation about a known mean, b / a."""
        a0 = self.behind_spread / 2.0
        b = a0 * self.within**2
        if self.weight > 0.0:
            mean = self.total / self.weight
            b += max(0.0, self.squares - self.total * mean) / 2.0
            b += self.behind_centre * self.weight * (mean - self.centre) ** 2 / (2.0 * self.known)
        return b / (self.freedom / 2.0)

    @property
    def scale(self) -> float:
        """Scale of the t of the next operation."""
        return math.sqrt(self.variance_within * (1.0 + 1.0 / self.known))

    @property
    def spread(self) -> float:
        """Standard deviation of the logarithm of the next operation's time."""
        return self.scale * self._wider

    @property
    def spread_of_rate(self) -> float:
        """The part of `spread` that all operations of this kind have in common."""
        return math.sqrt(self.variance_within / self.known) * self._wider

    @property
    def _wider(self) -> float:
        """Standard deviation of the t of scale one."""
        return math.sqrt(self.freedom / (self.freedom - 2.0))

    @property
    def even(self) -> float:
        """Even-chance time over the usual time."""
        return math.exp(self.mean)

    @property
    def average(self) -> float:
        """Mean time over the usual time: of a log-normal of the same mean and variance of the logarithm."""
        return math.exp(self.mean + self.spread**2 / 2.0)

    def reaches(self, share: float) -> float:
        """Time over the usual time that the next one does not exceed with this chance."""
        return math.exp(self.mean + self.scale * _t(round(self.freedom, 3), share))

    def after(self, ratio: float, rules: SpreadRules, fade: float = 1.0, *, same_job: bool = False) -> Belief:
        """What is known after one more operation.

        Args:
            ratio: minutes that it took over the usual minutes
            rules: how far off counts as a slip
            fade: by which all that was logged before counts less
            same_job: whether the one before was logged in the same job
        """
        y = math.log(ratio)
        reach = rules.far_off * self.scale
        held = min(max(y, self.mean - reach), self.mean + reach)
        return replace(
            self,
            weight=self.weight * fade + 1.0,
            total=self.total * fade + held,
            squares=self.squares * fade + held**2,
            logged=self.logged + 1,
            jobs=self.jobs + (not same_job),
            far_off=self.far_off + (held != y),
        )


@lru_cache(maxsize=4096)
def _t(freedom: float, share: float) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(freedom, share))


def beginning(kind: KindOfWork, rules: SpreadRules) -> Belief:
    """What is known of a kind before anything is logged: its usual time, and how far makers differ."""
    return Belief(
        centre=0.0,
        behind_centre=kind.within**2 / kind.between**2,
        behind_spread=rules.behind_spread,
        within=kind.within,
    )


def learn(known: Belief, taken: Sequence[Taken], rules: SpreadRules, half_life: float) -> Belief:
    """What is known of a kind after some operations.

    Args:
        known: before
        taken: in the order of their dates
        rules: how far off counts as a slip
        half_life: jobs of this kind after which one that was logged counts half; within a job nothing fades

    Returns:
        What is known now.
    """
    fade = 0.5 ** (1.0 / half_life)
    last: str | None = None
    for each in taken:
        same = each.job == last
        known = known.after(each.ratio, rules, 1.0 if same else fade, same_job=same)
        last = each.job
    return known
