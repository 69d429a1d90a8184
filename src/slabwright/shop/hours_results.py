"""The hours of a job: in all, by kind, what they rest on, and what took longer."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.shop.operations_results import WorkOperation

_LOGS = ("shop:hours", "shop:history", "job:log")
_SUM = ("shop.operations", "shop.rates")
_ADDED = (
    "means added up; spread from job to job independent, the usual times of one kind shared by its operations, and half of the "
    "spread between makers shared by all kinds; range of a log-normal of that mean and spread"
)


@dataclass(frozen=True)
class KindHours:
    """One kind of operation in this job: its rate, what that rests on, and its hours."""

    kind: str = figure("", "of operation")
    operations: int = figure("1", "in this job")
    driver: str = figure("", "what its time goes with")
    amount: float = figure("1", "of it, in all", rests_on=("shop.operations",))
    unit: str = figure("", "of the amount")
    rate: float = figure(
        "min",
        "for each unit, even chance",
        how="usual minutes x what the log teaches: mean of the logarithms, the usual time counting as a few jobs and newer jobs"
        " more; far-off ones held back",
        rests_on=_LOGS,
        sure="rate_low, rate_high",
        source="conjugate normal model, both parameters unknown; usual times from memory",
        change="log more, or [[hours.rates]]",
    )
    rate_low: float = figure("min", "one time in ten an operation of one unit takes less, set-up apart", rests_on=_LOGS)
    rate_high: float = figure(
        "min", "one time in ten an operation of one unit takes more, set-up apart", rests_on=_LOGS
    )
    set_up: float = figure("min", "before and after, even chance", rests_on=_LOGS)
    usual_rate: float = figure("min", "for each unit, before anything is logged", source="reference/hours.toml")
    logged: int = figure("1", "operations that were logged", rests_on=_LOGS)
    jobs: int = figure("1", "jobs that they were logged in", rests_on=_LOGS)
    rests: str = figure("", "what it rests on: usual times, logged jobs, or your own rate")
    person_minutes: float = figure("min", "of all persons, even chance", how=_ADDED, rests_on=_SUM)
    mean: float = figure("min", "of all persons, mean", how="minutes x persons, added up", rests_on=_SUM)
    low: float = figure("min", "one time in ten it is less", how=_ADDED, rests_on=_SUM)
    high: float = figure("min", "one time in ten it is more", how=_ADDED, rests_on=_SUM)


@dataclass(frozen=True)
class HoursTotal:
    """The hours of the whole job."""

    attended: float = figure(
        "min",
        "of all persons, even chance",
        how=_ADDED,
        rests_on=_SUM,
        sure="low, high",
        change="log what it takes: the range narrows",
    )
    mean: float = figure("min", "of all persons, mean", how="minutes x persons, added up", rests_on=_SUM)
    low: float = figure("min", "one time in ten it is less", how=_ADDED, rests_on=_SUM)
    high: float = figure("min", "one time in ten it is more", how=_ADDED, rests_on=_SUM)
    left: float = figure(
        "min", "of all persons, of what is not done yet, mean", how="added up", rests_on=("shop.operations", "job:log")
    )
    done: float = figure("min", "of all persons, of what is done, mean or as logged", rests_on=("job:log",))
    lost: float = figure("min", "logged on tries that failed", rests_on=("job:log",))
    machine: float = figure(
        "min",
        "that the machine runs, with looking on",
        how="operations that cut on its bed, even chance",
        rests_on=_SUM,
    )
    unattended: float = figure(
        "min", "of waiting, added up; much of it side by side", how="added up", rests_on=("shop.operations",)
    )
    from_logs: float = figure(
        "1", "share of the mean hours that rests on logged jobs or your own figures", rests_on=("shop.rates",)
    )


@dataclass(frozen=True)
class TookLonger:
    """One operation that was logged, against what was expected before this job's log."""

    operation: str = figure("", "which")
    kind: str = figure("", "of operation")
    expected: float = figure("min", "even chance, before this job's log", rests_on=("shop:hours", "shop:history"))
    took: float = figure("min", "as logged, tries that failed counted", rests_on=("job:log",))
    difference: float = figure("min", "that it took longer; less than nothing: shorter", how="took less expected")
    ratio: float = figure("1", "took over expected")
    outside: bool = figure("", "whether it lies outside the 80 % range", rests_on=("shop:hours", "shop:history"))
    note: str = figure("", "what was noted", rests_on=("job:log",))


@dataclass(frozen=True)
class HoursPlan:
    """What is to be done, and its hours."""

    operations: tuple[WorkOperation, ...] = figure("", "everything that is to be done, each after what it comes after")
    hours: HoursTotal = figure("min", "of the whole job")
    rates: tuple[KindHours, ...] = figure("", "each kind: its rate and its hours, most hours first")
    took_longer: tuple[TookLonger, ...] = figure("", "what took longer than expected, most minutes first")
