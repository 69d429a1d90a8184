"""Keys in words become links to the place where they are stated, called as the pages call them."""

from __future__ import annotations

import re

from markupsafe import Markup, escape

from slabwright.web.plain_words import label_of

_KEY = re.compile(r"\[{1,2}(?P<table>[a-z_]+(?:\.[a-z_]+)*)\]{1,2}|`?\b(?P<key>[a-z_]+(?:\[\d+\])?(?:\.[a-z_]+)+)\b`?")
_PLAINLY = (
    (
        re.compile(
            r"Paste the (\d+) \[\[top\.features\]\] of `slabwright why JOB\.toml base\.inserts_to_paste` into the job file"
        ),
        r"Put the \1 inserts of the base into the top",
    ),
    (re.compile(r"(?:once )?in shop\.toml"), "for the shop"),
    (re.compile(r"(?:to|in|into) (?:the job file|job\.toml)"), "for this job"),
)
"""What is said of the files, as it is done on the pages."""


def linked(words: str, job: int) -> Markup:
    """Words as HTML in which a key or a table's name, such as `[slab.moisture]` or `slab.lay.supports`, leads to its question.

    Args:
        words: as they are told on sheets and in the terminal
        job: whose page they stand on
    """
    for written, plain in _PLAINLY:
        words = written.sub(plain, words)
    parts = []
    at = 0
    for found in _KEY.finditer(words):
        key = found["table"] or found["key"]
        known = label_of(key)
        if known is None:
            continue
        file, label = known
        place = key if found["table"] else re.sub(r"(\[\d+\])?\.[a-z_]+$", "", key)
        address = f"/jobs/{job}/stated?file={file}#{place}"
        parts += [escape(words[at : found.start()]), Markup('<a href="{}">{}</a>').format(address, label)]
        at = found.end()
    return Markup("").join([*parts, escape(words[at:])])
