"""A plan's figures by their paths, each looked up by itself: a page shows a handful of the thousands that a plan has."""

from __future__ import annotations

import dataclasses
import functools
import re
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

import numpy as np

from slabwright.accounts import Account, Description, as_plain
from slabwright.plan import Plan
from slabwright.why import PARTS, all_accounts

_STEP = re.compile(r"(?:^|\.)([^.\[\]]+)|\[([0-9]+)\]")


class Figures(Mapping[str, Account]):
    """The account of every figure by its path in `plan.json`, in the order of the work.

    Args:
        plan: as it was worked out
    """

    def __init__(self, plan: Plan) -> None:
        self._plan = plan

    def __getitem__(self, path: str) -> Account:
        try:
            return _walked(self._plan, path)
        except _Unclear:
            return self._all[path]

    def __iter__(self) -> Iterator[str]:
        return iter(self._all)

    def __len__(self) -> int:
        return len(self._all)

    @cached_property
    def _all(self) -> dict[str, Account]:
        return {account.path: account for account in all_accounts(self._plan)}


class Plain(Mapping[str, Any]):
    """The value of every figure as JSON holds it.

    Args:
        figures: by path
    """

    def __init__(self, figures: Mapping[str, Account]) -> None:
        self._figures = figures

    def __getitem__(self, path: str) -> Any:
        return as_plain(self._figures[path].value)

    def __iter__(self) -> Iterator[str]:
        return iter(self._figures)

    def __len__(self) -> int:
        return len(self._figures)


class _Unclear(Exception):  # noqa: N818 - it never leaves this file
    """A path leads through names that are no fields, so that it cannot be told where one ends."""


def _walked(plan: Plan, path: str) -> Account:
    """The account at a path.

    Raises:
        KeyError: no figure stands there.
    """
    here: Any = plan
    about: Description | None = None
    at = 0
    while at < len(path):
        step = _STEP.match(path, at)
        if step is None:
            raise KeyError(path)
        if isinstance(here, Mapping):
            raise _Unclear
        name, number = step.groups()
        if number is not None:
            if (
                not isinstance(here, list | tuple | np.ndarray)
                or int(number) >= len(here)
                or number != str(int(number))
            ):
                raise KeyError(path)
            here = here[int(number)]
        else:
            fields = _fields(here.__class__) if at or name in PARTS else {}
            if name not in fields:
                raise KeyError(path)
            here, about = getattr(here, name), fields[name] or about
        at = step.end()
    if isinstance(here, Mapping | list | tuple | np.ndarray) or dataclasses.is_dataclass(here):
        raise KeyError(path)
    if about is None or (here is None and path in PARTS):
        raise KeyError(path)
    return Account(path, here, about)


@functools.cache
def _fields(kind: type) -> dict[str, Description | None]:
    """The fields of a result that are told, each with its own description if it has one."""
    if not dataclasses.is_dataclass(kind):
        return {}
    return {
        field.name: next((value for value in field.metadata.values() if isinstance(value, Description)), None)
        for field in dataclasses.fields(kind)
        if not field.metadata.get("working")
    }
