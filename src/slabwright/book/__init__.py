"""The shop book: jobs with every revision, the log, photos, sign-offs, stock and prices.

Names are imported when they are asked for, so that the command answers at once.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

_HOMES = {
    "open_book": "opening",
    "default_place": "opening",
    "restore_book": "backups",
    "Book": "book",
    **dict.fromkeys(
        (
            "Change",
            "Draft",
            "DraftRow",
            "Entry",
            "JobRow",
            "Photo",
            "PhotoRow",
            "PriceRow",
            "Revision",
            "RevisionRow",
            "SignOff",
            "StockItem",
            "StockMove",
            "Superseded",
        ),
        "rows",
    ),
}

if TYPE_CHECKING:
    from slabwright.book.backups import restore_book
    from slabwright.book.book import Book
    from slabwright.book.opening import default_place, open_book
    from slabwright.book.rows import (
        Change,
        Draft,
        DraftRow,
        Entry,
        JobRow,
        Photo,
        PhotoRow,
        PriceRow,
        Revision,
        RevisionRow,
        SignOff,
        StockItem,
        StockMove,
        Superseded,
    )

__all__ = [
    "Book",
    "Change",
    "Draft",
    "DraftRow",
    "Entry",
    "JobRow",
    "Photo",
    "PhotoRow",
    "PriceRow",
    "Revision",
    "RevisionRow",
    "SignOff",
    "StockItem",
    "StockMove",
    "Superseded",
    "default_place",
    "open_book",
    "restore_book",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"slabwright.book.{_HOMES[name]}"), name)
