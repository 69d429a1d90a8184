"""Figures in which two results differ; what both share, as the very same object, is not looked at again."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from slabwright.accounts import Account, Description, accounts, as_plain

_NOTHING = object()


@dataclass(frozen=True)
class Difference:
    """A figure that is not the same in two results.

    Attributes:
        path: in `plan.json`
        old: its account before, or None where it was not there
        new: its account after, or None where it is not there any more
    """

    path: str
    old: Account | None
    new: Account | None


def differing(old: Any, new: Any, path: str = "") -> Iterator[Difference]:
    """Yield the figures in which two results differ, in the order of `plan.json`.

    Args:
        old: a result
        new: a result
        path: of both in `plan.json`
    """
    yield from _differing(old, new, path, None, None)


def _differing(
    old: Any, new: Any, path: str, about_old: Description | None, about_new: Description | None
) -> Iterator[Difference]:
    if old is new:
        return
    if type(old) is type(new) and dataclasses.is_dataclass(old):
        for field in dataclasses.fields(old):
            if not field.metadata.get("working"):
                here = f"{path}.{field.name}" if path else field.name
                about = _described(field)
                yield from _differing(
                    getattr(old, field.name), getattr(new, field.name), here, about or about_old, about or about_new
                )
    elif isinstance(old, Mapping) and isinstance(new, Mapping):
        for key in [*old, *(key for key in new if key not in old)]:
            pair = old.get(key, _NOTHING), new.get(key, _NOTHING)
            yield from _pair(*pair, f"{path}.{key}" if path else str(key), about_old, about_new)
    elif _is_list(old) and _is_list(new):
        for index in range(max(len(old), len(new))):
            pair = (old[index] if index < len(old) else _NOTHING, new[index] if index < len(new) else _NOTHING)
            yield from _pair(*pair, f"{path}[{index}]", about_old, about_new)
    elif _is_leaf(old) and _is_leaf(new):
        if as_plain(old) != as_plain(new):
            nothing = Description("", "")
            yield Difference(path, Account(path, old, about_old or nothing), Account(path, new, about_new or nothing))
    else:
        yield from _alone(old, path, about_old, is_new=False)
        yield from _alone(new, path, about_new, is_new=True)


def _pair(
    old: Any, new: Any, path: str, about_old: Description | None, about_new: Description | None
) -> Iterator[Difference]:
    if old is _NOTHING:
        yield from _alone(new, path, about_new, is_new=True)
    elif new is _NOTHING:
        yield from _alone(old, path, about_old, is_new=False)
    else:
        yield from _differing(old, new, path, about_old, about_new)


def _alone(value: Any, path: str, about: Description | None, *, is_new: bool) -> Iterator[Difference]:
    """Every figure below a result that has no counterpart; a group that is empty has none."""
    if value is None:
        return
    for account in accounts(value, path, about):
        yield Difference(account.path, None, account) if is_new else Difference(account.path, account, None)


def _described(field: dataclasses.Field[Any]) -> Description | None:
    return next((value for value in field.metadata.values() if isinstance(value, Description)), None)


def _is_list(value: Any) -> bool:
    return isinstance(value, list | tuple | np.ndarray)


def _is_leaf(value: Any) -> bool:
    return not (_is_list(value) or isinstance(value, Mapping) or dataclasses.is_dataclass(value))
