"""Remedies that the tool can apply at once: changes of the job's keys, by the code of the problem."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from slabwright.findings import Finding
from slabwright.web.models import Remedy

if TYPE_CHECKING:
    from slabwright.web.planning import Planned

Applies = Callable[[Finding, "Planned"], Remedy | None]
_KNOWN: dict[str, Applies] = {}


def remedies_for(code: str) -> Callable[[Applies], Applies]:
    """Register what makes a remedy out of a problem with this code; a page's module registers those of its room."""

    def register(applies: Applies) -> Applies:
        if code in _KNOWN:
            raise ValueError(f"{code} has its remedy already")
        _KNOWN[code] = applies
        return applies

    return register


def remedy_of(finding: Finding, planned: Planned) -> Remedy | None:
    """The remedy of a problem, where the tool can apply one."""
    applies = _KNOWN.get(finding.code)
    return applies(finding, planned) if applies is not None else None
