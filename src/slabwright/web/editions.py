"""What files that are taken from the book are called, and which revision they say that they are of."""

from __future__ import annotations

import re
import unicodedata

from slabwright.book import JobRow, Revision
from slabwright.sheets.edition import Edition

_LONGEST = 40


def edition_of(revision: Revision) -> Edition:
    """The edition of files that are made from a revision: its number, and its day on the shop's own clock."""
    return Edition(revision.number, revision.when.astimezone().date())


def called(row: JobRow, revision: int, what: str = "") -> str:
    """The name of a download, without its ending: the job's title, the revision, and what it is.

    Args:
        row: of the job
        revision: that it is made from
        what: such as `quote`; nothing: all of it
    """
    letters = unicodedata.normalize("NFKD", row.title).encode("ascii", "ignore").decode().lower()
    title = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:_LONGEST].strip("-") or f"job-{row.id}"
    return "-".join(part for part in (title, f"revision-{revision}", what) if part)
