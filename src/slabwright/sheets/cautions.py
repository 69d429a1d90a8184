"""The cautions, as data with their sources."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class Caution:
    """One caution.

    Attributes:
        where: the kind of work at which it is printed
        text: what to mind
        source: whose rule it is
    """

    where: str
    text: str
    source: str


@cache
def _read() -> tuple[str, tuple[Caution, ...]]:
    data = tomllib.loads((files("slabwright.sheets") / "cautions.toml").read_text("utf-8"))
    return str(data["first"]), tuple(Caution(**row) for row in data["caution"])


def always() -> str:
    """What every box of cautions begins with."""
    return _read()[0]


def cautions(*where: str) -> tuple[Caution, ...]:
    """The cautions of some kinds of work, in the file's order.

    Raises:
        ValueError: a kind of work that no caution is for
    """
    known = {caution.where for caution in _read()[1]}
    if missing := set(where) - known:
        raise ValueError(f"no cautions for {sorted(missing)}; there are some for {sorted(known)}")
    return tuple(caution for caution in _read()[1] if caution.where in where)
