"""Learning of hours: the conjugate model against integration, newer jobs count more, slips are held back, ranges hold."""

from __future__ import annotations

import math

import numpy as np
import pytest
from bench.learning import followed, simulated
from scipy import stats

from slabwright.reference.hours import KindOfWork, hours_table
from slabwright.shop.learning import Belief, Taken, beginning, learn

RULES = hours_table().spread
KIND = KindOfWork("weld", "min", "arc time", 1.0, 0.0, 0.3, 0.4)
NEVER = 1e9


def logs(values: list[float]) -> list[Taken]:
    return [Taken(f"job {number}", math.exp(value)) for number, value in enumerate(values)]


def test_the_closed_form_is_the_posterior_by_integration() -> None:
    values = [0.3, 0.1, 0.45, 0.2]
    known = learn(beginning(KIND, RULES), logs(values), RULES, NEVER)
    assert known.far_off == 0
    # Prior: variance inverse-gamma of shape a0, scale a0 within^2; mean normal about 0 of variance / k0.
    a0, k0 = RULES.behind_spread / 2.0, KIND.within**2 / KIND.between**2
    means, variances = np.linspace(-1.5, 1.8, 661)[:, None], np.geomspace(0.003, 3.0, 600)[None, :]
    weight = stats.invgamma.logpdf(variances, a0, scale=a0 * KIND.within**2) + np.log(variances)
    weight = weight + stats.norm.logpdf(means, 0.0, np.sqrt(variances / k0))
    for value in values:
        weight = weight + stats.norm.logpdf(value, means, np.sqrt(variances))
    share = np.exp(weight - weight.max())
    share /= share.sum()
    assert known.mean == pytest.approx(float((share * means).sum()), abs=1e-3)
    for chance in (0.1, 0.5, 0.9):
        below = float((share * stats.norm.cdf(math.log(known.reaches(chance)), means, np.sqrt(variances))).sum())
        assert below == pytest.approx(chance, abs=2e-3)
    spread = math.sqrt(float((share * (variances + means**2)).sum()) - float((share * means).sum()) ** 2)
    assert known.spread == pytest.approx(spread, rel=0.01)


def test_before_anything_is_logged_the_usual_time_holds() -> None:
    known = beginning(KIND, RULES)
    assert known.even == 1.0 and known.jobs == 0
    assert known.reaches(0.1) < 1.0 < known.average < known.reaches(0.9)
    assert known.reaches(0.1) * known.reaches(0.9) == pytest.approx(1.0)


def test_many_logs_give_their_own_mean_and_scatter() -> None:
    rng = np.random.default_rng(3)
    values = rng.normal(0.5, 0.2, 4000)
    known = learn(beginning(KIND, RULES), logs(list(values)), RULES, NEVER)
    assert known.mean == pytest.approx(values.mean(), abs=2e-3)
    assert known.spread == pytest.approx(0.2, rel=0.05)
    assert math.log(known.reaches(0.9)) == pytest.approx(np.quantile(values, 0.9), abs=0.02)


def test_newer_jobs_count_more_and_half_after_the_half_life() -> None:
    def weights(half_life: float) -> list[float]:
        found = []
        for at in range(7):
            values = [0.0] * 7
            values[at] = 0.01
            found.append(learn(beginning(KIND, RULES), logs(values), RULES, half_life).total)
        return found

    by_age = weights(3.0)
    assert by_age == sorted(by_age)
    assert by_age[3] / by_age[6] == pytest.approx(0.5) and by_age[0] / by_age[6] == pytest.approx(0.25)
    even = weights(NEVER)
    assert even[0] == pytest.approx(even[6])


def test_within_a_job_nothing_fades() -> None:
    taken = [Taken("one", 1.2), Taken("one", 1.1), Taken("two", 1.3)]
    known = learn(beginning(KIND, RULES), taken, RULES, 1.0)
    assert known.weight == pytest.approx(0.5 * 2 + 1) and (known.logged, known.jobs) == (3, 2)


def test_one_slip_of_the_pen_does_little() -> None:
    steady = [0.1, 0.0, 0.15, -0.05, 0.1, 0.05]
    clean = learn(beginning(KIND, RULES), logs(steady), RULES, 12.0)
    slip = learn(beginning(KIND, RULES), logs([*steady, math.log(60.0)]), RULES, 12.0)
    assert slip.far_off == 1 and slip.even < 1.3 * clean.even


def test_every_log_narrows_what_is_known_of_the_rate() -> None:
    known: Belief = beginning(KIND, RULES)
    for _ in range(6):
        after = known.after(1.0, RULES)
        assert after.spread_of_rate < known.spread_of_rate and after.reaches(0.9) < known.reaches(0.9)
        known = after


@pytest.mark.parametrize(("name", "slow"), [("weld", 1.0), ("read faces", 1.0), ("weld", 1.6)])
def test_ranges_hold_and_errors_shrink_on_simulated_makers(name: str, slow: float) -> None:
    kind = hours_table().kinds[name]
    times = simulated(kind, 400, 14, seed=1, slow=slow)
    told, low, high = followed(kind, times)
    inside = ((low <= times) & (times <= high)).mean(axis=0)
    assert 0.75 <= inside[10:].mean() <= 0.85
    wrong, usual = np.abs(told - times).mean(axis=0), np.abs(1.0 - times).mean(axis=0)
    assert (wrong[2:] < usual[2:]).all()
