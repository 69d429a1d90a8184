"""Results of stages kept for the next plan: a stage is worked out anew only where what it reads has changed."""

from __future__ import annotations

import dataclasses
import hashlib
import threading
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import numpy as np

from slabwright.job.loaded import Job, Readings

Result = TypeVar("Result")

_AFTER_SLAB = frozenset(
    ("base", "top", "delivery", "finish", "hands", "cables", "quote", "received", "operations", "log", "brief", "mends")
)
"""Tables of the job that the slab and the machine's programs never read."""
_SHOP_AFTER_SLAB = frozenset(
    (
        "router",
        "saw",
        "steel",
        "calendar",
        "hours",
        "history",
        "hands",
        "coatings",
        "money",
        "suppliers",
        "stock",
        "prices",
    )
)
"""The same of the shop; what wood and inserts cost is told beside the ways out of a dip, and moves nothing else of the slab."""
_READ_BY = {
    "slab": ((), ("prices",)),
    "placing": ((), ()),
    "top": (("top",), ("router",)),
    "base": (("base", "cables"), ("saw", "steel", "suppliers")),
    "mending": (("mends", "finish"), ("coatings", "prices")),
    "finish": (("mends", "finish"), ("coatings", "prices")),
    "carry": (("delivery", "hands", "cables", "brief"), ("hands",)),
    "locating": ((), ()),
}
"""What a stage reads of job and shop besides what the stages before it read."""
_UNDER = {
    "slab": "lie",
    "placing": "lie",
    "top": "lie",
    "base": "top",
    "mending": "top",
    "finish": "base",
    "carry": "base",
    "locating": "top",
}
"""The stage on whose results a stage rests, and so on all that this one reads."""


class Kept:
    """The last results of each stage, each with all that it was worked out from. Threads may share it."""

    def __init__(self, most: int = 4) -> None:
        """Begin with nothing.

        Args:
            most: results that are kept of each stage; those that were not asked for longest go
        """
        self._most = most
        self._lock = threading.Lock()
        self._stages: dict[str, list[tuple[object, Any]]] = {}

    def known(self, stage: str, read: object) -> Any:
        """What is kept of a stage for the same that it reads; None where nothing is."""
        with self._lock:
            held = self._stages.get(stage, [])
            for number, (known, result) in enumerate(held):
                if known == read:
                    held.append(held.pop(number))
                    return result
        return None

    def keep(self, stage: str, read: object, result: Result) -> Result:
        """Keep a stage's result for the next plan."""
        with self._lock:
            held = self._stages.setdefault(stage, [])
            held.append((read, result))
            del held[: -self._most]
        return result

    def of(self, stage: str, read: object, work: Callable[[], Result]) -> Result:
        """A stage's result: kept, or worked out."""
        found: Result | None = self.known(stage, read)
        return self.keep(stage, read, work()) if found is None else found


def read_by(job: Job, stage: str) -> tuple[object, ...]:
    """All that a stage reads, to be compared with what it read before.

    Args:
        job: as loaded; its `ripest` readings
        stage: lie (the slab but for the ways out of a dip), slab, placing, top, base, mending, finish, carry or locating; the
            machine's programs read what the lie does
    """
    head, piece = job.stated.job, job.stated.piece
    if stage == "lie":
        bare = piece.model_copy(update={"length": None, "height": None, "base": None, "finish": None})
        return (
            head.units,
            head.currency,
            bare,
            *_tables(job.stated, _others(job.stated, _AFTER_SLAB | {"job", "piece"})),
            *_tables(job.shop, _others(job.shop, _SHOP_AFTER_SLAB)),
            frozenset(key.split(".")[0] for key in job.where if key.startswith("shop:")),
            None if job.readings is None else print_of(job.readings),
        )
    of_job, of_shop = _READ_BY[stage]
    tables = *_tables(job.stated, of_job), *_tables(job.shop, of_shop)
    return (*read_by(job, _UNDER[stage]), *tables, *_more(job, stage))


def _more(job: Job, stage: str) -> tuple[object, ...]:
    """What a stage reads of tables that are not all its own."""
    head, piece = job.stated.job, job.stated.piece
    match stage:
        case "slab" | "top":
            return (piece.length,)
        case "placing":
            top = job.stated.top
            return (piece.length, None if top is None else (top.turn_most, top.defect_cost))
        case "base":
            # Prices of steel may hold from a day on.
            return (piece, head.date)
        case "finish":
            return (piece, head.date, "top.paint" in job.where)
        case "carry":
            return (any(key.startswith(("hands.", "shop:hands.")) for key in job.where),)
        case "locating":
            return (head.title, head.revision)
    return ()


def _others(model: Any, without: frozenset[str]) -> list[str]:
    return [name for name in type(model).model_fields if name not in without]


def _tables(model: Any, names: Iterable[str]) -> list[object]:
    return [getattr(model, name) for name in names]


def print_of(readings: Readings) -> bytes:
    """A print of readings: equal for equal readings, and for no others."""
    whole = hashlib.blake2b()

    def take(value: object) -> None:
        if isinstance(value, np.ndarray):
            whole.update(f"{value.dtype}{value.shape}".encode())
            whole.update(np.ascontiguousarray(value).data)
        elif dataclasses.is_dataclass(value):
            whole.update(type(value).__name__.encode())
            for field in dataclasses.fields(value):
                take(getattr(value, field.name))
        else:
            whole.update(repr(value).encode())

    take(readings)
    return whole.digest()
