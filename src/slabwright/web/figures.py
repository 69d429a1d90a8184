"""Figures and problems of a plan as the pages show them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from slabwright.accounts import Account
from slabwright.findings import Finding, SlabwrightError
from slabwright.quantities import Units, format_bounded, format_length
from slabwright.web.models import Figure, Problem, Why, WhyLine
from slabwright.web.planning import Planned
from slabwright.web.remedies import remedy_of
from slabwright.why import explain, shown

_VOICES = {"stop": "Stop", "caution": "Care", "note": "Note"}
_ORDER = ("stop", "caution", "note")


def problem_of(finding: Finding, planned: Planned | None = None) -> Problem:
    """A finding as people read it; with the plan, also what the tool can do about it."""
    return Problem.model_validate(
        {
            "code": finding.code,
            "severity": finding.severity,
            "voice": _VOICES[finding.severity],
            "message": finding.message,
            "remedy": finding.remedy,
            "source": finding.source,
            "apply": remedy_of(finding, planned) if planned is not None else None,
        }
    )


def problems(planned: Planned, rooms: Sequence[str] | None = None) -> list[Problem]:
    """A plan's problems, worst first.

    Args:
        planned: the plan
        rooms: first parts of the codes that are wanted, such as `slab`; None: all
    """
    found = planned.result.findings if planned.result else ()
    wanted = [finding for finding in found if rooms is None or finding.code.partition("/")[0] in rooms]
    return [problem_of(finding, planned) for severity in _ORDER for finding in wanted if finding.severity == severity]


def figure(planned: Planned, path: str, words: str = "") -> Figure | None:
    """A figure of the plan by its path in `plan.json`; None where it was not worked out.

    Args:
        planned: the plan
        path: of the figure
        words: what the page calls it; its meaning in the plan if left out
    """
    account = planned.figures.get(path)
    if account is None or planned.result is None:
        return None
    head = planned.result.job.stated.job
    return Figure(
        path=path,
        words=words or account.description.meaning,
        value=planned.plain[path],
        unit=account.description.unit,
        shown=told(account, head.units, head.currency),
    )


def told(account: Account, units: Units, currency: str) -> str:
    """A figure as people read it on a page: lengths no finer than they can be marked, and no promise rounded away."""
    if account.description.unit == "mm" and isinstance(account.value, int | float):
        rounds = account.description.rounds
        return (
            format_bounded(float(account.value), units, rounds)
            if rounds
            else format_length(float(account.value), units)
        )
    value, rounds = account.value, account.description.rounds
    if account.description.unit == "1" and isinstance(value, float) and not rounds and 1e-4 <= abs(value) < 1000.0:
        return f"{value:.3g}"
    return shown(value, account.description.unit, units, currency, rounds)


def figures(planned: Planned, wanted: Mapping[str, str]) -> list[Figure]:
    """Those of the figures that were worked out and are known.

    Args:
        planned: the plan
        wanted: what the page calls each figure, by its path
    """
    found = [figure(planned, path, words) for path, words in wanted.items()]
    return [one for one in found if one is not None and one.value is not None]


def why(planned: Planned, path: str) -> Why:
    """The account of a figure.

    Raises:
        SlabwrightError: there is no such figure, or no plan.
    """
    if planned.result is None:
        raise SlabwrightError(f"nothing is worked out: {planned.refused}")
    if path not in planned.figures:
        explain(planned.result, path)  # tells the nearest names where there is none
        if path not in {name.replace("[", ".").replace("]", "") for name in planned.figures}:
            raise SlabwrightError(f"{path!r} is a group of figures; ask for one of them")
    first, *rest = explain(planned.result, path).splitlines()
    lines = []
    label = ""
    for line in rest:
        label = line[2:8].strip() or label
        lines.append(WhyLine(label=label, text=line[8:].strip()))
    return Why(path=path, shown=first.partition(" = ")[2], lines=lines)
