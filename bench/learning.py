"""Hours that learn: simulated makers whose times differ from the usual ones, drift, scatter, and now and then go wrong."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator

import numpy as np

from bench.row import Row
from slabwright.geometry.faces import Floats
from slabwright.reference.hours import KindOfWork, hours_table
from slabwright.shop.learning import beginning

MAKERS = 1000
JOBS = 24
HALF_LIFE = 12.0


def simulated(kind: KindOfWork, makers: int, jobs: int, seed: int, slow: float = 1.0) -> Floats:
    """Times over the usual time of makers who know nothing of the model, shape (makers, jobs).

    Each maker has a usual time of their own, a scatter of their own, gets quicker or slower from job to job, and one job in forty
    goes wrong: up to three times as long, or a slip of the pen the other way.

    Args:
        kind: gives both spreads
        makers: how many
        jobs: of each
        seed: of the draws
        slow: by which all makers are slower than the usual times say
    """
    rng = np.random.default_rng(seed)
    usual = rng.normal(math.log(slow), kind.between, (makers, 1))
    scatter = kind.within * np.exp(rng.normal(0.0, 0.25, (makers, 1)))
    drift = rng.normal(-0.004, 0.01, (makers, 1)) * np.arange(jobs) + np.cumsum(
        rng.normal(0.0, 0.03, (makers, jobs)), axis=1
    )
    wrong = rng.random((makers, jobs)) < 0.025
    slips = np.where(rng.random((makers, jobs)) < 0.8, 1.0, -1.0) * np.log(rng.uniform(1.8, 3.0, (makers, jobs)))
    return np.asarray(np.exp(usual + drift + scatter * rng.normal(size=(makers, jobs)) + np.where(wrong, slips, 0.0)))


def followed(kind: KindOfWork, times: Floats, half_life: float = HALF_LIFE) -> tuple[Floats, Floats, Floats]:
    """Estimate, low and high for each job of each maker, from the jobs before it; each of the shape of `times`."""
    rules = hours_table().spread
    fade = 0.5 ** (1.0 / half_life)
    told = np.empty((3, *times.shape))
    for maker, row in enumerate(times):
        known = beginning(kind, rules)
        for job, ratio in enumerate(row):
            told[:, maker, job] = known.even, known.reaches(0.1), known.reaches(0.9)
            known = known.after(float(ratio), rules, fade)
    return told[0], told[1], told[2]


def _rows_of(name: str, slow: float = 1.0) -> Iterator[Row]:
    kind = hours_table().kinds[name]
    times = simulated(kind, MAKERS, JOBS, seed=7, slow=slow)
    told, low, high = followed(kind, times)
    inside = ((low <= times) & (times <= high)).mean(axis=0)
    who = f"{MAKERS} makers, {name}" + (f", all {slow:g} times as slow as the usual times" if slow != 1.0 else "")
    yield Row(
        name=f"{who}: how often the 80 % range holds",
        measured=f"{100 * inside[10]:.1f} % after ten jobs; {100 * inside[:3].mean():.0f} % of the first three,"
        f" {100 * inside[10:].mean():.1f} % of jobs 11 to {JOBS}",
        reference="80 %",
        ratio=float(inside[10]) / 0.8,
        limit="75 to 85 % after ten jobs",
        passed=0.75 <= inside[10] <= 0.85 and 0.75 <= inside[10:].mean() <= 0.85,
        note="drifting, scatter of their own, one job in forty goes wrong",
    )
    wrong, usual = np.abs(told - times).mean(axis=0), np.abs(1.0 - times).mean(axis=0)
    yield Row(
        name=f"{who}: mean error",
        measured=", ".join(f"job {job + 1}: {wrong[job]:.3f}" for job in (2, 5, 10, JOBS - 1)),
        reference=", ".join(f"{usual[job]:.3f}" for job in (2, 5, 10, JOBS - 1)) + " with the usual times alone",
        ratio=float(wrong[2:].mean() / usual[2:].mean()),
        limit="lower from the third job on",
        passed=bool((wrong[2:] < usual[2:]).all()),
        note="in shares of the usual time",
    )


def _changed() -> Row:
    """A maker who gets a better tool: how soon the estimate follows, with and without fading."""
    kind = hours_table().kinds["weld"]
    times = simulated(kind, 300, 40, seed=11)
    times[:, 20:] *= 0.6
    errors = []
    for half_life in (HALF_LIFE, 1e9):
        told, _, _ = followed(kind, times, half_life)
        errors.append(float(np.abs(np.log(told[:, 24:32] / times[:, 24:32])).mean()))
    return Row(
        name="a new tool takes 40 % off after job 20: mean error of jobs 25 to 32",
        measured=f"{errors[0]:.3f}",
        reference=f"{errors[1]:.3f} where old jobs count as much as new ones",
        ratio=errors[0] / errors[1],
        limit="lower",
        passed=errors[0] < errors[1],
        note="of the logarithm of the time",
    )


def _demo() -> Row:
    from pathlib import Path

    from slabwright.job.load import load_job
    from slabwright.plan import plan
    from slabwright.shop.hours import hours_plan
    from slabwright.shop.operations import PlanParts

    made = plan(load_job(Path(__file__).parents[1] / "examples" / "reading-table" / "job.toml"))
    parts = PlanParts(made.slab, made.top, made.base, made.machine, made.finish, made.carry)
    times = []
    for _ in range(9):
        start = time.perf_counter()
        done, _ = hours_plan(made.job, parts)
        times.append(time.perf_counter() - start)
    middle = sorted(times)[4]
    return Row(
        name=f"all {len(done.operations)} operations and hours of the demo",
        measured=f"{1000 * middle:.1f} ms",
        reference="20 ms",
        ratio=middle / 0.02,
        limit="under 20 ms",
        passed=middle < 0.02,
    )


def rows() -> Iterator[Row]:
    """All rows."""
    yield from _rows_of("weld")
    yield from _rows_of("read faces")
    yield from _rows_of("surface")
    yield from _rows_of("weld", slow=1.6)
    yield _changed()
    yield _demo()
