"""Figures in which two results differ; what both share, as the very same object, is not looked at again."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from slabwright.accounts import Account, Description, accounts, as_plain

_NOTHING = object()
_SIMPLE = frozenset((str, int, float, bool))


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
    found: list[Difference] = []
    _differing(found, old, new, path, None, None)
    yield from found


def _differing(
    found: list[Difference],
    old: Any,
    new: Any,
    path: str,
    about_old: Description | None,
    about_new: Description | None,
) -> None:
    if _same(old, new):
        return
    if type(old) is type(new) and dataclasses.is_dataclass(old) and not isinstance(old, type):
        for name, about in _fields(type(old)):
            pair = getattr(old, name), getattr(new, name)
            if not _same(*pair):
                here = f"{path}.{name}" if path else name
                _differing(found, *pair, here, about or about_old, about or about_new)
    elif isinstance(old, Mapping) and isinstance(new, Mapping):
        for key in [*old, *(key for key in new if key not in old)]:
            pair = old.get(key, _NOTHING), new.get(key, _NOTHING)
            if not _same(*pair):
                _pair(found, *pair, f"{path}.{key}" if path else str(key), about_old, about_new)
    elif _is_list(old) and _is_list(new):
        for index in range(max(len(old), len(new))):
            pair = (old[index] if index < len(old) else _NOTHING, new[index] if index < len(new) else _NOTHING)
            if not _same(*pair):
                _pair(found, *pair, f"{path}[{index}]", about_old, about_new)
    elif _is_leaf(old) and _is_leaf(new):
        if as_plain(old) != as_plain(new):
            nothing = Description("", "")
            accounts_ = Account(path, old, about_old or nothing), Account(path, new, about_new or nothing)
            found.append(Difference(path, *accounts_))
    else:
        _alone(found, old, path, about_old, is_new=False)
        _alone(found, new, path, about_new, is_new=True)


def _same(old: Any, new: Any) -> bool:
    """Whether two are known to be the same without looking into them."""
    if old is new:
        return True
    kind = type(old)
    return kind is type(new) and (
        (kind in _SIMPLE and bool(old == new))
        or (kind is np.ndarray and old.dtype.kind in "fib" and np.array_equal(old, new))
    )


def _pair(
    found: list[Difference],
    old: Any,
    new: Any,
    path: str,
    about_old: Description | None,
    about_new: Description | None,
) -> None:
    if old is _NOTHING:
        _alone(found, new, path, about_new, is_new=True)
    elif new is _NOTHING:
        _alone(found, old, path, about_old, is_new=False)
    else:
        _differing(found, old, new, path, about_old, about_new)


def _alone(found: list[Difference], value: Any, path: str, about: Description | None, *, is_new: bool) -> None:
    """Every figure below a result that has no counterpart; a group that is empty has none."""
    if value is None:
        return
    found.extend(
        Difference(account.path, None, account) if is_new else Difference(account.path, account, None)
        for account in accounts(value, path, about)
    )


@functools.cache
def _fields(kind: type) -> tuple[tuple[str, Description | None], ...]:
    """The fields of a result that are told, each with its own description if it has one."""
    return tuple(
        (field.name, next((value for value in field.metadata.values() if isinstance(value, Description)), None))
        for field in dataclasses.fields(kind)
        if not field.metadata.get("working")
    )


def _is_list(value: Any) -> bool:
    return isinstance(value, list | tuple | np.ndarray)


def _is_leaf(value: Any) -> bool:
    return not (_is_list(value) or isinstance(value, Mapping) or dataclasses.is_dataclass(value))
