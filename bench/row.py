"""One measured claim."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One row of the bench.

    Attributes:
        name: what is measured
        measured: the figure with its unit, as it is printed
        reference: what it is compared with
        ratio: measured over reference, or None where a ratio means nothing
        limit: what was asked for, in words
        passed: whether it holds; None for a row that only tells
        note: anything to know
    """

    name: str
    measured: str
    reference: str
    ratio: float | None
    limit: str
    passed: bool | None
    note: str = ""
