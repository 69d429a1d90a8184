"""What each file of a job is for, in the bench's words, and who takes it."""

from __future__ import annotations

import re

_WORDS: tuple[tuple[str, str, str], ...] = (
    (r"bench-sheets\.pdf", "At the bench", "every sheet, to print"),
    (r"templates/outline.*\.pdf", "At the bench", "outline in full size, to print and tape together"),
    (r"templates/.*\.pdf", "At the bench", "template in full size, to print"),
    (r"quote\.pdf", "For the client", "the quote"),
    (r"invoice-.*\.pdf", "For the client", "invoice of one payment"),
    (r"programs/.*", "For the machine", "program"),
    (r"bed-layout\.dxf", "For the machine", "the slab on its stacks, drawing"),
    (r"templates/.*\.dxf", "For the machine", "template, to be cut"),
    (r"plates/.*", "For the steel", "plate with its holes, to be cut"),
    (r"bed-layout\.svg", "To look at", "the slab on its stacks"),
    (r"top-.*\.svg", "To look at", "a face of the top with its measures"),
    (r"top-.*\.dxf", "For other programs", "a face of the top with its measures, drawing"),
    (r".*\.ics", "For other programs", "the days, for a calendar"),
    (r"plan\.json", "For other programs", "the plan, every figure"),
)
_KINDS = {
    "pdf": "to print",
    "svg": "drawing to look at",
    "dxf": "drawing",
    "json": "data",
    "ngc": "machine program",
    "csv": "table",
}
USES = ("At the bench", "For the machine", "For the steel", "For the client", "To look at", "For other programs")
"""Who takes the files, in the order in which the page has them."""


def words_of(name: str) -> tuple[str, str]:
    """Who takes a file, and what it is.

    Args:
        name: of the file, with its folder below the sheets
    """
    for pattern, use, words in _WORDS:
        if re.fullmatch(pattern, name):
            return use, words
    return "For other programs", _KINDS.get(name.rpartition(".")[2], "file")
